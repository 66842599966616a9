"""A stick: its two fields, which of them is across, and which way each runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from station.sheets.learn.axes import Axis, axes_of, best_of, groups
from station.sheets.learn.walked import Walked, on_grid
from station.sheets.model import Control
from station.sheets.signals import F64

GRID_NS = 4_000_000
OUT, BACK = 0.5, 0.3
"""share of the way to the rim from which on a stick is out, and below which it is back"""
SHORT = 12
"""grid points (48 ms) below which an excursion is a jerk"""
CLEARLY = 1.4
"""how much further a stick must go along one axis than along the other: 35° off are forgiven"""


@dataclass(frozen=True, slots=True)
class Stick:
    """What a stick's steps showed. `up`, `right`: +1 where the number grows that way, −1 where it falls.

    `spoken`: all fields that follow this stick, copies included. `doubt` as in `board.Pick`.
    """

    control: Control
    x: Axis | None = None
    y: Axis | None = None
    right: int = 1
    up: int = 1
    spoken: tuple[Axis, ...] = ()
    doubt: str = ""


def find_stick(walked: Walked, control: Control) -> Stick:
    """The stick's fields and directions, or why they are in doubt."""
    axes = axes_of(walked, control)
    if not axes:
        return Stick(control, doubt="nothing")
    steps = walked.steps_of(control.id)
    lots = sorted(groups(walked, axes, steps), key=lambda g: -max(a.score for a in g))
    if len(lots) < 2:
        return Stick(control, spoken=tuple(axes), doubt="one_axis")
    pair = (best_of(lots[0]), best_of(lots[1]))
    spoken = tuple(a for lot in lots[:2] for a in lot)
    if len(lots) > 2 and max(a.score for a in lots[2]) > max(a.score for a in lots[1]) - 1.5:
        return Stick(control, spoken=spoken, doubt="more_axes")
    return _directed(walked, control, pair, spoken)


def _directed(walked: Walked, control: Control, pair: tuple[Axis, Axis], spoken: tuple[Axis, ...]) -> Stick:
    votes = [v for i in walked.steps_of(control.id, "push") if (v := _vote(_pushes(walked, pair, i))) is not None]
    starts = [e[0] for i in walked.steps_of(control.id, "roll") if (e := _pushes(walked, pair, i, whole=False))]
    best = max(set(votes), key=votes.count) if votes else (0, -1, 1)
    vertical, up, right = best
    agree = sum(_starts_up(start, vertical, up) for start in starts)
    doubt = ""
    if not votes:
        doubt = "count"
    elif votes.count(best) * 2 <= len(votes) or agree * 2 <= len(starts):
        doubt = "order"
    elif min(a.score for a in pair) < len(walked.steps_of(control.id)):
        doubt = "weak"
    y, x = (pair[0], pair[1]) if vertical == 0 else (pair[1], pair[0])
    return Stick(control, x, y, right, up, spoken, doubt)


def alike(walked: Walked, sticks: Sequence[Stick]) -> list[Stick]:
    """Sticks of one device run the same ways (common practice): where two do not, both are asked for again, until each
    has said so twice."""
    sure = [s for s in sticks if not s.doubt]
    if len({(s.up, s.right) for s in sure}) < 2:
        return list(sticks)
    once = [s for s in sure if len(walked.steps_of(s.control.id, "push")) < 2]
    return [replace(s, doubt="order") if s in once else s for s in sticks]


def _starts_up(start: F64, vertical: int, up: int) -> bool:
    return bool(start[vertical] * up > 0 and abs(start[vertical]) > 0.7 * abs(start[1 - vertical]))


def _pushes(walked: Walked, pair: tuple[Axis, Axis], step: int, whole: bool = True) -> list[F64]:
    """Where each excursion went, as shares of half the range along both fields; `whole`: judged by all of its time,
    else by its beginning."""
    grid = np.arange(walked.steps[step].begin_ns, walked.steps[step].end_ns, GRID_NS)
    course = np.stack([_share(walked, axis, grid, step) for axis in pair])
    size = np.abs(course).max(axis=0)
    found, begin = [], -1
    for i, s in enumerate(size):
        if begin < 0 and s > OUT:
            begin = i
        elif begin >= 0 and (s < BACK or i == len(size) - 1):
            if i - begin >= SHORT:
                part = course[:, begin:i] if whole else course[:, begin : begin + SHORT]
                weight = size[begin:i] > 0.8 * size[begin:i].max() if whole else np.ones(part.shape[1], bool)
                found.append(part[:, weight].mean(axis=1))
            begin = -1
    return found


def _share(walked: Walked, axis: Axis, grid: np.ndarray[tuple[int], np.dtype[np.int64]], step: int) -> F64:
    """The field from its rest, as a share of half its range; before the step's first report it rests."""
    stream = walked.streams[axis.found.stream]
    rows = stream.runs(step)
    low, high = axis.found.full
    if rows.stop == rows.start:
        return np.zeros(len(grid))
    value: F64 = ((axis.found.value(stream, rows) - axis.rest) / ((high - low) / 2)).astype(np.float64)
    return np.where(grid < stream.t_ns[rows.start], 0.0, on_grid(stream.t_ns[rows], value, grid))


def _vote(went: Sequence[F64]) -> tuple[int, int, int] | None:
    """Which of the two fields is vertical, and how up and right read; None where up, right, down, left do not fit."""
    if len(went) != 4:
        return None
    up, right, down, left = went
    vertical = int(abs(up[1]) > abs(up[0]))
    across = 1 - vertical
    straight = all(abs(w[vertical]) > CLEARLY * abs(w[across]) for w in (up, down)) and all(
        abs(w[across]) > CLEARLY * abs(w[vertical]) for w in (right, left)
    )
    if not straight or up[vertical] * down[vertical] >= 0 or right[across] * left[across] >= 0:
        return None
    return vertical, 1 if up[vertical] > 0 else -1, 1 if right[across] > 0 else -1
