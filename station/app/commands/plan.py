"""`restpoint plan LOT [--hours H]`: what to do with each unit of a lot, within the hours at hand."""

from __future__ import annotations

import argparse

from station.app import paths
from station.app.house import HouseFile
from station.app.lots import LotAdviser
from station.app.opening import open_records
from station.app.prices import grade_names, with_prices, with_sales
from station.app.shelf_of_sheets import SheetShelf
from station.app.terminal import one_line
from station.diagnosis.guide import guide_for
from station.errors import InputError
from station.lots.agenda import lines_of, stopped, worked_out
from station.lots.ways import LotProblem, read_hours
from station.records.store import Store
from station.words import command_line as words
from station.words import grammar


def run(args: argparse.Namespace) -> int:
    """Print the plan; Ctrl+C prints the best so far."""
    hours = read_hours(args.hours)
    with open_records(read_only=True) as store:
        lot = problem_of_lot(store, args.lot)
    plans = worked_out(lot, hours)
    told = next(plans)
    try:
        for better in plans:
            told = better
    except KeyboardInterrupt:
        told = stopped(told)
    for line in lines_of(told):
        print(one_line(line))
    return 0


def problem_of_lot(store: Store, name: str) -> LotProblem:
    """InputError where there is no such lot, or nothing of it to plan."""
    found = next((lot for lot in store.lots() if lot.name == name), None)
    if found is None:
        there = grammar.COMMA.join(lot.name for lot in store.lots())
        raise InputError(words.NO_SUCH_LOT.format(lot=name, lots=there))
    shelf, house = SheetShelf(paths.sheets_folder()), HouseFile(store.folder).now()
    priced = with_prices(guide_for(store.folder), store.get_setting, grade_names(house))
    guide = with_sales(priced, store)
    adviser = LotAdviser(store, shelf, lambda: guide, lambda: store.now()[:10], lambda event: None, lambda: house)
    try:
        return adviser.problem(found.id)
    finally:
        adviser.close()
