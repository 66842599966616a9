"""The overlay that shows all keys."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from station.ui.keys import KEYS, KeyLine, cap_of
from station.ui.own_keys import OwnKeys
from station.ui.painting.look import Look
from station.ui.painting.widgets import plain_label
from station.ui.panels.panel import Panel
from station.words import own_keys
from station.words import panels as words

COLUMN_PX = 290
"""least width of a column, at 100 %"""
STACKS = (((0, 1, 2, 3),), ((0, 1), (2, 3)), ((0,), (1, 2), (3,)), ((0,), (1,), (2,), (3,)))
"""which parts stand above each other in one to four columns"""


class KeyWords(QLabel):
    """What a key does; a click does it.

    Signals: `clicked()`.
    """

    clicked = Signal()

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        self.setProperty("role", "does")
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self.rect().contains(event.position().toPoint()):
            self.clicked.emit()


class KeysPanel(Panel):
    """All keys in columns, each to be clicked; any key that opens it, Enter or Escape closes it."""

    width_px = 1180
    keys = words.KEYS_KEYS

    def __init__(
        self, take: Callable[[KeyLine], None], in_lesson: bool, look: Look, parent: QWidget, own: OwnKeys | None = None
    ) -> None:
        """`take`: do what a key does; `in_lesson`: its keys count now; `own`: what the shop added."""
        super().__init__(words.KEYS, look, parent)
        self._take, self._in_lesson = take, in_lesson
        self.lines: dict[tuple[str, str], KeyWords] = {}
        """(where it counts, key) → what it does, to be clicked"""
        self._own = own or OwnKeys()
        if self._own.problem:
            self.add(plain_label(self._own.problem, "bad", wrap=True))
        sides = QWidget()
        line = QHBoxLayout(sides)
        line.setContentsMargins(0, 0, look.px(12), 0)
        line.setSpacing(look.px(28))
        bench = [k for k in KEYS if k.where == "bench"]
        half = (len(bench) + 1) // 2
        lesson = [k for k in KEYS if k.where == "teaching"]
        others = [k for k in KEYS if k.where not in ("bench", "teaching")]
        parts = (
            (words.KEYS_BENCH, bench[:half]),
            (words.KEYS_UNIT, bench[half:]),
            (words.KEYS_TEACHING, lesson),
            (words.KEYS_VIEWS, others),
        )
        room = min(parent.width(), look.px(self.width_px)) // look.px(COLUMN_PX)
        stacks = STACKS[max(min(room, len(STACKS)), 1) - 1]
        columns = [[parts[k] for k in stack] for stack in stacks]
        for column in columns:
            line.addWidget(self._stack(column), 1, Qt.AlignmentFlag.AlignTop)
        self.add(sides)
        self.finish()

    def _stack(self, parts: Sequence[tuple[str, list[KeyLine]]]) -> QWidget:
        holder = QWidget()
        box = QVBoxLayout(holder)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(self.look.px(12))
        for title, lines in parts:
            box.addWidget(self._column(title, lines))
        return holder

    def _column(self, title: str, lines: list[KeyLine]) -> QWidget:
        holder = QWidget()
        grid = QGridLayout(holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(self.look.px(10))
        grid.setVerticalSpacing(self.look.px(3))
        grid.addWidget(plain_label(title, "section"), 0, 0, 1, 2)
        for y, key in enumerate(lines, start=1):
            grid.addWidget(plain_label(self._caps(key), "bold"), y, 0, Qt.AlignmentFlag.AlignTop)
            view = words.KEY_VIEWS.get(key.where)
            what = key.words if view is None else words.KEY_IN_VIEW.format(what=key.words, view=view)
            if key.where == "teaching" and not self._in_lesson:
                grid.addWidget(plain_label(what, "dim", wrap=True), y, 1)
                continue
            said = self.lines[key.where, key.key] = KeyWords(what)
            said.clicked.connect(lambda key=key: self._chosen(key))
            grid.addWidget(said, y, 1)
        grid.setColumnStretch(1, 1)
        return holder

    def _chosen(self, key: KeyLine) -> None:
        self.close_panel()
        self._take(key)

    def _caps(self, line: KeyLine) -> str:
        first, *more = map(cap_of, self._own.of(line) or (own_keys.NONE,))
        for own in more:
            first = own_keys.OR.format(cap=first, own=own)
        return first

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_F12 or event.text() == "?":
            self.close_panel()
        else:
            super().keyPressEvent(event)
