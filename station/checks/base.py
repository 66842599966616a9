"""What all checks share: the control inside a sentence, readings that count, how findings show their parameters, and
the signal of the control."""

from __future__ import annotations

from typing import Literal

from station.checks.types import UNCERTAINTY_OF, Assessment, Finding, Given, Outcome, ParamValue, Reading, Show, Take
from station.sheets.model import Control
from station.sheets.signals import ButtonSignal, HatSignal, Signal
from station.words import checks as words
from station.words.figures import Style, number
from station.words.grammar import listed, some, spoken_name, times


def spoken(control: Control | None) -> str:
    """The control's name inside a sentence: "Left stick" → "left stick", while "A" and "L3" stay as they are."""
    return words.UNIT if control is None else spoken_name(control.name)


def finding(
    code: str,
    control: Control | str | None,
    params: Given | None = None,
    *,
    axis: Literal["x", "y"] | None = None,
    direction: str | float | None = None,
) -> Finding:
    """A finding at a control (or its name inside a sentence, None for the whole unit); numbers are made plain.

    A parameter that is a reading is its value, with its uncertainty beside it.
    """
    who = "" if control is None else control if isinstance(control, str) else spoken_name(control.name)
    plain: dict[str, ParamValue] = {"who": who}
    for name, value in (params or {}).items():
        if isinstance(value, Reading):
            plain[name] = float(value.value or 0.0)
            if value.uncertainty > 0:
                plain[UNCERTAINTY_OF.format(name=name)] = float(value.uncertainty)
        else:
            plain[name] = float(value) if isinstance(value, float) else value
    return Finding(code, "", axis, direction, plain)


def again(what: str, readings: tuple[Reading, ...] = ()) -> Assessment:
    """The try does not count: incomplete or sloppy, never a fail. `what` says what to do, without a full stop."""
    return Assessment(Outcome.NOT_DONE, readings, (), words.AGAIN.format(what=what))


def count(name: str, value: int, n: int = 0, reason: str = "") -> Reading:
    """A reading that was counted: no unit, no uncertainty."""
    return Reading(name, float(value), "", n=n, reason=reason)


# --- how a finding shows its parameters -----------------------------------------------------------------


def decimals(places: int) -> Show:
    """As a number with so many decimals."""
    return lambda value, style: number(_number(value), places, style)


def counted(noun: tuple[str, str]) -> Show:
    """As a number of things: (one, many)."""
    return lambda value, style: some(round(_number(value)), noun, style)


def how_often(value: ParamValue, style: Style | None = None) -> str:
    """ "once", "twice", "three times"."""
    return times(round(_number(value)), style)


def eighth(bearing: ParamValue, style: Style | None = None) -> str:
    """A bearing (degrees, 0 = up, clockwise) as the nearest of eight words."""
    return words.EIGHTHS[round(_number(bearing) / 45.0) % 8]


def lies_towards(bearing: ParamValue, style: Style | None = None) -> str:
    """A bearing as to where something lies: "up and to the right". The reading beside it has the degrees."""
    return words.TOWARDS[round(_number(bearing) / 45.0) % 8]


def in_a_row(names: ParamValue, style: Style | None = None) -> str:
    """Names one after the other."""
    return listed(names if isinstance(names, tuple) else (str(names),))


def _number(value: ParamValue) -> float:
    return float(value) if isinstance(value, int | float) else float("nan")


# --- signals --------------------------------------------------------------------------------------------


def signal_of(take: Take, control_id: str | None = None) -> Signal | None:
    """What the take's control (or another one) did; for one that only repeats another, what that one did."""
    if control_id is None:
        if take.control is None:
            return None
        control_id = take.control.id
    found = take.signals.get(control_id)
    if found is None:
        repeats = {c.id: c.seen_as for c in take.sheet.controls}.get(control_id)
        found = take.signals.get(repeats) if repeats else None
    return found


def button_of(take: Take, control_id: str | None = None) -> ButtonSignal | None:
    """The signal if it is a button's and has reported, else None."""
    found = signal_of(take, control_id)
    return found if isinstance(found, ButtonSignal) and len(found.t_ns) else None


def hat_of(take: Take) -> HatSignal | None:
    """The signal if it is a hat's and has reported, else None."""
    found = signal_of(take)
    return found if isinstance(found, HatSignal) and len(found.t_ns) else None
