"""The shop in figures as a view: six tables, each with its picture, and the units behind a row."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QPushButton, QStackedWidget, QVBoxLayout, QWidget

from station.errors import StationError
from station.ui.painting.beside import fold
from station.ui.painting.flow import FlowLayout
from station.ui.painting.look import Look
from station.ui.painting.tables import Line, LineTable
from station.ui.painting.told import announce
from station.ui.painting.widgets import key_button, plain_label
from station.ui.ports import DeskEvent, FiguresPort, FiguresReading, FiguresReady, UnitPort
from station.ui.views import View
from station.words import figures as numbers
from station.words import grammar
from station.words import shop as words

if TYPE_CHECKING:
    from station.lots.shop.figures import Name, Stands
    from station.lots.shop.said import ShownTable
    from station.ui.figures.bars import FigureBars

TABLES: tuple[Name, ...] = ("came", "claims", "faults", "cures", "money", "standing")
RIGHT: dict[Name, tuple[int, ...]] = {
    "came": (1,), "claims": (2,), "faults": (2,), "cures": (2,), "money": (1, 2, 3, 4, 5), "standing": (1, 2, 3, 4),
}  # fmt: skip
WIDE: dict[Name, int] = {"came": 0, "claims": 0, "faults": 1, "cures": 1, "money": 0, "standing": 0}
MOST_ROWS = 150
"""so many rows of a table are shown; the file has all"""
MOST_UNITS = 500


@dataclass(frozen=True, slots=True)
class Behind:
    """A unit in the list behind a figure."""

    unit_id: str


class FiguresView(View):
    """`show_named` one of the tables; Enter opens the units behind a row, `back` leads to the table again."""

    def __init__(self, port: FiguresPort, units: UnitPort, unit_id: Callable[[], str], look: Look) -> None:
        """`unit_id`: of the unit that is shown at the bench, "" for none."""
        super().__init__(words.VIEW, words.VIEW_KEYS, look, "figures")
        self._port, self._units, self._unit_id = port, units, unit_id
        self.ready: FiguresReady | None = None
        self.reading: FiguresReading | None = None
        self.table: ShownTable | None = None
        self.name: Name = "came"
        self.behind = False
        self._tabs: dict[Name, QPushButton] = {}
        tabs = QWidget()
        flow = FlowLayout(tabs, spread=False)
        flow.setContentsMargins(0, 0, 0, 0)
        for number, name in enumerate(TABLES, start=1):
            button = key_button(words.TAB.format(number=number, name=words.SHORT[name]))
            button.setProperty("view", True)
            button.setCheckable(True)
            button.clicked.connect(lambda _=False, name=name: self.show_named(name))
            self._tabs[name] = button
            flow.addWidget(button)
        self.box.addWidget(tabs)
        self.title, self.note = plain_label("", "title", wrap=True), plain_label("", "small", wrap=True)
        self.empty = plain_label(words.WORKING, "do", wrap=True)
        self.more = plain_label("", "small", wrap=True)
        self.progress = plain_label("", "small", wrap=True)
        self.progress.hide()
        for label in (self.title, self.note, self.progress, self.empty):
            self.box.addWidget(label)
        self.stack = QStackedWidget()
        self.lists = {name: LineTable(words.HEADS[name], look, RIGHT[name], WIDE[name]) for name in TABLES}
        self.units = LineTable(words.HEADS["units"], look, right=(4, 5, 6), wide=1)
        for table in (*self.lists.values(), self.units):
            self.tables.append(table)
            self.stack.addWidget(table)
            table.moved.connect(self._moved)
            table.opened.connect(self._opened)
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.stack, 1)
        column.addWidget(self.more)
        self._sides = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._sides.addWidget(left, 3)
        self._picture = QWidget()
        self._picture_box = QHBoxLayout(self._picture)
        self._picture_box.setContentsMargins(0, 0, 0, 0)
        self._sides.addWidget(self._picture, 2)
        self.bars: FigureBars | None = None
        self.box.addLayout(self._sides, 1)
        self._show_parts()

    # --- what is shown -----------------------------------------------------------------------------------

    @property
    def stopped(self) -> bool:
        """Whether reading was stopped before every unit was read."""
        return self.reading is not None and self.reading.stopped

    def fill(self) -> None:
        if self.stopped:
            self._show_reading(None)
        self._port.ask(self._unit_id())

    def told(self, event: DeskEvent) -> None:
        super().told(event)
        if isinstance(event, FiguresReading):
            self._show_reading(event)
        if isinstance(event, FiguresReady):
            first = self.ready is None
            self._show_reading(None)
            self.ready = event
            if self.isVisible() and not self.behind:
                self._show_table()
            if first:
                announce(self, self.title.text())

    def _show_reading(self, reading: FiguresReading | None) -> None:
        """How far the units are read, over the tables of before where there are any."""
        self.reading = reading
        self._show_keys()
        if reading is None:
            self.progress.hide()
            if self.ready is None:
                self.empty.setText(words.WORKING)
            return
        said = words.READ_STOPPED if reading.stopped else words.READ_SO_FAR
        text = said.format(done=numbers.number(reading.done, 0), of=numbers.number(reading.of, 0))
        if self.ready is None:
            self.empty.setText(text)
        else:
            self.progress.setText(text)
            self.progress.show()
        if reading.stopped:
            announce(self, text)

    def _show_keys(self) -> None:
        """What the keys do now; while units are read X is among them."""
        shown = words.VIEW_KEYS if self.reading is None else words.READING_KEYS
        if self.stopped:
            shown = words.STOPPED_KEYS
        self.keys.setText(words.BEHIND_KEYS if self.behind else shown)

    def show_named(self, name: Name) -> None:
        self.name = name
        self.behind = False
        self._show_table()
        self.take_focus()

    def _show_table(self) -> None:
        for name, button in self._tabs.items():
            button.setChecked(name == self.name)
        if self.ready is None:
            self._show_parts()
            return
        self.table = self._said()
        shown = self.table.rows[:MOST_ROWS]
        listed = self.lists[self.name]
        listed.setAccessibleName(self.table.title)
        listed.set_lines([Line(row.cells, k) for k, row in enumerate(shown)])
        self.title.setText(self.table.title)
        self.note.setText(self.table.note if shown else "")
        self.empty.setText(self.table.note if self.name == "standing" else words.EMPTY)
        more = words.MORE.format(shown=numbers.number(len(shown), 0), all=numbers.number(len(self.table.rows), 0))
        self.more.setText(more if len(shown) < len(self.table.rows) else "")
        self.stack.setCurrentWidget(listed)
        self._bars().show_table(self.table)
        self._bars().set_cursor(max(listed.currentIndex().row(), 0))
        self._show_keys()
        self._show_parts()

    def _said(self) -> ShownTable:
        from station.lots.shop.said import shown_table, standing_table

        assert self.ready is not None
        shop = self.ready.figures
        if self.name == "standing":
            return standing_table(shop, self.ready.unit_id, self.ready.standing)
        return shown_table(self.name, shop)

    def stands(self) -> tuple[Stands, ...]:
        return self.ready.standing if self.ready is not None else ()

    def _bars(self) -> FigureBars:
        if self.bars is None:
            from station.ui.figures.bars import FigureBars

            self.bars = FigureBars(self.look)
            self.bars.chosen.connect(lambda row: self.lists[self.name].choose(row))
            self.bars.wheeled.connect(self._wheeled)
            self._picture_box.addWidget(self.bars)
        return self.bars

    def _show_parts(self) -> None:
        """Table and picture where there are rows, else why there are none."""
        rows = self.ready is not None and (self.behind or bool(self.table and self.table.rows))
        self.stack.setVisible(rows)
        self.more.setVisible(rows and bool(self.more.text()))
        self._picture.setVisible(rows and not self.behind)
        self.empty.setVisible(not rows)
        self.note.setVisible(bool(self.note.text()))
        self.title.setVisible(bool(self.title.text()))
        self._fold()

    # --- the units behind a row --------------------------------------------------------------------------

    def _opened(self, what: object) -> None:
        if isinstance(what, Behind):
            try:
                unit = self._units.history(what.unit_id).unit
            except StationError as error:
                self.more.setText(str(error))
                self.more.show()
                return
            self.open_unit.emit(unit)
        elif isinstance(what, int) and self.table is not None:
            self._show_units(what)

    def _show_units(self, row: int) -> None:
        from station.lots.shop.said import unit_cells

        assert self.table is not None
        assert self.ready is not None
        shop, shown = self.ready.figures, self.table.rows[row]
        rows = shown.units.tolist()
        lines = [Line(unit_cells(shop, k), Behind(shop.units.ids[k])) for k in rows[:MOST_UNITS]]
        self.behind = True
        self.units.set_lines(lines)
        self.units.choose(0)
        count = grammar.count_of(len(rows), words.UNITS)
        self.title.setText(words.BEHIND.format(row=shown.whole or shown.label, units=count))
        self.units.setAccessibleName(self.title.text())
        self.note.setText("" if rows else words.NOTHING_BEHIND)
        cut = words.MORE_UNITS.format(shown=numbers.number(len(lines), 0)) if len(lines) < len(rows) else ""
        self.more.setText(cut)
        self.stack.setCurrentWidget(self.units)
        self._show_keys()
        self._show_parts()
        self.take_focus()

    def back(self) -> bool:
        """From the units back to their table; False where it stands there already."""
        if not self.behind:
            return False
        self.behind = False
        self._show_table()
        self.take_focus()
        return True

    # --- moving about ------------------------------------------------------------------------------------

    def _moved(self, what: object) -> None:
        if isinstance(what, int) and self.bars is not None and not self.behind:
            self.bars.set_cursor(what)

    def _wheeled(self, rows: int) -> None:
        listed = self.lists[self.name]
        at = listed.currentIndex().row() + rows
        if 0 <= at < len(listed.lines()):
            listed.choose(at)

    def take_focus(self) -> None:
        front = self.units if self.behind else self.lists[self.name]
        if front.isVisible():
            front.setFocus()
        else:
            self.setFocus()

    def set_look(self, look: Look) -> None:
        super().set_look(look)
        if self.bars is not None:
            self.bars.set_look(look)
        self._fold()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        fold(self._sides, self, self.look)
