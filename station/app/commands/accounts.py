"""`restpoint accounts FILE`: what units, lots and months come to, as a workbook or a table."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from station.app.accounts import accounts_of, every_lot, write_accounts
from station.app.opening import open_records
from station.errors import InputError
from station.records.store import Store
from station.records.types import Lot
from station.words import accounts as words
from station.words import command_line, common, grammar


def run(args: argparse.Namespace) -> int:
    """Write the accounts of all lots, or of one."""
    with open_records(read_only=True) as store:
        accounts = accounts_of(store, _lots(store, args.lot))
    path = write_accounts(accounts, args.file, listed=args.list)
    units = grammar.count_of(len(accounts.units), common.UNITS)
    entries = grammar.count_of(len(accounts.entries), words.ENTRIES)
    print(words.WRITTEN.format(path=path, units=units, entries=entries))
    return 0


def _lots(store: Store, name: str | None) -> Sequence[Lot | None]:
    if name is None:
        return every_lot(store)
    found = [lot for lot in store.lots() if lot.name == name]
    if not found:
        there = grammar.COMMA.join(lot.name for lot in store.lots())
        raise InputError(command_line.NO_SUCH_LOT.format(lot=name, lots=there))
    return found
