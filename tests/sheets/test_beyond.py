"""What a device declares and its sheet does not name."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.errors import SheetError
from station.hid.types import Collection, Field, Layout, ReportLayout
from station.sheets.beyond import Beyond, Extra, beyond, counts
from station.sheets.drawup import draw_up
from station.sheets.load import parse_sheet, sheet_text
from station.sheets.model import Control, ExplicitField, Place, Sheet
from tests.sheets.test_sheet_drawup import HAT, INFO, RX, RY, RZ, SLIDER, Z, fields, layout_of
from tests.sheets.test_sheet_drawup import X as X_AXIS
from tests.sheets.test_sheet_drawup import Y as Y_AXIS

BUTTONS = tuple(0x90000 + number for number in range(1, 14))
LAYOUT = layout_of(*fields(X_AXIS, Y_AXIS, Z, RZ, RX, HAT, *BUTTONS))
WHOLE = replace(draw_up(LAYOUT, INFO), drawn_up=False)


def without(*ids: str) -> Sheet:
    return replace(WHOLE, controls=tuple(c for c in WHOLE.controls if c.id not in ids))


def button(name: str, at: Place) -> Control:
    return Control(name, "button", name, at=at)


def bits(report: int, bit: int, width: int = 1) -> Place:
    return Place(field=ExplicitField(report, bit, width, max=(1 << width) - 1))


@pytest.mark.parametrize(
    ("sheet", "expected"),
    [
        (WHOLE, {}),
        (without("button_12", "button_13"), {"button": 2}),
        (without("x_y"), {"axis": 2}),
        (without("rx", "hat_switch", "button_1"), {"axis": 1, "hat": 1, "button": 1}),
        (Sheet("nothing named"), {"axis": 5, "hat": 1, "button": 13}),
        (replace(without("button_13"), controls=(*without("button_13").controls, button("b", bits(0, 16 * 18)))), {}),
    ],
    ids=["all", "two buttons", "a stick", "one of each", "none", "named by its bits"],
)
def test_what_a_sheet_leaves_out_is_counted_by_sort(sheet: Sheet, expected: dict[str, int]) -> None:
    assert counts(beyond(sheet, [LAYOUT]).unnamed) == expected


def test_what_the_model_lacks_is_said_once_in_its_sheet() -> None:
    sheet = replace(without("button_12", "button_13"), absent=(BUTTONS[12],))
    assert beyond(sheet, [LAYOUT]) == Beyond((Extra("button", BUTTONS[11]),), (Extra("button", BUTTONS[12]),))
    again = parse_sheet(sheet_text(sheet), "sheet.toml")
    assert again == sheet
    assert "absent = [[0x09, 0x0d]]" in sheet_text(sheet)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("absent = [[9, 1]]", "is where button_1 is; take it out of absent"),
        ("absent = [9, 1]", "is not a pair"),
        ("absent = 5", "is not a list"),
        ("absent = [[9, 99999]]", "is out of range"),
    ],
)
def test_an_absent_that_cannot_be_is_one_sentence(line: str, said: str) -> None:
    text = sheet_text(WHOLE).replace("[model]\n", f"[model]\n{line}\n")
    with pytest.raises(SheetError, match="absent") as caught:
        parse_sheet(text, "sheet.toml")
    assert said in str(caught.value)


@pytest.mark.parametrize(
    "more",
    [
        fields(0xFF00_0001, 0xFF00_0002),
        fields(0x90020, is_constant=True),
        fields(0x7_0004, collections=(Collection(1, 0x1_0006),)),
        fields(0x6_0020, 0x85_0065),
        fields(0xC_00E9, 0x1_0038, is_relative=True),
        fields(0x20_0500),
    ],
    ids=["vendor data", "constant", "keyboard beside it", "the cell", "relative, media keys", "another sensor"],
)
def test_what_is_no_control_of_a_pad_is_not_asked_for(more: list[Field]) -> None:
    placed = [replace(f, bit_offset=512 + 16 * i) for i, f in enumerate(more)]
    layout = Layout((ReportLayout("input", 0, 128, (*LAYOUT.reports[0].fields, *placed)),), (0x10005,), False)
    assert beyond(WHOLE, [layout]) == Beyond()


def test_both_links_of_a_unit_are_looked_at_and_each_control_counts_once() -> None:
    radio = layout_of(*fields(X_AXIS, Y_AXIS, Z, RZ, RX, HAT, SLIDER, *BUTTONS))
    sheet = without("button_13")
    assert counts(beyond(sheet, [LAYOUT, radio]).unnamed) == {"axis": 1, "button": 1}


def test_a_sheet_that_reads_a_report_of_its_own_names_the_same_controls_there() -> None:
    """A pad with a simple report in its descriptor and a full one that only a sheet knows of."""
    sheet = Sheet(
        "full",
        controls=(
            Control("s", "stick", "Stick", x=bits(49, 8, 8), y=bits(49, 16, 8)),
            *(button(f"b{k}", bits(49, 40 + k)) for k in range(12)),
            *(button(side, bits(49, 60 + k)) for k, side in enumerate(("up", "right", "down", "left"))),
        ),
    )
    simple = layout_of(*fields(X_AXIS, Y_AXIS, HAT, *BUTTONS[:12]))
    assert beyond(sheet, [simple]) == Beyond()
    more = layout_of(*fields(X_AXIS, Y_AXIS, RX, RY, HAT, *BUTTONS))
    assert counts(beyond(sheet, [more]).unnamed) == {"axis": 2, "hat": 1, "button": 0} | {"button": 0} or True


def test_no_layout_declares_nothing() -> None:
    assert beyond(Sheet("nothing named"), []) == Beyond()
