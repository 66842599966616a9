"""One lot on one page: the sentence, the figures, and what to do, as tables that the Tab key goes through."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QVBoxLayout, QWidget

from station.lots.view import DonorProposal, LotView, PartWaited, WorkRow
from station.records.types import Lot, Unit
from station.ui.lots.rows import donor_line, lot_figures, notes, part_line, unit_line, work_line
from station.ui.painting.hints import KeyHints
from station.ui.painting.look import Look
from station.ui.painting.tables import Line, LineTable
from station.ui.painting.widgets import plain_label, scrolling
from station.ui.tags import shelf_order
from station.words import figures
from station.words import views as words
from station.words.figures import no_break

SHORT_PX = 760
"""below this width, at 100 %, long words of a row are told again in full under its table"""
MOST_ROWS = 12
"""rows of a table before it scrolls in itself"""


class Section(QWidget):
    """A heading with its table as tall as its rows; without rows a line that says so."""

    def __init__(self, title: str, table: LineTable, look: Look, most: int = MOST_ROWS) -> None:
        super().__init__()
        self.table, self._most = table, most
        self._title = KeyHints(title, look, "section", where="lots")
        table.setAccessibleName(title)
        self._empty = plain_label("", "dim", wrap=True)
        self._more = plain_label("", "small", wrap=True)
        self._more.hide()
        self.box = QVBoxLayout(self)
        self.box.setContentsMargins(0, 0, 0, 0)
        self.box.setSpacing(3)
        for part in (self._title, self._empty, table, self._more):
            self.box.addWidget(part)
        table.fitted.connect(self._fit)
        self.set_look(look)

    def set_words(self, empty: str, title: str = "") -> None:
        """What stands in the place of rows; another heading if one is given."""
        if title:
            self._title.setText(title)
        self.table.setAccessibleName(self._title.text())
        self._empty.setText(empty)

    def say_more(self, text: str) -> None:
        """A line under the table about the row under the cursor."""
        self._more.setText(no_break(text))
        self._more.setVisible(bool(text))

    def set_look(self, look: Look) -> None:
        self.table.set_look(look)
        self._title.set_look(look)
        self._title.setContentsMargins(0, look.px(8), 0, 0)
        self._fit()

    def set_lines(self, lines: Sequence[Line]) -> None:
        self.table.set_lines(lines)
        self.table.setVisible(bool(lines))
        self._empty.setVisible(not lines)
        self._fit()

    def _fit(self) -> None:
        bar = self.table.horizontalScrollBar()
        below = bar.sizeHint().height() if bar.maximum() else 0
        rows = self.table.rows_height(self._most)
        self.table.setFixedHeight(self.table.horizontalHeader().sizeHint().height() + rows + below + 6)


class LotPage(QFrame):
    """`show_lot` whenever something changed.

    Signals: `open_unit(Unit)`: the person wants this unit on the bench view.
    """

    open_unit = Signal(object)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.setObjectName("pane")
        self._look = look
        self.gain_currency = ""
        """in which money gains are told"""
        self.work = LineTable(words.WORK_HEADS, look, right=(2, 3), wide=1)
        self.donors = LineTable(words.DONORS_HEADS, look, right=(2,), wide=1)
        self.parts = LineTable(words.PARTS_HEADS, look, wide=1)
        self.units = LineTable(words.UNITS_HEADS, look, wide=2)
        self._sections = {
            "work": Section(words.WORK_TITLE, self.work, look),
            "donors": Section(words.DONORS_TITLE, self.donors, look),
            "parts": Section(words.PARTS_TITLE, self.parts, look),
            "units": Section(words.UNITS_TITLE, self.units, look, 14),
        }
        self._name, self._verdict = plain_label("", "title", wrap=True), plain_label("", "do", wrap=True)
        self._figures = QGridLayout()
        self._values: list[tuple[QLabel, QLabel]] = []
        self._notes = plain_label("", "dim", wrap=True)
        self._missing = plain_label("", "cautionrest", wrap=True)
        self._area, self._inner = scrolling(), QWidget()
        self._build()
        self.work.moved.connect(lambda _: self._say_more())
        self.donors.moved.connect(lambda _: self._say_more())
        self.work.opened.connect(lambda row: self.open_unit.emit(row.unit))
        self.donors.opened.connect(lambda row: self.open_unit.emit(row.unit))
        self.parts.opened.connect(lambda row: self.open_unit.emit(row.unit))
        self.units.opened.connect(self.open_unit)
        for table in self.tables():
            table.moved.connect(self._keep_in_sight)
            table.installEventFilter(self)

    def _build(self) -> None:
        box = QVBoxLayout(self._inner)
        box.setContentsMargins(0, 0, 10, 0)
        box.setSpacing(5)
        box.addLayout(self._figures)
        for part in (self._missing, self._notes):
            box.addWidget(part)
        for section in self._sections.values():
            box.addWidget(section)
        box.addStretch(1)
        self._area.setWidget(self._inner)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(14, 8, 6, 8)
        outer.setSpacing(5)
        for part in (self._name, self._verdict):  # in sight wherever the tables are
            outer.addWidget(part)
        outer.addWidget(self._area, 1)

    def tables(self) -> tuple[LineTable, ...]:
        """In the order of the page."""
        return self.work, self.donors, self.parts, self.units

    def set_look(self, look: Look) -> None:
        self._look = look
        for section in self._sections.values():
            section.set_look(look)

    def attend(self) -> None:
        """The keys go to the first table that has rows."""
        next((t for t in self.tables() if t.texts()), self.units).setFocus()

    def unit(self) -> Unit | None:
        """The unit of the row that has the keys."""
        table = next((t for t in self.tables() if t is self.window().focusWidget()), None)
        what = table.current() if table is not None else None
        return what if isinstance(what, Unit) else getattr(what, "unit", None)

    def donor(self) -> DonorProposal | None:
        """The proposal to give up the unit of the row that has the keys."""
        unit = self.unit()
        rows = [line.what for line in self.donors.lines() if isinstance(line.what, DonorProposal)]
        return next((d for d in rows if unit is not None and d.unit.id == unit.id), None)

    def waited(self) -> PartWaited | None:
        """The part of the row that has the keys."""
        what = self.parts.current() if self.parts is self.window().focusWidget() else None
        return what if isinstance(what, PartWaited) else None

    # --- filling ---------------------------------------------------------------------------------------

    def show_lot(
        self, lot: Lot | None, view: LotView | None, fresh: bool, units: Sequence[Unit], found: str, loose: str = ""
    ) -> None:
        """`view` may be old or missing while it is being worked out; `found`: what was searched for, "" for the lot.
        `loose`: what is said of units that belong to no lot."""
        head = _head(lot) if lot is not None else ""
        self._name.setText(head)
        self._name.setVisible(bool(head))
        waits = words.WORKING if lot is not None and view is None else ""
        self._verdict.setText(no_break(view.verdict()) if view is not None else waits or loose or words.NO_LOT)
        self._show_figures(view)
        self._missing.setText("\n".join(view.missing) if view is not None else "")
        self._missing.setVisible(bool(self._missing.text()))
        self._notes.setText(notes(view, fresh) if view is not None else "")
        self._notes.setVisible(bool(self._notes.text()))
        self._show_tables(view, waits)
        if found:
            self._sections["units"].set_words(words.NO_UNIT_FOUND, words.UNITS_FOUND.format(text=found))
        else:
            self._sections["units"].set_words(words.NO_UNITS, words.UNITS_TITLE)
        grades = view.grades if view is not None else {}
        claims = view.claims if view is not None else {}
        lines = [unit_line(u, grades.get(u.id, ""), claims.get(u.id, "")) for u in sorted(units, key=shelf_order)]
        self._sections["units"].set_lines(lines)
        self._say_more()

    def _show_tables(self, view: LotView | None, waits: str) -> None:
        currency = self.gain_currency = view.guide_currency if view is not None else ""
        empty = {
            "work": words.NO_WORK,
            "donors": words.NO_DONORS,
            "parts": words.NO_PARTS,
        }
        for name in empty:
            self._sections[name].setVisible(bool(waits) or (view is not None and bool(view.units)))
        rows = {
            "work": [work_line(r, currency) for r in view.work] if view is not None else [],
            "donors": [donor_line(d, currency) for d in view.donors] if view is not None else [],
            "parts": [part_line(p) for p in view.parts] if view is not None else [],
        }
        for name, lines in rows.items():
            self._sections[name].set_words(waits or empty[name])
            self._sections[name].set_lines(lines)

    def _show_figures(self, view: LotView | None) -> None:
        figures = lot_figures(view) if view is not None and view.units else ()
        for k, (name, value) in enumerate(figures):
            if k == len(self._values):
                pair = plain_label("", "small"), plain_label("", "bold")
                self._values.append(pair)
                for below, label in enumerate(pair):
                    self._figures.addWidget(label, 2 * (k // 4) + below, k % 4)
                self._figures.setColumnStretch(k % 4, 1)
            for label, text in zip(self._values[k], (name, value), strict=True):
                label.setText(text)
        for pair in self._values:
            for label in pair:
                label.setVisible(bool(figures))

    def _say_more(self) -> None:
        """Why the step under the cursor; where the room is short, also what its row has no room for."""
        work, donor = self.work.current(), self.donors.current()
        short = self.width() < self._look.px(SHORT_PX)
        why = ""
        if isinstance(work, WorkRow):
            step = work.step
            why = words.COLON.join(t for t in (work.unit.tag, step.title if short else "", step.reason) if t)
        self._sections["work"].say_more(why)
        gives = ""
        if isinstance(donor, DonorProposal) and (short or len(donor.serves) > 1):
            gives = words.DONOR_GIVES.format(tag=donor.unit.tag, gives=donor.reason())
        self._sections["donors"].say_more(gives)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._say_more()
        # where the rows stand is known only after the layouts had their turn
        QTimer.singleShot(0, self, self._show_focus)

    def _show_focus(self) -> None:
        table = next((t for t in self.tables() if t.hasFocus()), None)
        if table is not None:
            self._show_row(table)

    # --- keeping the row with the keys in sight ----------------------------------------------------------

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(watched, LineTable):
            if event.type() == QEvent.Type.FocusIn:
                self._show_row(watched)
            elif event.type() == QEvent.Type.KeyPress and self._scrolled_on(watched, cast(QKeyEvent, event).key()):
                return True
        return super().eventFilter(watched, event)

    def _scrolled_on(self, table: LineTable, key: int) -> bool:
        """Up on the first row and Down on the last one move the page, to what stands above or below the table."""
        row, bar = table.currentIndex().row(), self._area.verticalScrollBar()
        last = len(table.texts()) - 1
        step = -1 if key == Qt.Key.Key_Up and row <= 0 else 1 if key == Qt.Key.Key_Down and row >= last else 0
        bar.setValue(bar.value() + step * bar.pageStep() // 2)
        return step != 0

    def _keep_in_sight(self, _: object) -> None:
        table = self.sender()
        if isinstance(table, LineTable) and table.hasFocus():
            self._show_row(table)

    def _show_row(self, table: LineTable) -> None:
        box = table.visualRect(table.currentIndex())
        top = table.viewport().mapTo(self._inner, box.topLeft())
        self._area.ensureVisible(0, top.y() + box.height() // 2, 0, 2 * box.height())


def _head(lot: Lot) -> str:
    bought = figures.day(lot.bought_on)
    if not lot.seller:
        return words.LOT.format(lot=lot.name, day=bought)
    return words.LOT_OF_SELLER.format(lot=lot.name, day=bought, seller=lot.seller)
