"""The visits side by side: a row for each check, a column for each visit. Rows that stayed as they were stay."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QWidget

from station.checks.types import Outcome
from station.judgement.tries import Key
from station.ui.painting.look import Look
from station.ui.painting.opens import Opens
from station.ui.painting.shapes import ShapeMark
from station.ui.painting.widgets import WrappedText, plain_label, set_tip
from station.ui.record.rows import Cell, VisitRow, VisitTable
from station.ui.record.sections import drop
from station.words import record as words

_ROLES = {Outcome.FAIL: "bad", Outcome.BORDERLINE: "borderline"}


class VisitGrid(QWidget):
    """`show_table` when the record changed. After most results one row differs, so only that one is made anew.

    Signals: `look_wanted(tuple, str)`: a row was opened: its check and control; or a figure of it: and its result.
    """

    look_wanted = Signal(tuple, str)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look = look
        self._heads: tuple[str, ...] = ()
        self._rows: list[VisitRow] = []
        self._parts: list[list[QWidget]] = []
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(look.px(10))
        self._grid.setVerticalSpacing(look.px(4))
        self._grid.setColumnStretch(0, 1)
        self._grid.addWidget(plain_label(words.VISITS, "section"), 0, 0, Qt.AlignmentFlag.AlignBottom)
        self._over: list[QLabel] = []

    def show_table(self, table: VisitTable, count: int) -> None:
        """The first `count` rows of the table."""
        if table.heads != self._heads:
            self._set_heads(table.heads)
        for label, tip in zip(self._over, table.tips, strict=True):
            set_tip(label, tip)
        for y, row in enumerate(table.rows[:count]):
            if y < len(self._rows) and self._rows[y] == row:
                continue
            if y < len(self._rows):
                drop(self._grid, *self._parts[y])
                self._rows[y], self._parts[y] = row, self._add_row(row, y + 1)
            else:
                self._rows.append(row)
                self._parts.append(self._add_row(row, y + 1))
        while len(self._rows) > min(count, len(table.rows)):
            self._rows.pop()
            drop(self._grid, *self._parts.pop())

    def _set_heads(self, heads: tuple[str, ...]) -> None:
        """Other visits are other columns: every row is made anew."""
        drop(self._grid, *self._over)
        while self._parts:
            drop(self._grid, *self._parts.pop())
        self._rows.clear()
        self._heads, self._over = heads, [plain_label(head.replace(" ", "\n"), "small") for head in heads]
        for k, label in enumerate(self._over):  # a word a line: the columns stay as narrow as their figures
            label.setAlignment(Qt.AlignmentFlag.AlignRight)
            self._grid.addWidget(label, 0, k + 1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)

    def _add_row(self, row: VisitRow, y: int) -> list[QWidget]:
        name = WrappedText(self._look)
        name.set_text(row.label)
        set_tip(name, row.tip)
        if any(row.key):
            Opens(name, partial(self.look_wanted.emit, row.key, ""))
        head: QWidget = name
        if row.change:
            head = QWidget()
            line = QHBoxLayout(head)
            line.setContentsMargins(0, 0, 0, 0)
            line.setSpacing(self._look.px(5))
            line.addWidget(ShapeMark(row.change, self._look, 11), 0, Qt.AlignmentFlag.AlignTop)
            line.addWidget(name, 1)
        self._grid.addWidget(head, y, 0)
        cells = [self._cell(cell, row.key, k == len(row.cells) - 1) for k, cell in enumerate(row.cells)]
        for k, cell in enumerate(cells):
            self._grid.addWidget(cell, y, k + 1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop)
        return [head, *cells]

    def _cell(self, cell: Cell, key: Key, last: bool) -> QWidget:
        """One figure; the last visit's is set bold and carries its shape when it is not a pass."""
        role = _ROLES.get(cell.outcome, "bold") if last and cell.outcome else "dim"
        label = plain_label(cell.text, role)
        set_tip(label, cell.tip)
        if cell.result_id:
            Opens(label, partial(self.look_wanted.emit, key, cell.result_id))
        if not last or cell.outcome not in _ROLES or cell.outcome is None:
            return label
        both = QWidget()
        line = QHBoxLayout(both)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(self._look.px(5))
        line.addWidget(ShapeMark(cell.outcome, self._look, 11))
        line.addWidget(label)
        return both
