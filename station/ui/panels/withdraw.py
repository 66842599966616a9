"""Panels that take mistakes back: something is withdrawn with a reason, or what a unit is is put right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from station.errors import InputError
from station.records.types import Lot, Unit
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, has_keys, plain_label
from station.ui.panels.panel import Panel, for_tag
from station.ui.ports import UndoPort, Withdrawable
from station.words import grammar
from station.words import undo as words

MOST = 9
"""entries that are listed at once, each with its digit; the arrows go on to the next, a word finds any"""
FEW_MODELS = 3


class _Page(ChoiceList):
    """One page of a list. Signals: `beyond(int)`: an arrow goes over its end, 1, or its beginning, -1."""

    beyond = Signal(int)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Down and self.chosen == len(self.options) - 1:
            self.beyond.emit(1)
        elif event.key() == Qt.Key.Key_Up and self.chosen == 0:
            self.beyond.emit(-1)
        else:
            super().keyPressEvent(event)


class WithdrawPanel(Panel):
    """What should not be there, and why. In the order of `withdrawable`, page by page; a word that is typed finds an
    entry on any of them."""

    width_px = 640

    def __init__(
        self, undo: UndoPort, title: str, entries: Sequence[Withdrawable], look: Look, parent: QWidget, first: int = 0
    ) -> None:
        super().__init__(title, look, parent)
        self._undo, self._every = undo, tuple(entries)
        self._listed = self._every
        self.search, self.reason = QLineEdit(), QLineEdit()
        self.reason.setPlaceholderText(words.WITHDRAW_HINT)
        self.search.setPlaceholderText(words.WITHDRAW_SEARCH)
        if not entries:
            self.add_nothing(words.NOTHING_HERE)
            self.finish()
            return
        self._start = first - first % MOST
        self.list = _Page((), look)
        self.list.beyond.connect(self._turn)
        self.add(self.list, words.WITHDRAW_WHAT, focus=True)
        if len(entries) > MOST:
            self.add(self.search)
        self.add(self.reason, words.WITHDRAW_REASON, focus=True)
        if len(entries) > MOST:
            self._order.append(self.search)
        self.add(plain_label(words.WITHDRAW_NOTE, "small", wrap=True))
        self.search.textChanged.connect(self._look_up)
        self.finish(self.list if first == 0 else self.reason)
        self._list_from(self._start, first - self._start)

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Tab goes from what was chosen to why; what finds an entry comes after that, and leads to why again."""
        if not forward or has_keys(self.reason) or not self.reason.isVisible():
            return super().focusNextPrevChild(forward)
        self.reason.setFocus(Qt.FocusReason.TabFocusReason)
        self._area.ensureWidgetVisible(self.reason)
        return True

    def _look_up(self, text: str) -> None:
        wanted = text.casefold().split()
        self._listed = tuple(e for e in self._every if all(w in e.said.casefold() for w in wanted))
        self._list_from(0, 0)

    def _turn(self, by: int) -> None:
        """The next page, or the one before with its last entry chosen."""
        start = self._start + by * MOST
        if 0 <= start < len(self._listed):
            self._list_from(start, 0 if by > 0 else MOST - 1)

    def _list_from(self, start: int, chosen: int) -> None:
        self._start = start
        shown = self._listed[start : start + MOST]
        self.list.set_options([entry.said for entry in shown], chosen)
        self.place()

    def commit(self) -> None:
        shown = self._listed[self._start : self._start + MOST]
        if not self._every:
            return
        if not shown:
            raise self.wrong(self.search, words.NOTHING_FOUND)
        reason = self.reason.text().strip()
        if not reason:
            raise self.wrong(self.reason, words.REASON_NEEDED)
        self._undo.withdraw(shown[self.list.chosen], reason)


class CorrectPanel(Panel):
    """What a unit is: its tag, its model, its lot."""

    width_px = 640

    def __init__(self, undo: UndoPort, unit: Unit, lots: Sequence[Lot], look: Look, parent: QWidget) -> None:
        super().__init__(words.CORRECT.format(tag=unit.tag), look, parent)
        self._undo, self._unit, self._lots = undo, unit, tuple(lots)
        self.tag, self.model, self.reason = for_tag(QLineEdit(unit.tag)), QLineEdit(unit.model), QLineEdit()
        models = undo.models()
        some = grammar.COMMA.join(models[:FEW_MODELS])
        self.add(self.tag, words.TAG, focus=True)
        self.add(self.model, words.MODEL, focus=True)
        if some:
            self.add(plain_label(words.MODEL_HINT.format(models=some), "small", wrap=True))
        chosen = next((k for k, lot in enumerate(self._lots, start=1) if lot.id == unit.lot_id), 0)
        self.lot = ChoiceList((words.NO_LOT, *(lot.name for lot in self._lots)), look, chosen, columns=3)
        self.add(self.lot, words.LOT, focus=True)
        self.reason.setPlaceholderText(words.CORRECT_REASON_HINT)
        self.add(self.reason, words.CORRECT_REASON, focus=True)
        self.add(plain_label(words.CORRECT_NOTE, "small", wrap=True))
        self.finish()
        self.tag.selectAll()

    def commit(self) -> None:
        lot_id = self._lots[self.lot.chosen - 1].id if self.lot.chosen else None
        right = replace(self._unit, tag=self.tag.text().strip(), model=self.model.text().strip(), lot_id=lot_id)
        if right == self._unit:
            raise InputError(words.NOTHING_CORRECTED)
        reason = self.reason.text().strip()
        if not reason:
            raise self.wrong(self.reason, words.REASON_NEEDED)
        self._undo.correct(right, reason)
