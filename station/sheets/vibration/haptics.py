"""Vibration by the haptics page (HID Usage Tables 1.5, page 0x0E).

A Simple Haptic Controller lists its wave forms in a feature report: under Waveform List, the ordinal n (page 0x0A)
holds the usage of wave form n; 1 is always "none" and 2 "stop", listed or not. An output report plays one: Manual
Trigger takes its ordinal, beside Intensity, Repeat Count, Retrigger Period and Waveform Cutoff Time where there are
such. Meaning of the ordinals: Linux hid-haptic.c and .h, which play them so (read).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from station.errors import DeviceError
from station.hid.decode import value_in
from station.hid.types import Field, Layout, ReportLayout
from station.sheets.vibration.scale import LASTS_S, STRENGTH, of_seconds, sending, share
from station.sheets.vibration.types import Ask, Ready, Send, Talk, Turn, Vibration
from station.words import vibration as words

LIST, TRIGGER, INTENSITY = 0xE_0010, 0xE_0021, 0xE_0023
REPEATS, PERIOD, CUTOFF = 0xE_0024, 0xE_0025, 0xE_0028
RUMBLE, BUZZ, CLICK = 0x1005, 0x1004, 0x1003
STOP = 2
"""ordinal of the wave form that stops"""
CLICKS, CLICK_S = 8, 0.1
"""a motor that only clicks is felt by a row of clicks as long as a turn"""
_ORDINALS = 0x0A
_LASTING = (RUMBLE, BUZZ, CLICK)
MOTORS = 2


@dataclass(frozen=True, slots=True)
class _Motor:
    """One controller: the `place`-th trigger of its output report, and the wave form it plays."""

    report: ReportLayout
    place: int
    ordinal: int
    clicks: bool


def by_haptics(layout: Layout) -> Vibration | None:
    """The way to vibrate, where the layout has both a Manual Trigger and a Waveform List."""
    triggers = [
        (report, place)
        for report in layout.reports
        if report.kind == "output"
        for place in range(len(_all(report, TRIGGER)))
    ]
    lists = _lists(layout)
    if not triggers or not lists:
        return None
    return Vibration("haptics", lambda: _talk(layout, triggers[:MOTORS], lists))


def _talk(layout: Layout, triggers: Sequence[tuple[ReportLayout, int]], lists: Sequence[Sequence[Field]]) -> Talk:
    motors = []
    for number, (report, place) in enumerate(triggers):
        ordinals = lists[min(number, len(lists) - 1)]
        answer = yield Ask(ordinals[0].report_id)
        if (found := _wave(ordinals, answer)) is not None:
            motors.append(_Motor(report, place, *found))
    if not motors:
        raise DeviceError(words.NO_WAVE_FORM)
    playing = [(words.ONLY, motors)]
    if len(motors) > 1:
        playing = [(words.FIRST, motors[:1]), (words.SECOND, motors[1:]), (words.BOTH, motors)]
    turns = tuple(Turn(name, _reports(layout, motors, running)) for name, running in playing)
    return Ready(turns, _reports(layout, motors, ()))


def _lists(layout: Layout) -> list[list[Field]]:
    """The fields of each Waveform List, in order: one begins with a new report, or when the ordinals begin anew."""
    lists: list[list[Field]] = []
    for report in layout.reports:
        last: Field | None = None
        for field in report.fields:
            named = field.usage >> 16 == _ORDINALS and any(c.usage == LIST for c in field.collections)
            if report.kind != "feature" or not named:
                continue
            if last is None or field.usage <= last.usage:
                lists.append([])
            lists[-1].append(field)
            last = field
    return lists


def _wave(ordinals: Sequence[Field], answer: bytes) -> tuple[int, bool] | None:
    """The ordinal of the wave form that is felt best, and whether it is a click; None where none is listed."""
    listed = {value_in(field, answer): field.usage & 0xFFFF for field in reversed(ordinals)}
    best = next((wave for wave in _LASTING if wave in listed), None)
    return None if best is None else (listed[best], best == CLICK)


def _reports(layout: Layout, motors: Sequence[_Motor], running: Sequence[_Motor]) -> tuple[Send, ...]:
    """One report for each that has a trigger: those in `running` play, the others stop."""
    numbers: dict[int, dict[Field, int]] = {}
    reports: dict[int, ReportLayout] = {}
    for motor in motors:
        reports[motor.report.report_id] = motor.report
        fields = numbers.setdefault(motor.report.report_id, {})
        fields.update(_playing(motor) if motor in running else {_at(motor, TRIGGER): STOP})
    return tuple(sending(layout, reports[key], fields) for key, fields in numbers.items())


def _playing(motor: _Motor) -> Mapping[Field, int]:
    numbers = {_at(motor, TRIGGER): motor.ordinal}
    for usage in (INTENSITY, REPEATS, PERIOD, CUTOFF):
        if not _all(motor.report, usage):
            continue
        field = _at(motor, usage)
        if usage == INTENSITY:
            numbers[field] = share(field, STRENGTH)
        elif usage == REPEATS:
            numbers[field] = min(CLICKS - 1, field.logical_max) if motor.clicks else max(0, field.logical_min)
        else:
            numbers[field] = of_seconds(field, CLICK_S if usage == PERIOD else LASTS_S)
    return numbers


def _all(report: ReportLayout, usage: int) -> list[Field]:
    return [field for field in report.fields if field.usage == usage]


def _at(motor: _Motor, usage: int) -> Field:
    """The field of this motor: where there are fewer than motors, they share the last."""
    fields = _all(motor.report, usage)
    return fields[min(motor.place, len(fields) - 1)]
