"""How fast does a cell fall? From the levels that a unit tells of it, in steps that may be coarse."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from station.measure.uncertainty import difference_resolution, expanded

USUAL_STEPS_PCT = (25.0, 20.0, 10.0, 5.0)
"""steps in which units tell their level, whatever the field could hold (common practice, no source)"""
_S_AN_HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class Level:
    """What was told at a moment: % of a full cell. `drains`: the unit lived on its cell then."""

    t_s: float
    pct: float
    drains: bool


@dataclass(frozen=True, slots=True)
class Change:
    """Over all stretches of one kind: by how much it changed (%), and in what time (s); U is expanded, k = 2."""

    pct: float
    uncertainty_pct: float
    seconds: float

    def an_hour(self) -> tuple[float, float]:
        """(value, U) in % an hour."""
        factor = _S_AN_HOUR / self.seconds
        return self.pct * factor, self.uncertainty_pct * factor


def step_of(levels: Sequence[float], told_pct: float) -> float:
    """The step in which the unit really tells its level, %: the coarsest of the usual ones on which all levels seen
    lie, at its multiples or midway between them; no finer than `told_pct`, the step of the field."""
    for step in USUAL_STEPS_PCT:
        off = [math.remainder(level, step / 2.0) for level in levels]
        places = {round(2.0 * level / step) % 2 for level in levels}
        if step >= told_pct and levels and all(abs(o) < 0.01 for o in off) and len(places) == 1:
            return step
    return told_pct


def change(levels: Sequence[Level], step_pct: float, *, draining: bool) -> Change | None:
    """Fall while it lives on its cell, or rise while it does not: from the first to the last level of each such
    stretch. None where there is no such time.

    Both levels of a stretch are rounded to the step, so its u is step/√6 (difference of two readings of that
    resolution: JCGM 100:2008, F.2.2.1); stretches add up independently (5.1.2).
    """
    total = seconds = 0.0
    stretches = 0
    begin: Level | None = None
    last: Level | None = None
    for level in (*levels, None):
        if level is not None and level.drains is draining:
            begin, last = begin or level, level
            continue
        if begin is not None and last is not None and last.t_s > begin.t_s:
            total += begin.pct - last.pct if draining else last.pct - begin.pct
            seconds += last.t_s - begin.t_s
            stretches += 1
        begin = last = None
    if not stretches:
        return None
    return Change(total, expanded(difference_resolution(step_pct)) * math.sqrt(stretches), seconds)
