"""Finding the sheet for a device."""

from __future__ import annotations

from pathlib import Path

import pytest

from station import RESOURCES
from station.capture.file import make_block
from station.checks.limits import limits_for, load_limits
from station.errors import SheetError
from station.hid.types import Field, Layout, ReportLayout
from station.sheets.bind import bind
from station.sheets.library import match, sheets_in
from station.sheets.load import load_sheet, save_sheet
from station.sheets.model import Ask, Sheet

PLAIN = Sheet("Plover T2", ((0x1209, 1), (0x1209, 2)))
PRO = Sheet("Plover T2 Long", ((0x1209, 1),))


def test_a_broken_sheet_is_reported_and_hides_no_other(tmp_path: Path) -> None:
    (tmp_path / "a_broken.toml").write_text("format = 3")
    save_sheet(tmp_path / "b.toml", PLAIN)
    told: list[SheetError] = []
    assert sheets_in(tmp_path, tmp_path / "not there", report=told.append) == (PLAIN,)
    assert [str(error).startswith(f"{tmp_path / 'a_broken.toml'}: format") for error in told] == [True]


def test_the_first_folder_counts_where_two_sheets_have_one_name(tmp_path: Path) -> None:
    own = Sheet("Plover T2", ((0x1209, 9),), asks=(Ask("look", "Look"),))
    save_sheet(tmp_path / "own" / "x.toml", own)
    save_sheet(tmp_path / "ships" / "a.toml", PLAIN)
    assert sheets_in(tmp_path / "own", tmp_path / "ships") == (own,)


@pytest.mark.parametrize(
    ("vendor_id", "product_id", "product", "expected"),
    [
        (0x1209, 2, "", PLAIN),
        (0x1209, 1, "", PLAIN),
        (0x1209, 1, "plover t2 LONG rev 3", PRO),
        (0x1209, 3, "Plover T2", None),
    ],
    ids=["by its second id pair", "the first of two that fit", "the longer name in the product string", "not by name"],
)
def test_a_device_is_matched(vendor_id: int, product_id: int, product: str, expected: Sheet | None) -> None:
    assert match((PLAIN, PRO), vendor_id, product_id, product) is expected


def test_the_sheets_that_ship_can_all_be_used() -> None:
    told: list[SheetError] = []
    shipped = sheets_in(RESOURCES / "sheets", report=told.append)
    assert told == []
    assert "Two-stick pad (example)" in {sheet.name for sheet in shipped}
    for sheet in shipped:
        limits_for(sheet, load_limits())


def test_the_example_fits_a_pad_with_the_usual_usages() -> None:
    sheet = load_sheet(RESOURCES / "sheets" / "two_stick_pad.toml")
    axes = [Field("input", 0, 0x10030 + n, 8 * n, 8, False, 0, 255) for n in range(6)]
    hat = Field("input", 0, 0x10039, 48, 4, False, 0, 7, has_null=True)
    buttons = [Field("input", 0, 0x90001 + n, 52 + n, 1, False, 0, 1) for n in range(12)]
    layout = Layout((ReportLayout("input", 0, 8, (*axes, hat, *buttons)),), (0x10005,), False)
    block = make_block([0], [bytes((255, 0, 128, 0, 0, 128, 0x1F, 0x00))])
    signals = bind(sheet, layout).signals(block)
    assert signals.keys() == {control.id for control in sheet.controls}
    assert {control.zone for control in sheet.controls} == {"left hand", "right hand", "top", "centre"}
