"""What the checks of sticks and triggers have in common: the signal, and the dead axis."""

from __future__ import annotations

from typing import Literal

import numpy as np

from station.checks.base import again, finding, spoken
from station.checks.types import Assessment, FindingKind, Outcome, Progress, Take
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
