"""Triggers with a range: one field each, or both on one axis that they push apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from station.sheets.learn.axes import Axis, axes_of, best_of, groups, shared_axis
from station.sheets.learn.ranges import REACHED, Range
from station.sheets.learn.walked import Walked
from station.sheets.model import Control
from station.sheets.signals import I64
from station.words import teaching as words

_CLOSE = 1.5
"""difference of scores below which two controls contest a field"""


@dataclass(frozen=True, slots=True)
class Trigger:
    """What a trigger's steps showed. `half`: +1 or −1 where it is only the upper or lower half of a shared axis."""

    control: Control
    axis: Axis | None = None
    half: int = 0
    steps: tuple[int, ...] = ()
    spoken: tuple[Axis, ...] = ()
    doubt: str = ""

    def half_range(self, whole: Range, value: I64) -> tuple[Range, bool]:
        """The half of the range that is this trigger's, and whether it rests at its high end."""
        assert self.axis is not None
        low, high = self.axis.found.full
        middle = (low + high + 1) // 2
        seen_low, seen_high = (float(v) for v in np.percentile(value, (0.5, 99.5)))
        if self.half > 0:
            return Range(middle, high, seen_high - middle >= REACHED * (high - middle)), False
        return Range(low, middle, middle - seen_low >= REACHED * (middle - low)), True


def find_triggers(walked: Walked, controls: Sequence[Control]) -> list[Trigger]:
    """The triggers' fields. One without a field may be a switch only: see `buttons`."""
    own = [_find(walked, c) for c in controls]
    if len(own) == 2 and _one_field(*own) and (shared := shared_axis(walked, *controls)) is not None:
        axis, first_raises = shared
        first, second = (c.name for c in controls)
        walked.notes.append(words.ONE_AXIS_FOR_TWO.format(first=first, second=second))
        return [
            Trigger(c, axis, 1 if (number == 0) == first_raises else -1, tuple(walked.steps_of(c.id)), (axis,))
            for number, c in enumerate(controls)
        ]
    return _contested(own)


def _one_field(one: Trigger, other: Trigger) -> bool:
    """Whether both may be on one axis: one of them has no field of its own, or they have bits in common (half of an
    axis that rests in its middle looks like a whole one)."""
    if one.axis is None or other.axis is None:
        return True
    a, b = one.axis.found, other.axis.found
    return a.stream == b.stream and bool(set(a.bits) & set(b.bits))


def _find(walked: Walked, control: Control) -> Trigger:
    axes = axes_of(walked, control)
    steps = tuple(walked.steps_of(control.id))
    if not axes:
        return Trigger(control, steps=steps)
    lots = groups(walked, axes, steps)
    best = best_of(lots[0])
    rivals = [lot for lot in lots[1:] if max(a.score for a in lot) > best.score - _CLOSE]
    doubt = "two" if rivals else "weak" if best.score < len(steps) else ""
    return Trigger(control, best, 0, steps, tuple(a for lot in lots for a in lot), doubt)


def _contested(triggers: list[Trigger]) -> list[Trigger]:
    """One field cannot be two triggers': the one with the clearly better claim keeps it, else both are in doubt."""
    made = []
    for t in triggers:
        same = [
            o for o in triggers
            if o is not t and o.axis and t.axis and o.axis.found.top == t.axis.found.top
        ]  # fmt: skip
        best_other = max((o.axis.score for o in same if o.axis), default=-np.inf)
        if t.axis is None or t.axis.score > best_other + _CLOSE:
            made.append(t)
        else:
            made.append(Trigger(t.control, None, 0, t.steps, t.spoken, "contested"))
    return made
