"""`restpoint import FILE --lot NAME`: a lot comes in from a spreadsheet, all or nothing."""

from __future__ import annotations

import time
from pathlib import Path

import openpyxl
import pytest

from station.app import paths
from station.app.main import main
from tests.records.records_kit import open_store

GOOD = "Tag,Model,Fault,Price,Colour\nSM-08-01,Plover T2,left stick drifts,8.50,grey\nSM-08-02,Plover T2,,9.00,grey\n"
BAD = 'Tag,Model,Fault,Price\nSM-08-01,Plover T2,drifts,8.50\nSM-08-01,Plover T2,,"1,5,0"\n'


def written(tmp_path: Path, text: str) -> str:
    path = tmp_path / "list.csv"
    path.write_text(text, "utf-8")
    return str(path)


def tags() -> list[str]:
    with open_store(paths.records_folder()) as store:
        return [unit.tag for lot in store.lots() for unit in store.units_of_lot(lot.id)]


def test_a_lot_comes_in_and_how_it_was_read_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["import", written(tmp_path, GOOD), "--lot", "SM-08"]) == 0
    said = capsys.readouterr().out
    assert "Columns: Tag → Tag, Model → Model, Fault → Claim, Price → Price" in said
    assert "Columns that are not taken: Colour." in said
    assert "2 units came into SM-08." in said
    assert tags() == ["SM-08-01", "SM-08-02"]
    with open_store(paths.records_folder()) as store:
        assert [lot.cost_minor for lot in store.lots()] == [1750]


def test_what_is_wrong_is_told_by_row_and_nothing_comes_in(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["import", written(tmp_path, BAD), "--lot", "SM-08"]) == 1
    said = capsys.readouterr().out
    assert "Row 3: the tag SM-08-01 is in row 2 too" in said
    assert "Row 3: “1,5,0” has more than one decimal sign" in said
    assert "Nothing came in." in said
    assert tags() == []


def test_a_trial_keeps_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["import", written(tmp_path, GOOD), "--lot", "SM-08", "--dry-run"]) == 0
    assert "Would come into SM-08: 2 units." in capsys.readouterr().out
    assert main(["import", written(tmp_path, BAD), "--lot", "SM-08", "--dry-run"]) == 1
    assert tags() == []


def test_a_second_time_every_tag_is_here(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    main(["import", written(tmp_path, GOOD), "--lot", "SM-08"])
    capsys.readouterr()
    assert main(["import", written(tmp_path, GOOD), "--lot", "sm-08"]) == 1
    assert capsys.readouterr().out.count("is on a unit that is here") == 2
    assert len(tags()) == 2


@pytest.mark.parametrize(
    ("file", "lot", "said"),
    [("nowhere.csv", "SM-08", "nowhere.csv cannot be read"), ("list.csv", "  ", "Name the lot")],
)
def test_what_cannot_be_is_one_line(tmp_path: Path, file: str, lot: str, said: str, capsys: pytest.CaptureFixture[str]):
    written(tmp_path, GOOD)
    assert main(["import", str(tmp_path / file), "--lot", lot]) == 2
    assert said in capsys.readouterr().err


def test_five_thousand_rows_take_less_than_five_seconds_of_work(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet()
    sheet.append(["Tag", "Model", "Claim", "Serial", "Condition", "Price"])
    for k in range(5_000):
        sheet.append([f"B-{k:05}", "Plover T2", "left stick drifts", f"PT2-{k:05}", "light marks", 8.5])
    book.save(tmp_path / "large.xlsx")
    began = time.process_time()
    assert main(["import", str(tmp_path / "large.xlsx"), "--lot", "B"]) == 0
    assert time.process_time() - began < 5, "of this process alone, whatever else the computer does"
    assert "5,000 units came into B." in capsys.readouterr().out
    assert len(tags()) == 5_000
