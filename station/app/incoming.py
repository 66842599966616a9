"""A spreadsheet looked through for a lot: what the records have is put beside what the file says."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import platformdirs

from station.app.photos import newest
from station.app.prices import with_prices
from station.app.shelf_of_sheets import SheetShelf
from station.errors import InputError
from station.lots.incoming.draft import Draft, Here, drafted
from station.lots.incoming.tables import read_table
from station.records.store import Store
from station.records.types import Lot
from station.ui.tags import by_age

ENDINGS = (".xlsx", ".xlsm", ".csv", ".tsv")
FOLDER = "spreadsheet_folder"
"""the setting that holds where the last one lay"""


def newest_spreadsheets(store: Store) -> tuple[str, ...]:
    """Paths of the newest spreadsheets of the folder from which one came last, else of the one for downloads."""
    return newest(store.get_setting(FOLDER) or str(platformdirs.user_downloads_path()), ENDINGS)


def lot_named(store: Store, name: str, today: date) -> Lot:
    """The lot of that name that is here, or a new one without an id, in the currency of new ones."""
    wanted = name.strip()
    found = next((lot for lot in store.lots() if lot.name.casefold() == wanted.casefold()), None)
    return found or Lot("", wanted, today.isoformat(), currency=currency_of_new(store))


def currency_of_new(store: Store) -> str:
    """In which a new lot is paid for: as the newest one was, else as the shop counts."""
    from station.diagnosis.guide import guide_for, load_guide

    if lots := store.lots():
        return lots[0].currency
    try:
        guide = guide_for(store.folder)
    except InputError:
        guide = load_guide()
    return with_prices(guide, store.get_setting).currency


def look_into(store: Store, sheets: SheetShelf, path: Path, lot: Lot) -> Draft:
    """What the spreadsheet would bring into the lot. InputError where it cannot be read as one."""
    table = read_table(path.expanduser())
    of_lot = [unit.tag for unit in by_age(store.units_of_lot(lot.id))] if lot.id else []
    return drafted(table, lot, Here(store.tags_here(), of_lot, sheets.sheets()))
