"""What the checks of sticks and triggers have in common: the signal, and the dead axis."""

from __future__ import annotations

from typing import Literal

import numpy as np

from station.checks.base import again, finding, spoken
from station.checks.types import Assessment, FindingKind, Outcome, Progress, Take
from station.measure import held
from station.measure.means import code_at
from station.sheets.model import Control
from station.sheets.signals import StickSignal, TriggerSignal
from station.words import checks as words

Axis = Literal["x", "y"]
AXES: tuple[Axis, Axis] = ("x", "y")
DIRECTIONS = ("up", "right", "down", "left")

DEAD_SPAN_PCT = 4.0
"""an axis that stays within this span …"""
ALIVE_SPAN_PCT = 100.0
"""… while the other one covers this much, is dead"""
DEAD_AXIS = FindingKind("dead_axis", words.DEAD_AXIS)
"""the finding that every check of a moved stick can make"""


def waiting() -> Progress:
    """Nothing has been reported yet."""
    return Progress(complete=False, missing=words.WAITING)


def stick_signal(take: Take) -> StickSignal | None:
    """The signal of the take's stick; None if it has never reported."""
    signal = take.signals.get(take.control.id) if take.control else None
    return signal if isinstance(signal, StickSignal) and len(signal.t_ns) else None


def trigger_signal(take: Take) -> TriggerSignal | None:
    """The signal of the take's trigger; None if it has never reported."""
    signal = take.signals.get(take.control.id) if take.control else None
    return signal if isinstance(signal, TriggerSignal) and len(signal.t_ns) else None


def dead_axis(signal: StickSignal) -> Axis | None:
    """The axis that stood still while the other one moved, if any."""
    span_x, span_y = float(np.ptp(signal.x_pct)), float(np.ptp(signal.y_pct))
    if span_x < max(DEAD_SPAN_PCT, 2.5 * signal.x_step_pct) and span_y >= ALIVE_SPAN_PCT:
        return "x"
    if span_y < max(DEAD_SPAN_PCT, 2.5 * signal.y_step_pct) and span_x >= ALIVE_SPAN_PCT:
        return "y"
    return None


def dead_axis_assessment(control: Control | None, axis: Axis) -> Assessment:
    """The verdict on a stick of which one axis is dead."""
    return Assessment(Outcome.FAIL, findings=(finding("dead_axis", control, axis=axis),))


def never_reported(control: Control | None) -> Assessment:
    """Nothing came from this control: unknown, not centred."""
    return again(words.NEVER_REPORTED.format(who=spoken(control)))


def axis_of(direction: str) -> Axis:
    """The axis on which a direction lies."""
    return "x" if direction in ("right", "left") else "y"


RANGE_ALIKE_PCT, RANGE_SHORT_PCT = 2.0, 99.0
"""where no end gets beyond the second and three of the four are alike within the first, it is the model's range: no
fault of a stick makes its ends alike, and a range beyond which nothing is ever reported cuts all of them off at one
place; the fourth may be the hand's, and is seen when the range is right"""
ENDS_SHARE = 0.005
"""share of the time for which a stick that is pushed, or rolled round its rim, is at each end at least"""


def range_short(signal: StickSignal, end_ns: int) -> tuple[float, str]:
    """The least of the four ends of the range that a stick used, in % of half travel, and what to say where they
    stop short by the same: the range that no unit of the model reaches is proposed for the sheet. "" if they do not."""
    hold = held.hold_s(signal.t_ns, int(signal.t_ns[0]), end_ns)
    ends = [held.quantile(sign * v, hold, 1.0 - ENDS_SHARE) for v in (signal.x_pct, signal.y_pct) for sign in (1, -1)]
    alike = max(RANGE_ALIKE_PCT, 2.0 * max(signal.x_step_pct, signal.y_step_pct))
    if max(ends) >= RANGE_SHORT_PCT or max(ends) - sorted(ends)[1] > alike:
        return min(ends), ""
    low, high = (round(code_at(signal.x_code, signal.x_pct, signal.x_step_pct, sign * max(ends))) for sign in (-1, 1))
    return min(ends), words.RANGE_SHORT.format(low=low, high=high)
