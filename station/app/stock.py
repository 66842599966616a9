"""Lots and the shelf of good parts, for the window."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from station.app.changes import Changes
from station.app.lots import LotAdviser
from station.app.plan import Planner
from station.app.shelf_of_sheets import SheetShelf
from station.app.undo import Undo
from station.app.work import Worker
from station.judgement.claimed import lengthened, spoken, understood
from station.records.clock import Clock
from station.records.store import Store
from station.records.types import Lot, ShelfPart, Unit
from station.sheets.model import Sheet
from station.ui.ports import ClaimRead, DeskEvent, LotAnswer, Said, SpreadsheetRead
from station.words import accounts, common, grammar
from station.words import desk as words
from station.words import incoming as arriving
from station.words import undo as undoing

if TYPE_CHECKING:
    from station.lots.accounts import LotAccounts
    from station.lots.incoming.draft import Draft
    from station.records.arriving import Arrival


class Stock:
    """The `StockPort`: short queries, and changes that the worker makes."""

    def __init__(
        self,
        store: Store,
        lots: LotAdviser,
        changes: Changes,
        undo: Undo,
        tell: Callable[[DeskEvent], None],
        worker: Worker,
        sheets: SheetShelf,
        now: Clock,
        planner: Planner,
    ) -> None:
        self._store, self._lots, self._changes, self._undo, self._tell = store, lots, changes, undo, tell
        self._worker, self._sheets, self._now, self._planner = worker, sheets, now, planner

    def lots(self) -> Sequence[Lot]:
        return self._store.lots()

    def lot_states(self) -> Mapping[str, Mapping[str, int]]:
        return self._store.lot_states()

    def units_of_lot(self, lot_id: str) -> Sequence[Unit]:
        return self._store.units_of_lot(lot_id)

    def lot_answer(self, lot_id: str) -> LotAnswer:
        return self._lots.answer(lot_id)

    def currency_of_new(self) -> str:
        from station.app.incoming import currency_of_new

        return currency_of_new(self._store)

    def add_lot(self, lot: Lot) -> None:
        def change() -> str:
            self._store.add_lot(lot)
            return ""

        self._changes.make(change)

    def change_lot(self, lot: Lot) -> None:
        def change() -> str:
            self._store.change_lot(lot)
            return ""

        self._changes.make(change)

    # --- what comes in -----------------------------------------------------------------------------------

    def spreadsheets(self) -> Sequence[str]:
        from station.app.incoming import newest_spreadsheets  # what reads spreadsheets is loaded when one is at hand

        return newest_spreadsheets(self._store)

    def look_into(self, path: str, lot: str) -> int:
        from station.app.incoming import FOLDER, look_into, lot_named

        def job() -> Iterable[DeskEvent]:
            place = Path(path).expanduser()
            into = lot_named(self._store, lot, self._now().date())
            draft = look_into(self._store, self._sheets, place, into)
            folder = str(place.resolve().parent)
            if folder.encode("utf-8", "replace").decode() == folder:  # the records hold no other
                self._store.set_setting(FOLDER, folder)
            return (SpreadsheetRead(draft),)

        return self._worker.submit(job)

    def take_in(self, draft: Draft) -> None:
        def change() -> str:
            came = self._store.take_in(draft.lot, draft.units)
            units = grammar.count_of(len(came.units), common.UNITS)
            said = arriving.TAKEN_IN.format(units=units, lot=came.lot.name)
            person = self._undo.person()
            self._undo.offer(said, (), lambda: self._store.withdraw_arrival(came, undoing.AT_ONCE, person))
            return ""

        self._changes.make(change)

    # --- money -------------------------------------------------------------------------------------------

    def accounts_of(self, lot: Lot) -> LotAccounts:
        from station.app.accounts import lot_accounts

        return lot_accounts(self._store, lot)

    def write_accounts(self, path: str) -> None:
        from station.app.accounts import LAST_WRITTEN, accounts_of, every_lot, place_beside, sum_of, write_accounts

        def job() -> Iterable[DeskEvent]:
            found = accounts_of(self._store, every_lot(self._store))
            written = self._store.get_setting(LAST_WRITTEN)
            place = write_accounts(found, place_beside(Path(path).expanduser(), written))
            self._store.set_setting(LAST_WRITTEN, sum_of(place))
            units = grammar.count_of(len(found.units), common.UNITS)
            entries = grammar.count_of(len(found.entries), accounts.ENTRIES)
            return (Said(accounts.WRITTEN.format(path=place, units=units, entries=entries)),)

        self._worker.submit(job)

    def plan(self, lot: Lot, hours: float | None) -> int:
        return self._planner.plan(lot.id, hours)

    def stop_plan(self) -> None:
        self._planner.stop()

    def arrivals(self, lot: Lot) -> Sequence[Arrival]:
        return self._store.arrivals(lot)

    def sheets(self) -> Sequence[Sheet]:
        return sorted(self._sheets.sheets(), key=lambda sheet: sheet.name)

    def sheet_named(self, model: str) -> Sheet | None:
        wanted = model.strip().casefold()
        return next((sheet for sheet in self._sheets.sheets() if sheet.name.casefold() == wanted), None)

    def claim_of(self, text: str, model: str) -> ClaimRead:
        sheet = self.sheet_named(model) or Sheet(model)
        full = lengthened(text, sheet)
        return ClaimRead(full, spoken(understood(full, sheet).controls, sheet))

    # --- the shelf ---------------------------------------------------------------------------------------

    def shelf(self) -> Sequence[ShelfPart]:
        return self._store.shelf()

    def add_part(self, part: ShelfPart) -> None:
        def change() -> str:
            added = self._store.add_shelf_part(part)
            self._undo.offer_row(undoing.PART_ADDED.format(part=added.name), "part", added.id, "")
            return ""

        self._changes.make(change, shelf=True)

    def give_up(self, unit: Unit, parts: Sequence[ShelfPart], reason: str) -> None:
        def change() -> str:
            before = self._store.unit(unit.id)
            self._undo.offer_change(before, self._store.give_up(unit, parts, reason=reason))
            self._tell(Said(words.DONOR_NOW.format(tag=unit.tag, count=len(parts))))
            return unit.id

        self._changes.make(change, shelf=True)
