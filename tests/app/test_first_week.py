"""The first week of a shop by commands and records: import, intake, work, sale, a return, the table of it all."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from station.app import paths
from station.app.main import main
from station.checks.types import Assessment, Outcome
from station.records.types import Comeback, Treatment
from tests.lots.spreadsheet import Book
from tests.records.records_kit import a_result, a_unit, open_store

ROWS = "Tag,Model,Fault,Price\n" + "".join(
    f"SM-08-{k:02},Plover T2,{'left stick drifts' if k < 3 else ''},8.50\n" for k in range(1, 5)
)


def test_from_the_spreadsheet_to_the_table_of_the_month(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    (tmp_path / "list.csv").write_text(ROWS, "utf-8")
    assert main(["import", str(tmp_path / "list.csv"), "--lot", "SM-08"]) == 0
    with open_store(paths.records_folder()) as store:
        (lot,) = store.lots()
        store.change_lot(replace(lot, source="market", postage_minor=690, expected=4))
        one, two, *_ = store.units_of_lot(lot.id)
        for unit in (one, two):
            visit = store.start_visit(unit.id, "intake")
            store.add_result(a_result(visit.id))
            store.finish_visit(visit.id)
    capsys.readouterr()
    assert main(["plan", "SM-08", "--hours", "4"]) == 0
    said = capsys.readouterr().out
    assert "must be tested first: SM-08-03, SM-08-04." in said
    assert all(f"{unit.tag}: " in said for unit in (one, two))
    with open_store(paths.records_folder()) as store:
        for unit in (one, two):
            store.add_treatment(Treatment("", unit.id, "clean the sensor", "", minutes=20, cost_minor=40))
            visit = store.start_visit(unit.id, "after treatment")
            store.add_result(a_result(visit.id, assessment=Assessment(Outcome.PASS)))
            store.finish_visit(visit.id)
            sale = {"sold_minor": 3100, "sold_on": "2026-12-01", "channel": "market", "fees_minor": 310}
            store.change_unit(replace(store.unit(unit.id), becomes="sold", **sale))  # type: ignore[arg-type]
        store.come_back(Comeback("", one.id, "2026-12-20", "drifts again", "same fault", 3100, 450))
        with store._connections.reading() as db:
            assert db.execute("SELECT kind, cured, came_back FROM cures ORDER BY came_back").fetchall() == [
                ("clean the sensor", 1, 0), ("clean the sensor", 0, 1),
            ]  # fmt: skip
    capsys.readouterr()
    assert main(["accounts", str(tmp_path / "accounts.xlsx")]) == 0
    assert "4 units" in capsys.readouterr().out
    assert main(["accounts", str(tmp_path / "accounts.csv"), "--lot", "SM-08"]) == 0
    assert main(["accounts", str(tmp_path / "list.csv"), "--list"]) == 0
    # by hand: 4 × 8.50 + 6.90; parts 0.80; 2 × (31.00 − 3.10); 31.00 and 4.50 back; the work is the guide's matter
    paid = -(4 * 850 + 690) - 80 + 2 * (3100 - 310) - 3100 - 450
    amounts = list(csv.DictReader((tmp_path / "list.csv").read_text("utf-8-sig").splitlines()))
    assert sum(round(float(row["Amount"]) * 100) for row in amounts if row["What"] != "Work") == paid
    book = Book((tmp_path / "accounts.xlsx").read_bytes())
    sheet = book.sheet("Units")
    heads = [cell.value for cell in sheet[1]]
    profit, work = (openpyxl.utils.get_column_letter(heads.index(name) + 1) for name in ("Profit", "Work"))
    last = sheet.max_row
    assert book.value("Units", f"A{last}") == "Sum, EUR"
    found = book.value("Units", f"{profit}{last}"), book.value("Units", f"{work}{last}")
    assert round((found[0] - found[1]) * 100) == paid  # type: ignore[operator]
    assert main(["log", "verify"]) == 0
    assert main(["export", str(tmp_path / "export")]) == 0
    tables = json.loads((tmp_path / "export" / "records.json").read_text("utf-8"))["tables"]
    assert [row["found"] for row in tables["comebacks"]] == ["same fault"]


@pytest.mark.parametrize(
    ("file", "said"), [("accounts.txt", "ends neither in .xlsx nor in .csv"), ("accounts.xlsx", "nothing yet to write")]
)
def test_what_cannot_be_written_is_one_line(tmp_path: Path, file: str, said: str, capsys: pytest.CaptureFixture[str]):
    with open_store(paths.records_folder()) as store:
        if file.endswith(".txt"):
            store.add_unit(a_unit("A-1"))
    assert main(["accounts", str(tmp_path / file)]) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / file).exists()
