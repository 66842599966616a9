"""What a device says it has and a sheet does not name: controls that nobody would test.

Told of are what a sheet drawn up from the descriptor would have: buttons, axes, hats, a motion sensor, a touch pad.
Constants, vendor data, keys, sensors of other kinds and the cell are no controls. Many pads declare more than they have
(common practice, no source), or say one thing twice, as a trigger that is also a button: a sheet calls that `absent`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from station.hid.decode import find_field
from station.hid.types import Field, Layout
from station.sheets.drawup import draw_up
from station.sheets.model import Control, Place, Sheet
from station.sources.port import DeviceInfo

Sort = Literal["axis", "button", "hat", "motion", "touch"]
SORTS: tuple[Sort, ...] = ("axis", "hat", "button", "motion", "touch")
_ONE_EACH = ("motion", "touch")
_SIDES = 4
"""buttons that a direction pad may be instead of a hat"""
_NOBODY = DeviceInfo("", 0, 0, "", "", "usb", b"")


@dataclass(frozen=True, slots=True)
class Extra:
    """Something that the device declares. `usage`: page << 16 | id; `number`: which of those with the same usage."""

    sort: Sort
    usage: int
    number: int = 1


@dataclass(frozen=True, slots=True)
class Beyond:
    """What a device declares beyond the controls of its sheet: `unnamed`, and what the sheet calls `absent`."""

    unnamed: tuple[Extra, ...] = ()
    absent: tuple[Extra, ...] = ()


NOTHING_BEYOND = Beyond()


def beyond(sheet: Sheet, layouts: Iterable[Layout]) -> Beyond:
    """What these layouts of one device (one for each link, as a rule) declare beyond the sheet."""
    found = dict.fromkeys(extra for layout in layouts for extra in _beyond(sheet, layout))
    absent = set(sheet.absent)
    return Beyond(
        tuple(one for one in found if one.usage not in absent), tuple(one for one in found if one.usage in absent)
    )


def counts(extras: Sequence[Extra]) -> dict[Sort, int]:
    """How many there are of each sort, in the order of `SORTS`."""
    many = Counter(one.sort for one in extras)
    return {sort: many[sort] for sort in SORTS if many[sort]}


def _beyond(sheet: Sheet, layout: Layout) -> list[Extra]:
    declared = list(_places(draw_up(layout, _NOBODY), layout))
    read = list(_places(sheet, layout))
    reports = {field.report_id for _, field in declared}
    elsewhere = Counter(sort for sort, own in read if own.report_id not in reports)
    there = {control.kind for control in sheet.controls}
    left: list[Extra] = []
    numbers: Counter[int] = Counter()
    for sort, field in declared:
        numbers[field.usage] += 1
        if any(_same(field, own) for _, own in read) or _stands_in(sort, elsewhere):
            continue
        if sort in _ONE_EACH and (sort in there or any(one.sort == sort for one in left)):
            continue
        left.append(Extra(sort, field.usage, numbers[field.usage]))
    return left


def _places(sheet: Sheet, layout: Layout) -> Iterator[tuple[Sort, Field]]:
    """Every place that a sheet reads, as a field of the layout."""
    for control in sheet.controls:
        sort = _sort(control)
        for place in control.places:
            field = _field(place, layout)
            if sort is not None and field is not None:
                yield sort, field


def _sort(control: Control) -> Sort | None:
    match control.kind:
        case "stick" | "trigger":
            return "axis"
        case "button" | "hat" | "motion" | "touch":
            return control.kind
        case _:
            return None


def _field(place: Place, layout: Layout) -> Field | None:
    """The field that a place names, with the usage that it is named by or that the descriptor gives it."""
    if place.usage is not None:
        found = find_field(layout, place.usage)
        return None if found is None else replace(found, usage=place.usage)
    explicit = place.field
    if explicit is None:
        return None
    report = explicit.begins[0] if explicit.begins and layout.numbered else explicit.report
    made = Field("input", report, 0, explicit.bit, explicit.bits, explicit.signed, explicit.min, explicit.max)
    under = next((f for f in layout.input_fields() if _overlap(made, f)), None)
    return made if under is None else replace(made, usage=under.usage)


def _same(declared: Field, own: Field) -> bool:
    """Whether what a sheet reads is what is declared: the same choice of a list, or some of the same bits."""
    if declared.is_array and own.is_array:
        return declared.usage == own.usage
    return _overlap(declared, own)


def _overlap(one: Field, other: Field) -> bool:
    if one.report_id != other.report_id:
        return False
    return one.bit_offset < other.bit_offset + other.bit_width and other.bit_offset < one.bit_offset + one.bit_width


def _stands_in(sort: Sort, elsewhere: Counter[Sort]) -> bool:
    """Whether a control that the sheet reads in a report of which the descriptor declares no control may be this one:
    pads say the same in a report of their own, which only a sheet knows of."""
    if elsewhere[sort] > 0:
        elsewhere[sort] -= 1
        return True
    if sort == "hat" and elsewhere["button"] >= _SIDES:
        elsewhere["button"] -= _SIDES
        return True
    return False
