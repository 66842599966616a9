"""The grades of all units as a table for other programs.

They stand in no table of the records: a grade is worked out from the readings, the model sheets and the limits in force
on the day.
"""

from __future__ import annotations

import csv
from pathlib import Path

from station.app import paths
from station.app.house import HouseFile
from station.app.shelf_of_sheets import SheetShelf
from station.bench.plan import wanted_of
from station.judgement.grade import grading_of, headline, kept_from
from station.records.export import cell
from station.records.store import Store
from station.sheets.model import Sheet
from station.words import figures

FILE = "grades.csv"
COLUMNS = ("unit_id", "tag", "grade", "not_graded", "kept_from")
"""the same in every language, since programs read them; what stands below is said in words"""


def write_grades(store: Store, folder: Path) -> int:
    """Write grades.csv, a row for each unit that was tested; returns how many. Cells as in the other CSV files."""
    house = HouseFile(store.folder).now()
    sheets = {s.name: s for s in reversed(SheetShelf(paths.sheets_folder()).sheets())}
    rows = 0
    with (folder / FILE).open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(COLUMNS)
        for unit in sorted(store.units(limit=-1), key=lambda unit: unit.tag):
            history = store.history(unit.id)
            if not history.results:
                continue
            sheet = sheets.get(unit.sheet) or Sheet(unit.sheet or unit.model)
            found = grading_of(history, wanted_of(sheet), sheet, house)
            graded = found.grade is not None
            kept = kept_from(found, sheet, figures.PAPER)
            row = (unit.id, unit.tag, headline(found) if graded else "", "" if graded else headline(found), kept)
            writer.writerow([cell(text) for text in row])
            rows += 1
    return rows
