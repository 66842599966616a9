"""What the checks of sticks and triggers have in common: the signal, the words, the dead axis."""

from __future__ import annotations

from typing import Literal

import numpy as np

from station.checks.types import Assessment, Finding, Outcome, Progress, Reading, Take
from station.measure.arrays import F64
from station.sheets.model import Control
from station.sheets.signals import StickSignal, TriggerSignal

Axis = Literal["x", "y"]
AXES: tuple[Axis, Axis] = ("x", "y")
DIRECTIONS = ("up", "right", "down", "left")
EIGHT = ("up", "up and right", "right", "down and right", "down", "down and left", "left", "up and left")
_AXIS_WORD = {"x": "horizontal", "y": "vertical"}
_NUMBER = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")

DEAD_SPAN_PCT = 4.0
"""an axis that stays within this span …"""
ALIVE_SPAN_PCT = 100.0
"""… while the other one covers this much, is dead"""

WAITING = Progress(complete=False, missing="waiting for the first report")


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
    text = f"{place(control, axis)}: no signal while the other axis moves"
    return Assessment(Outcome.FAIL, findings=(Finding("dead_axis", text, axis=axis),))


def again(text: str, readings: tuple[Reading, ...] = ()) -> Assessment:
    """Not a verdict: the movement was incomplete or sloppy."""
    return Assessment(Outcome.NOT_DONE, readings, again=f"again, please: {text}")


def never_reported(control: Control | None) -> Assessment:
    """Nothing came from this control: unknown, not centred."""
    return again(f"nothing has come from the {control_name(control)} yet, move it once")


def control_name(control: Control | None) -> str:
    """The sheet's name inside a sentence: "left stick"; names such as "L2" stay as they are."""
    name = control.name if control else "unit"
    return name[:1].lower() + name[1:] if name[1:2].islower() or len(name) == 1 else name


def place(control: Control | None, axis: Axis | None = None, direction: str | float | None = None) -> str:
    """Where a finding sits, in words: "left stick, horizontal", "left stick, right", "left stick at 95°"."""
    text = control_name(control)
    if axis is not None:
        text += f", {_AXIS_WORD[axis]}"
    if isinstance(direction, str):
        text += f", {direction}"
    elif direction is not None:
        text += f" at {direction:.0f}°"
    return text


def axis_of(direction: str) -> Axis:
    """The axis on which a direction lies."""
    return "x" if direction in ("right", "left") else "y"


def counted(count: int, one: str, many: str) -> str:
    """A number and its noun: "one direction", "two directions", "14 sectors"."""
    number = _NUMBER[count] if count < len(_NUMBER) else str(count)
    return f"{number} {one if count == 1 else many}"


def nearest_eighth(bearing: float) -> str:
    """A bearing (0 = up, clockwise) as one of eight words."""
    return EIGHT[round(bearing / 45.0) % 8]


def span(values: F64) -> float:
    """Greatest minus least; 0 for none."""
    return float(np.ptp(values)) if len(values) else 0.0
