"""The other views of the window: what they share, Shelf and Due (the Lots view has a room of its own)."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from station.checks.types import Outcome
from station.records.types import ShelfPart
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

    def __init__(self, title: str, keys: str, look: Look) -> None:
        super().__init__()
        self.look = look
        self.box = QVBoxLayout(self)
        self.box.setContentsMargins(0, 0, 0, 0)
        head = QHBoxLayout()
        head.addWidget(plain_label(title, "title"))
        self.keys = plain_label(keys, "small", wrap=True)
        self.keys.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        head.addWidget(self.keys, 1)
        self.box.addLayout(head)
        self.tables: list[LineTable] = []

    def add_table(self, table: LineTable, stretch: int = 1) -> LineTable:
        self.tables.append(table)
        self.box.addWidget(table, stretch)
        return table

    def set_look(self, look: Look) -> None:
        self.look = look
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
        super().__init__(words.SHELF, words.SHELF_KEYS, look)
        self._stock = stock
        self.parts = self.add_table(LineTable(words.SHELF_HEADS, look, right=(2, 3), wide=4))

    def fill(self) -> None:
        self.parts.set_lines([_part_line(part) for part in self._stock.shelf()])

    def part(self) -> ShelfPart | None:
        """The part under the cursor."""
        found = self.parts.current()
        return found if isinstance(found, ShelfPart) else None


class DueView(View):
    """What rests, and what is ready for its second test."""

    def __init__(self, units: UnitPort, look: Look) -> None:
        super().__init__(words.DUE, words.DUE_KEYS, look)
        self._units = units
        self.due = self.add_table(LineTable(words.DUE_HEADS, look, wide=4))
        self.due.opened.connect(self.open_unit)

    def fill(self) -> None:
        rows = sorted(self._units.due(), key=lambda r: (not r.ready, r.unit.rest_until, r.unit.tag))
        self.due.set_lines([_due_line(row) for row in rows])


def _part_line(part: ShelfPart) -> Line:
    cost = figures.money(part.cost_minor, part.currency)
    return Line((part.name, part.model, figures.number(part.count, 0), cost, part.note), part)


def _due_line(row: DueRow) -> Line:
    said = words.READY_NOW if row.ready else words.STILL_RESTING
    cells = (row.unit.tag, row.unit.model, figures.day(row.since), figures.day(row.unit.rest_until), said)
    return Line(cells, row.unit, Outcome.PASS if row.ready else Outcome.NOT_DONE)
