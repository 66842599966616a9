"""Panels that write up what the shop has: a unit, a lot, a shelf part, a model sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from typing import Literal

from PySide6.QtWidgets import QLineEdit, QWidget

from station.errors import InputError
from station.records.money import amount_text
from station.records.types import Lot, ShelfPart, Unit
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.panel import Panel, for_tag
from station.ui.panels.typed import amount, parse_date, whole
from station.ui.ports import SheetPort, StockPort, UnitPort
from station.words import panels as words
from station.words.figures import day

MOST_PARTS = 9999
"""of one kind put on the shelf at once"""
MOST_UNITS = 99_999
"""of one lot"""


class NewUnitPanel(Panel):
    """A unit written up by hand, before it is plugged in."""

    keys = words.LINES_KEYS

    def __init__(
        self,
        units: UnitPort,
        tag: str,
        lots: Sequence[Lot],
        lot: Lot | None,
        look: Look,
        parent: QWidget,
        *,
        first: Literal["tag", "claim"] = "tag",
        made: Callable[[int, str], None] | None = None,
    ) -> None:
        """`first`: the field that has the cursor; `made`: told the number of the answer and the tag."""
        super().__init__(words.NEW_UNIT, look, parent)
        self._units, self._lots, self._made = units, tuple(lots), made
        self.tag, self.model, self.claim, self.condition = QLineEdit(tag), QLineEdit(), QLineEdit(), QLineEdit()
        for_tag(self.tag)
        self.model.setPlaceholderText(words.MODEL_HINT)
        self.add(self.tag, words.TAG_ON_LABEL, focus=True)
        self.add(self.model, words.MODEL, focus=True)
        self.add(self.claim, words.CLAIM, focus=True)
        self.add(self.condition, words.CONDITION, focus=True)
        options = (words.NO_LOT, *(x.name for x in self._lots))
        chosen = next((k for k, x in enumerate(self._lots, start=1) if lot is not None and x.id == lot.id), 0)
        self.lot = ChoiceList(options, look, chosen, columns=3)
        self.add(self.lot, words.LOT, focus=True)
        self.finish(self.claim if first == "claim" else None)
        if first == "tag":  # a selection shows where one types
            self.tag.selectAll()

    def commit(self) -> None:
        tag = self.tag.text().strip()
        if not tag:
            raise self.wrong(self.tag, words.UNIT_NEEDS_TAG)
        if any(u.tag == tag for u in self._units.find(tag)):
            raise self.wrong(self.tag, words.TAG_TAKEN.format(tag=tag))
        lot = self._lots[self.lot.chosen - 1].id if self.lot.chosen else None
        unit = Unit(
            "",
            tag,
            self.model.text().strip(),
            lot,
            claim=self.claim.text().strip(),
            condition=self.condition.text().strip(),
        )
        answers = self._units.add(unit)
        if self._made is not None:
            self._made(answers, tag)


class LotPanel(Panel):
    """A purchase of several units."""

    keys = words.LINES_KEYS

    def __init__(self, stock: StockPort, look: Look, parent: QWidget, lot: Lot | None = None, name: str = "") -> None:
        """`lot`: the one to edit; None for a new one, for which `name` is proposed."""
        super().__init__(words.LOT_NAMED.format(name=lot.name) if lot is not None else words.NEW_LOT, look, parent)
        self._stock, self._lot = stock, lot
        self.name, self.bought, self.seller = QLineEdit(), QLineEdit(day(date.today().isoformat())), QLineEdit()
        self.cost, self.currency, self.note = QLineEdit(), QLineEdit(stock.currency_of_new()), QLineEdit()
        self.postage, self.expected, self.source = QLineEdit(), QLineEdit(), QLineEdit()
        self.name.setText(name)
        self.name.selectAll()
        self.name.setPlaceholderText(words.LOT_NAME_HINT)
        self.source.setPlaceholderText(words.LOT_SOURCE_HINT)
        self.cost.setPlaceholderText(amount_text(12000, self.currency.text()))
        rows = (
            (self.name, words.LOT_NAME),
            (self.bought, words.LOT_BOUGHT),
            (self.seller, words.LOT_SELLER),
            (self.source, words.LOT_SOURCE),
            (self.expected, words.LOT_EXPECTED),
            (self.cost, words.LOT_COST),
            (self.postage, words.LOT_POSTAGE),
            (self.currency, words.LOT_CURRENCY),
            (self.note, words.NOTE),
        )
        for field, text in rows:
            self.add(field, text, focus=True)
        if lot is not None:
            self._fill(lot)
        self.finish(self.cost if lot is not None else None)

    def _fill(self, lot: Lot) -> None:
        cost = amount_text(lot.cost_minor, lot.currency)
        postage = amount_text(lot.postage_minor, lot.currency)
        expected = str(lot.expected) if lot.expected else ""
        kept = (lot.name, day(lot.bought_on), lot.seller, lot.source, expected, cost, postage, lot.currency, lot.note)
        fields = (
            *(self.name, self.bought, self.seller, self.source, self.expected),
            *(self.cost, self.postage, self.currency, self.note),
        )
        for field, text in zip(fields, kept, strict=True):
            field.setText(text)

    def commit(self) -> None:
        name, currency = self.name.text().strip(), self.currency.text().strip().upper()
        if not name:
            raise self.wrong(self.name, words.LOT_NEEDS_NAME)
        if len(currency) != 3 or not currency.isalpha():
            raise self.wrong(self.currency, words.NO_CURRENCY.format(currency=currency))
        bought = self.read(self.bought, lambda text: parse_date(text, date.today()))
        cost = self.read(self.cost, lambda text: amount(text, currency))
        lot_id, seller, note = self._lot.id if self._lot else "", self.seller.text().strip(), self.note.text().strip()
        postage = self.read(self.postage, lambda text: amount(text, currency))
        expected = self.read(self.expected, lambda text: whole(text, 0, MOST_UNITS))
        lot = Lot(lot_id, name, bought, seller, cost, currency, note, self.source.text().strip(), postage, expected)
        if self._lot is None:
            self._stock.add_lot(lot)
        elif lot != self._lot:
            self._stock.change_lot(lot)


class PartPanel(Panel):
    """Good parts put on the shelf."""

    keys = words.LINES_KEYS

    def __init__(
        self, stock: StockPort, look: Look, parent: QWidget, name: str = "", model: str = "", currency: str = "EUR"
    ) -> None:
        """`name`, `model`: of the part that a unit waits for."""
        super().__init__(words.NEW_PART, look, parent)
        self._stock, self._currency = stock, currency
        self.name, self.model, self.count = QLineEdit(name), QLineEdit(model), QLineEdit("1")
        self.cost, self.note = QLineEdit(), QLineEdit()
        rows = (
            (self.name, words.PART),
            (self.model, words.PART_MODEL),
            (self.count, words.PART_COUNT),
            (self.cost, words.PART_COST.format(currency=currency)),
            (self.note, words.NOTE),
        )
        for field, text in rows:
            self.add(field, text, focus=True)
        self.finish(self.count if name else None)

    def commit(self) -> None:
        name, model = self.name.text().strip(), self.model.text().strip()
        if not name:
            raise self.wrong(self.name, words.PART_NEEDS_NAME)
        count = self.read(self.count, lambda text: whole(text, 1, MOST_PARTS))
        cost = self.read(self.cost, lambda text: amount(text, self._currency))
        note = self.note.text().strip()
        self._stock.add_part(ShelfPart("", name, model, count, cost_minor=cost, currency=self._currency, note=note))


class SheetPanel(Panel):
    """Save a drawn-up model sheet under a name."""

    keys = words.SHEET_KEYS

    def __init__(self, sheets: SheetPort, look: Look, parent: QWidget) -> None:
        super().__init__(words.SHEET, look, parent)
        sheet = sheets.sheet()
        self._sheets, self._sheet = sheets, sheet
        self.name = QLineEdit(sheet.name if sheet is not None else "")
        self.add(self.name, words.SHEET_NAME, focus=True)
        self.add(plain_label(words.SHEET_EDITED_LATER, "small", wrap=True))
        self.finish()

    def commit(self) -> None:
        name = self.name.text().strip()
        if not name:
            raise InputError(words.SHEET_NEEDS_NAME)
        if self._sheet is None:
            raise InputError(words.SHEET_NEEDS_UNIT)
        self._sheets.save_sheet(replace(self._sheet, name=name, drawn_up=False))
