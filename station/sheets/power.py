"""What a unit says of its cell: in its input reports, in feature reports, or through the system.

Usages (HID Usage Tables 1.5): Battery Strength (06/20), Relative and Absolute State Of Charge (85/64, 85/65) are
levels; Charging (85/44), Fully Charged (85/46) and AC Present (85/D0) are flags. A place without a usage is a level
when it has more than one bit. A level is the share of the field's logical range: 0…100 is the percentage itself.
The system's words are those of the Linux kernel (Documentation/ABI/testing/sysfs-class-power).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from station.hid.decode import value_in
from station.hid.types import Field, Layout
from station.sheets.model import Control, Sheet
from station.sheets.signals import Signal, TriggerSignal
from station.words import sheets as words

CHARGING, FULL, POWERED = 0x85_0044, 0x85_0046, 0x85_00D0
LEVELS = (0x6_0020, 0x85_0065, 0x85_0064)
_USAGES = frozenset((CHARGING, FULL, POWERED, *LEVELS))
_SYSTEM_STEP_PCT = 1.0
_CHARGING = {"charging": True, "discharging": False, "not_charging": False, "full": False}
"""the kernel's words for the state, spaces as underscores"""


@dataclass(frozen=True, slots=True)
class Power:
    """None: not said. `step_pct` is the resolution of the level; `reason` says why there is no level, if known."""

    level_pct: float | None = None
    step_pct: float = 0.0
    charging: bool | None = None
    full: bool | None = None
    powered: bool | None = None
    reason: str = ""

    def completed(self, other: Power) -> Power:
        """This one, with what it does not say taken from `other`."""
        mine = self.level_pct is not None
        return Power(
            self.level_pct if mine else other.level_pct,
            self.step_pct if mine else other.step_pct,
            other.charging if self.charging is None else self.charging,
            other.full if self.full is None else self.full,
            other.powered if self.powered is None else self.powered,
            self.reason or other.reason,
        )


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


def cell_reports(layout: Layout) -> tuple[int, ...]:
    """Ids of the feature reports that carry a usage of a cell."""
    return tuple(sorted({f.report_id for f in _told_when_asked(layout)}))


def power_in(layout: Layout, reports: Mapping[int, bytes]) -> Power:
    """What feature reports say, by id, each as its layout counts it; what a short one does not hold is not said.

    Of several levels the one that is a share of the whole by its name (Battery Strength, then absolute) counts first.
    """
    said: dict[int, tuple[Field, int]] = {}
    for field in _told_when_asked(layout):
        value = value_in(field, reports.get(field.report_id, b""))
        if value is not None and field.logical_min <= value <= field.logical_max:
            said.setdefault(field.usage, (field, value))
    flags = (_yes(said, CHARGING), _yes(said, FULL), _yes(said, POWERED))
    level = next((usage for usage in LEVELS if usage in said), None)
    if level is None:
        return Power(None, 0.0, *flags)
    field, value = said[level]
    step = 100.0 / (field.logical_max - field.logical_min)
    return Power((value - field.logical_min) * step, step, *flags)


def system_power(said: Mapping[str, str]) -> Power:
    """What the system says: `capacity` in percent, else the word `capacity_level`; `status` tells of charging.

    The kernel gives whole percents, whatever the steps of the device are.
    """
    status, level = (said.get(key, "").lower().replace(" ", "_") for key in ("status", "capacity_level"))
    charging, full = _CHARGING.get(status), True if status == "full" else None
    capacity = said.get("capacity", "")
    if capacity.isascii() and capacity.isdecimal() and int(capacity) <= 100:
        return Power(float(capacity), _SYSTEM_STEP_PCT, charging, full)
    shown = words.SYSTEM_LEVELS.get(level)
    return Power(None, 0.0, charging, full, None, words.SYSTEM_SAYS_ONLY.format(level=shown) if shown else "")


def _told_when_asked(layout: Layout) -> Iterable[Field]:
    """Feature fields of a cell with a range."""
    features = (f for r in layout.reports if r.kind == "feature" for f in r.fields)
    return (f for f in features if f.usage in _USAGES and not f.is_constant and f.logical_max > f.logical_min)


def _yes(said: Mapping[int, tuple[Field, int]], usage: int) -> bool | None:
    return said[usage][1] > said[usage][0].logical_min if usage in said else None
