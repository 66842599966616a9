"""Opening this bench's records: the one place where the store is given the rules of the trade."""

from __future__ import annotations

import sys
from pathlib import Path

from station.app import paths
from station.app.shelf_of_sheets import SheetShelf
from station.judgement.gate import Rules
from station.records import store
from station.records.types import Unit
from station.sheets.model import Sheet


def _sheet_of(unit: Unit) -> Sheet:
    return SheetShelf(paths.sheets_folder()).of_unit(unit)


RULES = Rules(_sheet_of)


def open_records(*, read_only: bool = False) -> store.Store:
    """Open the records in the person's folder. Raises the RecordError family."""
    opened = store.open_store(paths.records_folder(), RULES, read_only=read_only)
    if opened.place_warning:
        sys.stderr.write(f"restpoint: {opened.place_warning}\n")
    return opened


def restore_records(back_up: Path) -> Path | None:
    """Put a back-up in the place of records that need not open any more; returns where those were set aside."""
    return store.restore_records(paths.records_folder(), back_up, RULES)
