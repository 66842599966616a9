"""What a unit says of its cell: the last word of the sheet's battery controls.

Usages (HID Usage Tables 1.5): Battery Strength (06/20), Relative and Absolute State Of Charge (85/64, 85/65) are
levels; Charging (85/44), Fully Charged (85/46) and AC Present (85/D0) are flags. A place without a usage is a level
when it has more than one bit. A level is the share of the field's logical range: 0…100 is the percentage itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from station.sheets.model import Control, Sheet
from station.sheets.signals import Signal, TriggerSignal

CHARGING, FULL, POWERED = 0x85_0044, 0x85_0046, 0x85_00D0


@dataclass(frozen=True, slots=True)
class Power:
    """None: the unit has not said it. `step_pct` is the resolution of the level."""

    level_pct: float | None = None
    step_pct: float = 0.0
    charging: bool | None = None
    full: bool | None = None
    powered: bool | None = None


def power_of(sheet: Sheet, signals: Mapping[str, Signal]) -> Power:
    """The newest values of the sheet's battery controls; of several levels the first of the sheet counts."""
    level: TriggerSignal | None = None
    flags: dict[int, bool] = {}
    for control in sheet.controls:
        signal = signals.get(control.id)
        if control.kind != "battery" or not isinstance(signal, TriggerSignal) or not len(signal.t_ns):
            continue
        flag = _flag(control)
        if flag:
            flags[flag] = bool(signal.pct[-1] > 50.0)
        elif level is None:
            level = signal
    said = (flags.get(CHARGING), flags.get(FULL), flags.get(POWERED))
    if level is None:
        return Power(None, 0.0, *said)
    return Power(float(level.pct[-1]), level.step_pct, *said)


def _flag(control: Control) -> int:
    """The usage of a yes-or-no, 0 for a level."""
    usage = control.at.usage if control.at is not None else None
    if usage in (CHARGING, FULL, POWERED):
        return usage or 0
    field = control.at.field if control.at is not None else None
    return CHARGING if field is not None and field.bits == 1 else 0
