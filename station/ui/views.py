"""The other views of the window: Lots, Shelf, Due. Each is a table or two, filled anew when it is shown."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from station.checks.types import Outcome
from station.records.types import Lot, Unit
from station.ui.look import Look
from station.ui.ports import Desk, DueRow
from station.ui.tables import Line, LineTable
from station.ui.tags import shelf_order
from station.ui.widgets import plain_label
from station.ui.words import count_of, money

BECOMES_SHAPE = {
    "open": Outcome.NOT_DONE,
    "ready": Outcome.PASS,
    "sold": Outcome.PASS,
    "sell as is": Outcome.BORDERLINE,
    "donor": Outcome.INTERRUPTED,
    "scrap": Outcome.FAIL,
}


class View(QWidget):
    """Base: title, a line of keys, the tables.

    Signals: `open_unit(Unit)`: the person wants this unit on the bench view.
    """

    open_unit = Signal(object)

    def __init__(self, title: str, keys: str, desk: Desk, look: Look) -> None:
        super().__init__()
        self.desk, self.look = desk, look
        self.box = QVBoxLayout(self)
        self.box.setContentsMargins(0, 0, 0, 0)
        head = QHBoxLayout()
        head.addWidget(plain_label(title, "title"))
        head.addStretch(1)
        head.addWidget(plain_label(keys, "small"))
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
        """Read the desk anew."""

    def take_focus(self) -> None:
        self.tables[0].setFocus()


class LotsView(View):
    """Lots above, the units of the chosen lot (or of the search) below."""

    def __init__(self, desk: Desk, look: Look) -> None:
        super().__init__(
            "Lots", "L: new lot · I: new unit · /: search units · Tab: other table · Enter: open", desk, look
        )
        heads = ("Lot", "Bought", "Seller", "Cost", "Units", "State")
        self.lots = self.add_table(LineTable(heads, look, right=(3, 4), wide=5), 1)
        self.search = QLineEdit()
        self.search.setPlaceholderText("Search units by tag, model or serial number")
        self.box.addWidget(self.search)
        heads = ("Tag", "Model", "Claim", "The claim is", "Rest until", "Becomes")
        self.units = self.add_table(LineTable(heads, look, wide=2), 2)
        self.lots.moved.connect(self._lot_changed)
        self.lots.opened.connect(lambda _: self.units.setFocus())
        self.units.opened.connect(self.open_unit)
        self.search.textChanged.connect(lambda _: self._fill_units())
        self.search.returnPressed.connect(self.units.setFocus)

    def lot(self) -> Lot | None:
        """The lot under the cursor."""
        what = self.lots.current()
        return what if isinstance(what, Lot) else None

    def fill(self) -> None:
        units = self.desk.units()
        lines = []
        for lot in self.desk.lots():
            mine = [u for u in units if u.lot_id == lot.id]
            cost = money(lot.cost_minor, lot.currency)
            lines.append(Line((lot.name, lot.bought_on, lot.seller, cost, str(len(mine)), _states(mine)), lot))
        self.lots.set_lines(lines)
        self._fill_units()

    def _lot_changed(self, _: object) -> None:
        self._fill_units()

    def _fill_units(self) -> None:
        text, lot = self.search.text().strip(), self.lot()
        units: Sequence[Unit] = self.desk.units(text)
        if not text and lot is not None:
            units = [u for u in units if u.lot_id == lot.id]
        lines = [
            Line((u.tag, u.model, u.claim, u.claim_state, u.rest_until, u.becomes), u, BECOMES_SHAPE.get(u.becomes))
            for u in sorted(units, key=shelf_order)
        ]
        self.units.set_lines(lines)


class ShelfView(View):
    """The stock of good parts."""

    def __init__(self, desk: Desk, look: Look) -> None:
        super().__init__("Shelf", "I: put a part on the shelf", desk, look)
        heads = ("Part", "Fits", "How many", "Cost of each", "Note")
        self.parts = self.add_table(LineTable(heads, look, right=(2, 3), wide=4))

    def fill(self) -> None:
        self.parts.set_lines(
            [
                Line((p.name, p.model, str(p.count), money(p.cost_minor, p.currency), p.note), p)
                for p in self.desk.shelf()
            ]
        )


class DueView(View):
    """What rests, and what is ready for its second test."""

    def __init__(self, desk: Desk, look: Look) -> None:
        super().__init__("Due for a second test", "Enter: open the unit", desk, look)
        self.due = self.add_table(LineTable(("Tag", "Model", "Rests since", "Until", "Second test"), look, wide=4))
        self.due.opened.connect(self.open_unit)

    def fill(self) -> None:
        rows = sorted(self.desk.due(), key=lambda r: (not r.ready, r.unit.rest_until, r.unit.tag))
        self.due.set_lines(
            [
                Line(
                    (
                        r.unit.tag,
                        r.unit.model,
                        r.since[:10],
                        r.unit.rest_until,
                        "ready now" if r.ready else "still resting",
                    ),
                    r.unit,
                    Outcome.PASS if r.ready else Outcome.NOT_DONE,
                )
                for r in rows
            ]
        )


def _due_line(row: DueRow) -> Line:
    said = "ready now" if row.ready else "still resting"
    cells = (row.unit.tag, row.unit.model, row.since[:10], row.unit.rest_until, said)
    return Line(cells, row.unit, Outcome.PASS if row.ready else Outcome.NOT_DONE)


def _states(units: Sequence[Unit]) -> str:
    counts = Counter(u.becomes for u in units)
    return ", ".join(f"{n} {state}" for state, n in counts.most_common()) or count_of(0, "unit")
