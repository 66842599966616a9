"""Lots and the shelf of good parts, for the window."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from station.app.changes import Changes
from station.app.lots import LotAdviser
from station.app.undo import Undo
from station.records.store import Store
from station.records.types import Lot, ShelfPart, Unit
from station.ui.ports import DeskEvent, LotAnswer, Said
from station.words import desk as words
from station.words import undo as undoing


class Stock:
    """The `StockPort`: short queries, and changes that the worker makes."""

    def __init__(
        self, store: Store, lots: LotAdviser, changes: Changes, undo: Undo, tell: Callable[[DeskEvent], None]
    ) -> None:
        self._store, self._lots, self._changes, self._undo, self._tell = store, lots, changes, undo, tell

    def lots(self) -> Sequence[Lot]:
        return self._store.lots()

    def lot_states(self) -> Mapping[str, Mapping[str, int]]:
        return self._store.lot_states()

    def units_of_lot(self, lot_id: str) -> Sequence[Unit]:
        return self._store.units_of_lot(lot_id)

    def lot_answer(self, lot_id: str) -> LotAnswer:
        return self._lots.answer(lot_id)

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
