"""The accounts of all lots, or of one, out of the records: for the command and for the window."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path

from station.app.prices import with_prices
from station.app.whole_file import write_whole
from station.diagnosis.guide import guide_for
from station.errors import InputError, RecordFull
from station.lots.account_files import Accounts, entries_csv, units_csv, workbook
from station.lots.accounts import Entry, Kept, LotAccounts, UnitAccount, entries_of, sums_of, unit_accounts
from station.records.store import Store
from station.records.types import Lot
from station.words import accounts as words
from station.words import figures, grammar

LAST_WRITTEN = "accounts_written"
"""the setting that says by which the table is known again that the window wrote last"""
_MOST_BESIDE = 1000


def accounts_of(store: Store, lots: Sequence[Lot | None]) -> Accounts:
    """The accounts of these lots; None stands for the units that belong to none."""
    guide = with_prices(guide_for(store.folder), store.get_setting)
    of_shop = store.currency()
    units: list[UnitAccount] = []
    entries: list[Entry] = []
    for lot in lots:
        kept = [Kept(*one) for one in store.kept_of_lot(lot.id if lot is not None else "")]
        mine = entries_of(lot, kept, guide.hour_minor, guide.currency, of_shop)
        units += unit_accounts(lot, kept, mine, of_shop)
        entries += mine
    return Accounts(tuple(units), tuple(entries))


def lot_accounts(store: Store, lot: Lot) -> LotAccounts:
    """What the window shows of one lot."""
    found = accounts_of(store, [lot])
    others = sorted({currency for account in found.units for currency in account.others})
    notes = (words.OTHERS.format(currencies=grammar.COMMA.join(others)),) if others else ()
    to_come = sums_of((entry for entry in found.entries if not entry.unit_id), lot.currency)
    return LotAccounts(found.units, to_come, sums_of(found.entries, lot.currency), notes)


def every_lot(store: Store) -> tuple[Lot | None, ...]:
    """All lots, oldest first, and those units that belong to none."""
    return (*reversed(store.lots()), None)


def place_beside(path: Path, written: str) -> Path:
    """The path, or where what lies there is not what was written last (`written`: its `sum_of`), such as a table that
    a person has worked in, the next free name beside it."""
    if not path.exists() or sum_of(path) == written:
        return path
    names = (path.with_stem(f"{path.stem}-{number}") for number in range(2, _MOST_BESIDE))
    return next((name for name in names if not name.exists() or sum_of(name) == written), path)


def sum_of(path: Path) -> str:
    """By which a file is known again; "" for one that cannot be read."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""


def write_accounts(accounts: Accounts, path: Path, *, listed: bool = False) -> Path:
    """Write them as the ending of the file says: a workbook, or one table (`listed`: every amount, else the units).
    InputError for another ending, RecordFull where it cannot be written."""
    if not accounts.units and not accounts.entries:
        raise InputError(words.NOTHING)
    ending = path.suffix.casefold()
    if ending == ".xlsx":
        data = workbook(accounts)
    elif ending == ".csv":
        data = (entries_csv if listed else units_csv)(accounts, figures.screen_style())
    else:
        raise InputError(words.OTHER_ENDING.format(file=path.name))
    place = path.expanduser()
    try:
        write_whole(place, data)
    except OSError as error:
        raise RecordFull(words.NOT_WRITTEN.format(path=place, reason=error.strerror or error)) from error
    return place
