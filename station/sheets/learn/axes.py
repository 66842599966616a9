"""Numbers that follow a stick or a trigger: which control moves which field."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from station.sheets.learn.fields import CORE_BITS, Found, Top, core_roughness, find_tops, grow
from station.sheets.learn.types import Action
from station.sheets.learn.walked import Walked, on_grid
from station.sheets.model import Control

STICK_MOVES = 0.3
"""share of the codes that an axis of a stick goes from rest in each of its own steps"""
TRIGGER_MOVES = 0.5
SHARED_MOVES = 0.3
QUIET = 0.12
"""share of the codes within which a field stays while its control is left alone"""
SAME = 0.98
"""correlation from which on two fields say the same"""
GRID_NS = 10_000_000
_SLOW: dict[str, Action] = {"stick": "roll", "trigger": "pull"}


@dataclass(frozen=True, slots=True)
class Axis:
    """A field that answers to a control. `score`: steps that speak for it minus steps that speak against it."""

    found: Found
    rest: float
    score: float
    foreign: tuple[int, ...]


def axes_of(walked: Walked, control: Control) -> list[Axis]:
    """Fields that move with the control and with nothing else, best first."""
    tops: dict[Top, int] = {}
    for step in walked.steps_of(control.id, _SLOW[control.kind]):
        for index, stream in enumerate(walked.streams):
            rows = stream.runs(step)
            if rows.stop - rows.start >= 30:
                for top in find_tops(stream, index, rows, walked.taken[index], int(control.kind == "stick")):
                    tops.setdefault(top, step)
    axes = [axis for top, step in tops.items() if (axis := _axis(walked, control, top, step)) is not None]
    smoothest = [a for a in axes if not any(beaten(walked, a.found, b.found, tops[a.found.top]) for b in axes)]
    return sorted(smoothest, key=lambda a: -a.score)


def beaten(walked: Walked, one: Found, other: Found, step: int) -> bool:
    """Whether two fields are the same but for their highest bits, and the other one runs smoother."""
    cores = [set(found.bits[:CORE_BITS]) for found in (one, other)]
    if one.stream != other.stream or one.top == other.top or not cores[0] & cores[1]:
        return False  # where only lower bits are shared, one runs on into its neighbour
    stream = walked.streams[one.stream]
    rows = stream.runs(step)
    return core_roughness(stream, other, rows) < core_roughness(stream, one, rows)


def _axis(walked: Walked, control: Control, top: Top, step: int) -> Axis | None:
    stream = walked.streams[top.stream]
    found = grow(stream, top, stream.runs(step), walked.taken[top.stream])
    if len(found.bits) < 3:
        return None
    own, pressed = walked.steps_of(control.id), _pressed(walked, control)
    rest = rest_of(walked, control, found)
    reach = walked.reach(found, rest)
    moves = TRIGGER_MOVES if control.kind == "trigger" else STICK_MOVES
    answers = [i for i in own if reach[i] >= moves]
    foreign = [i for i in range(len(walked.steps)) if i not in own and i not in pressed and reach[i] > QUIET]
    alone = [i for i in foreign if walked.steps[i].step.control is None]
    score = 2.0 * len(answers) - (len(own) - len(answers)) - len(foreign) - 2.0 * len(alone)
    return Axis(found, rest, score, tuple(foreign)) if answers and score > 0 else None


def rest_of(walked: Walked, control: Control, found: Found) -> float:
    """What a field says while its control is left alone."""
    return walked.rest_of(found, [*walked.steps_of(control.id), *_pressed(walked, control)])


def _pressed(walked: Walked, control: Control) -> list[int]:
    """The steps in which a stick is pressed down, which moves it."""
    return walked.steps_of(f"{control.id}_press")


def groups(walked: Walked, axes: Sequence[Axis], steps: Sequence[int]) -> list[list[Axis]]:
    """Axes that say the same over the steps, together; in the order of their best."""
    begin = min(walked.steps[i].begin_ns for i in steps)
    end = max(walked.steps[i].end_ns for i in steps)
    grid = np.arange(begin, end, GRID_NS)
    inside = np.zeros(len(grid), bool)
    for i in steps:
        inside |= (grid >= walked.steps[i].begin_ns) & (grid < walked.steps[i].end_ns)
    courses = []
    for axis in axes:
        stream = walked.streams[axis.found.stream]
        courses.append(on_grid(stream.t_ns, walked.value(axis.found).astype(np.float64), grid[inside]))
    made: list[tuple[int, list[Axis]]] = []
    for number, axis in enumerate(axes):
        for first, group in made:
            if abs(float(np.corrcoef(courses[first], courses[number])[0, 1])) > SAME:
                group.append(axis)
                break
        else:
            made.append((number, [axis]))
    return [group for _, group in made]


def best_of(group: Sequence[Axis]) -> Axis:
    """Of fields that say the same, the one with the finest steps; then the first in the report."""
    return min(group, key=lambda a: (-a.score, -len(a.found.bits), a.found.stream, a.found.bits[-1]))


def shared_axis(walked: Walked, one: Control, other: Control) -> tuple[Axis, bool] | None:
    """A field that rests in the middle and that two triggers push apart; True where `one` raises it."""
    step = {c.id: walked.steps_of(c.id, "pull") for c in (one, other)}
    if not step[one.id] or not step[other.id]:
        return None
    both = [*step[one.id], *step[other.id]]
    for index, stream in enumerate(walked.streams):
        first = min(stream.runs(i).start for i in both)
        last = max(stream.runs(i).stop for i in both)
        if last - first < 60:
            continue
        for top in find_tops(stream, index, slice(first, last), walked.taken[index], 0):
            found = grow(stream, top, slice(first, last), walked.taken[index])
            rest = walked.rest_of(found, both)
            way = [_way(walked, found, rest, step[c.id]) for c in (one, other)]
            low, high = found.full
            middle = abs(rest - (low + high) / 2) < 0.1 * (high - low)
            reach = walked.reach(found, rest)
            foreign = [i for i in range(len(walked.steps)) if i not in both and reach[i] > QUIET]
            if middle and way[0] * way[1] < 0 and len(foreign) <= 1:
                return Axis(found, rest, 4.0 - len(foreign), tuple(foreign)), way[0] > 0
    return None


def _way(walked: Walked, found: Found, rest: float, steps: Sequence[int]) -> int:
    """+1 or −1: the side to which the field goes in most of the steps, and to no other; 0 if to none or both."""
    ways = [_way_in(walked, found, rest, i) for i in steps]
    return next((way for way in (1, -1) if 2 * ways.count(way) > len(ways)), 0)


def _way_in(walked: Walked, found: Found, rest: float, step: int) -> int:
    stream = walked.streams[found.stream]
    size = found.full[1] - found.full[0]
    rows = stream.runs(step)
    if rows.stop == rows.start:
        return 0
    low, high = np.percentile(found.value(stream, rows) - rest, (2, 98)) / size
    return 1 if high > SHARED_MOVES and low > -QUIET else -1 if low < -SHARED_MOVES and high < QUIET else 0
