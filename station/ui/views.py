"""The other views of the window: what they share, Shelf and Due (the Lots view has a room of its own)."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from station.checks.types import Outcome
from station.ui.painting.look import Look
from station.ui.painting.tables import Line, LineTable
from station.ui.painting.widgets import plain_label
from station.ui.ports import DeskEvent, DueRow, RecordChanged, StockPort, UnitPort
from station.words.figures import money


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
        super().__init__("Shelf", "I: put a part on the shelf", look)
        self._stock = stock
        heads = ("Part", "Fits", "How many", "Cost of each", "Note")
        self.parts = self.add_table(LineTable(heads, look, right=(2, 3), wide=4))

    def fill(self) -> None:
        self.parts.set_lines(
            [
                Line((p.name, p.model, str(p.count), money(p.cost_minor, p.currency), p.note), p)
                for p in self._stock.shelf()
            ]
        )


class DueView(View):
    """What rests, and what is ready for its second test."""

    def __init__(self, units: UnitPort, look: Look) -> None:
        super().__init__("Due for a second test", "Enter: open the unit", look)
        self._units = units
        self.due = self.add_table(LineTable(("Tag", "Model", "Rests since", "Until", "Second test"), look, wide=4))
        self.due.opened.connect(self.open_unit)

    def fill(self) -> None:
        rows = sorted(self._units.due(), key=lambda r: (not r.ready, r.unit.rest_until, r.unit.tag))
        self.due.set_lines([_due_line(row) for row in rows])


def _due_line(row: DueRow) -> Line:
    said = "ready now" if row.ready else "still resting"
    cells = (row.unit.tag, row.unit.model, row.since[:10], row.unit.rest_until, said)
    return Line(cells, row.unit, Outcome.PASS if row.ready else Outcome.NOT_DONE)
