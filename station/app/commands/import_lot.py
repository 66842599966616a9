"""`restpoint import FILE --lot NAME`: the units of a spreadsheet into a lot, all or none."""

from __future__ import annotations

import argparse

from station.app import paths
from station.app.incoming import look_into, lot_named
from station.app.opening import open_records
from station.app.shelf_of_sheets import SheetShelf
from station.errors import InputError
from station.lots.incoming.draft import Draft
from station.records.clock import day_of
from station.records.place import FILE_NAME
from station.words import common, grammar
from station.words import incoming as words

MOST_TOLD = 50
"""rows with something wrong that are told one by one"""


def run(args: argparse.Namespace) -> int:
    """Say how the file is read and what is wrong by row; take the units in if nothing is. 1 if something is wrong."""
    if not args.lot.strip():
        raise InputError(words.NEEDS_LOT)
    # a trial writes nothing, but where nothing is there yet there is nothing to read either
    there = (paths.records_folder() / FILE_NAME).exists()
    with open_records(read_only=args.dry_run and there) as store:
        lot = lot_named(store, args.lot, day_of(store.now()))
        draft = look_into(store, SheetShelf(paths.sheets_folder()), args.file, lot)
        _tell(draft)
        units = grammar.count_of(len(draft.units), common.UNITS)
        if draft.problems:
            print(draft.wrong_told())
            print(words.NOTHING_CAME)
            return 1
        if args.dry_run:
            print(words.COMES_IN.format(lot=draft.lot.name, units=units))
            print(words.DRY)
            return 0
        store.take_in(draft.lot, draft.units)
        print(words.CAME_IN.format(units=units, lot=draft.lot.name))
    return 0


def _tell(draft: Draft) -> None:
    print(draft.columns_told())
    for note in draft.notes:
        print(note)
    for problem in draft.problems[:MOST_TOLD]:
        print(problem.sentence())
    if (more := len(draft.problems) - MOST_TOLD) > 0:
        print(grammar.plural(more, words.MORE_ROWS).format(count=more))
