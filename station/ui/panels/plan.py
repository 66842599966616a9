"""What to do with each unit of a lot in the hours at hand: it gets better while one looks, and can be stopped."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtWidgets import QLabel, QLineEdit, QWidget

from station.errors import InputError
from station.records.types import Lot, Unit
from station.ui.painting.look import Look
from station.ui.painting.tables import Line, LineTable
from station.ui.painting.widgets import has_keys, plain_label, set_role
from station.ui.panels.panel import Panel
from station.ui.ports import PlanMade, SettingsPort, StockPort
from station.words import plan as words

if TYPE_CHECKING:
    from station.lots.agenda import PlanTold

MOST_ROWS = 8
"""rows of the table of what to do before it scrolls in itself"""
HOURS_KEY = "plan_hours"
"""setting: the hours that were typed last"""
A_DAY = "8"


class PlanPanel(Panel):
    """Begins with the hours of last time; Enter works it out anew, or stops what is being worked out. On a row of what
    to do it leads to the unit.

    Signals: `open_unit(Unit)`: the person wants this unit on the bench view.
    """

    open_unit = Signal(object)
    width_px = 1000
    keys = words.KEYS_WORKING

    def __init__(self, stock: StockPort, settings: SettingsPort, lot: Lot, look: Look, parent: QWidget) -> None:
        super().__init__(words.TITLE.format(lot=lot.name, currency=lot.currency), look, parent)
        self._stock, self._settings, self._lot = stock, settings, lot
        self._asked = 0
        """the number of the answer that is waited for; 0: none"""
        self._told: PlanTold | None = None
        self.hours = QLineEdit(settings.get(HOURS_KEY) or A_DAY)
        self.verdict, self.quality = plain_label(words.WORKING, "do", wrap=True), plain_label("", "dim", wrap=True)
        self.tasks = LineTable(words.TODO_HEADS, look, right=(3, 4, 5), wide=1)
        self._more, self._notes = plain_label("", "small", wrap=True), plain_label("", "dim", wrap=True)
        self.moves = LineTable(words.MOVES_HEADS, look, right=(1,), wide=2)
        self.add(self.hours, words.HOURS, focus=True)
        self.add(self.verdict)
        self.add(self.quality)
        self._headed: list[tuple[QLabel, LineTable, int]] = []
        self._add_table(self.tasks, words.TODO_TITLE, MOST_ROWS)
        self.add(self._more)
        self.add(self._notes)
        self._add_table(self.moves, words.MOVES_TITLE, 2 * MOST_ROWS)
        self.tasks.moved.connect(lambda _: self._say_more())
        self.tasks.installEventFilter(self)
        for table in (self.tasks, self.moves):
            table.opened.connect(lambda _: self.accept())
        self._show()
        self.finish(self.hours)
        self.hours.selectAll()  # other hours are typed over those of last time
        self.accept()

    def _add_table(self, table: LineTable, title: str, most: int) -> None:
        heading = plain_label(title, "section")
        table.setAccessibleName(title)
        self.add(heading)
        self.add(table, focus=True)
        self._headed.append((heading, table, most))

    # --- asking and answers ------------------------------------------------------------------------------

    def accept(self) -> None:
        """Stop, or go to the unit under the cursor, or work it out."""
        if self._asked:
            self._end()
            return
        unit = self.unit()
        if unit is not None and has_keys(self.tasks):
            self.close_panel()
            self.open_unit.emit(unit)
            return
        try:
            self._ask()
        except InputError as error:
            self.say(str(error))

    def _ask(self) -> None:
        from station.lots.ways import read_hours  # loaded when the first plan is asked for

        hours = self.read(self.hours, read_hours)
        self._settings.put(HOURS_KEY, self.hours.text().strip())
        self._problem.hide()
        self._asked = self._stock.plan(self._lot, hours)
        self._told = None
        self._show()

    def _end(self) -> None:
        """The best so far stays; what comes later is not waited for."""
        from station.lots.agenda import stopped

        self._stock.stop_plan()
        self._asked = 0
        if self._told is not None:
            self._told = stopped(self._told)
        self._show()

    def told(self, event: PlanMade) -> None:
        """An answer; one that nobody waits for any more is dropped."""
        if event.answers != self._asked:
            return
        if event.over:
            self._asked = 0
        self._told = event.told
        self._show()
        if event.problem:
            self.verdict.hide()
            self.say(event.problem)

    def close_panel(self) -> None:
        self._stock.stop_plan()
        super().close_panel()

    # --- what is shown -----------------------------------------------------------------------------------

    def unit(self) -> Unit | None:
        """The unit of the row under the cursor."""
        what = self.tasks.current()
        return getattr(what, "unit", None)

    def _show(self) -> None:
        told = self._told
        self._show_keys()
        waits = words.WORKING if self._asked else words.NONE_YET
        self.verdict.setText(told.verdict if told else waits)
        self.quality.setText(" ".join(t for t in (told.quality, told.hour) if t) if told else "")
        self._notes.setText("\n".join(told.notes) if told else "")
        set_role(self.quality, "dim" if not told or told.plan.is_best else "cautionrest")
        for label in (self.verdict, self.quality, self._notes):
            label.setVisible(bool(label.text()))
        self._fill(told)
        for heading, table, most in self._headed:
            shown = bool(table.lines())
            heading.setVisible(shown)
            table.setVisible(shown)
            table.setFixedHeight(table.horizontalHeader().sizeHint().height() + table.rows_height(most) + 8)
        self._say_more()
        if self.isVisible():
            self.place()

    def _show_keys(self) -> None:
        """What Enter does now."""
        idle = words.KEYS_ON_UNIT if has_keys(self.tasks) else words.KEYS
        self._keys.setText(words.KEYS_WORKING if self._asked else idle)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.FocusIn, QEvent.Type.FocusOut):
            self._show_keys()
        return super().eventFilter(watched, event)

    def _fill(self, told: PlanTold | None) -> None:
        if told is None:
            self.tasks.set_lines([])
            self.moves.set_lines([])
            return
        from station.lots.agenda import cells_of, move_cells

        currency = told.lot.lot.currency
        self.tasks.set_lines([Line(cells_of(task, currency), task) for task in told.tasks])
        self.moves.set_lines([Line(move_cells(move, currency), move) for move in told.moves])

    def _say_more(self) -> None:
        """All that there is to say of the row under the cursor."""
        text = getattr(self.tasks.current(), "told", "")
        if text != self._more.text():
            self._more.setText(text)
            self._more.setVisible(bool(text))
            if self.isVisible():
                self.place()
