"""The other views of the window: what they share, Shelf and Due (the Lots view has a room of its own)."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from station.checks.types import Outcome
from station.records.types import ShelfPart
from station.ui.painting.hints import KeyHints
from station.ui.painting.look import Look
from station.ui.painting.tables import Line, LineTable
from station.ui.painting.widgets import plain_label
from station.ui.ports import DeskEvent, DueRow, RecordChanged, StockPort, UnitPort
from station.words import figures
from station.words import views as words


class View(QWidget):
    """Base: title, a line of keys, the tables. Filled anew when it is shown, and when the records change while it is.

    Signals: `open_unit(Unit)`: the person wants this unit on the bench view.
    """

    open_unit = Signal(object)

    def __init__(self, title: str, keys: str, look: Look, where: str) -> None:
        super().__init__()
        self.look, self._title = look, title
        self.box = QVBoxLayout(self)
        self.box.setContentsMargins(0, 0, 0, 0)
        head = QHBoxLayout()
        head.addWidget(plain_label(title, "title"))
        self.keys = KeyHints(keys, look, where=where)
        self.keys.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        head.addWidget(self.keys, 1)
        self.box.addLayout(head)
        self.tables: list[LineTable] = []

    def add_table(self, table: LineTable, empty: str) -> LineTable:
        """`empty`: what belongs there, said while nothing does."""
        self.tables.append(table)
        table.setAccessibleName(self._title)
        self.empty = plain_label(empty, "do", wrap=True)
        self.empty.setMaximumWidth(self.look.px(760))
        self.empty.hide()
        self.box.addWidget(self.empty)
        self.box.addWidget(table, 1)
        return table

    def show_lines(self, table: LineTable, lines: Sequence[Line]) -> None:
        """The rows of a table that `add_table` added."""
        table.set_lines(lines)
        self.empty.setVisible(not lines)

    def set_look(self, look: Look) -> None:
        self.look = look
        self.keys.set_look(look)
        for table in self.tables:
            table.set_look(look)
        if self.isVisible():
            self.fill()

    def fill(self) -> None:
        """Read anew what it shows."""

    def told(self, event: DeskEvent) -> None:
        """Something happened."""
        if isinstance(event, RecordChanged) and self.isVisible():
            self.fill()

    def take_focus(self) -> None:
        self.tables[0].setFocus()


class ShelfView(View):
    """The stock of good parts."""

    def __init__(self, stock: StockPort, look: Look) -> None:
        super().__init__(words.SHELF, words.SHELF_KEYS, look, "shelf")
        self._stock = stock
        self.parts = self.add_table(LineTable(words.SHELF_HEADS, look, right=(2, 3), wide=4), words.SHELF_EMPTY)

    def fill(self) -> None:
        self.show_lines(self.parts, [_part_line(part) for part in self._stock.shelf()])

    def part(self) -> ShelfPart | None:
        """The part under the cursor."""
        found = self.parts.current()
        return found if isinstance(found, ShelfPart) else None


class DueView(View):
    """What rests, and what is ready for its second test."""

    def __init__(self, units: UnitPort, look: Look) -> None:
        super().__init__(words.DUE, words.DUE_KEYS, look, "due")
        self._units = units
        self.due = self.add_table(LineTable(words.DUE_HEADS, look, wide=4), words.DUE_EMPTY)
        self.due.opened.connect(self.open_unit)

    def fill(self) -> None:
        rows = sorted(self._units.due(), key=lambda r: (not r.ready, r.unit.rest_until, r.unit.tag))
        self.show_lines(self.due, [_due_line(row) for row in rows])


def _part_line(part: ShelfPart) -> Line:
    cost = figures.money(part.cost_minor, part.currency)
    return Line((part.name, part.model, figures.number(part.count, 0), cost, part.note), part)


def _due_line(row: DueRow) -> Line:
    said = words.READY_NOW if row.ready else words.STILL_RESTING
    cells = (row.unit.tag, row.unit.model, figures.day(row.since), figures.day(row.unit.rest_until), said)
    return Line(cells, row.unit, Outcome.PASS if row.ready else Outcome.NOT_DONE)
