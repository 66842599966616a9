"""Finding the sheet for a device."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.errors import SheetError
from station.sheets.library import match, sheets_in
from station.sheets.load import save_sheet
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
