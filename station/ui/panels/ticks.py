"""A list of things that are taken or left: arrows move, Space ticks."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy

from station.checks.types import Outcome
from station.ui.painting.look import Look, color
from station.ui.painting.shapes import draw_shape
from station.ui.painting.told import PaintedList, RowButton, draw_cursor, put_over
from station.words import panels as words


class TickList(PaintedList):
    """Rows of a name and a remark, each ticked or not.

    Signals: `moved(QRectF)`: the box of the row under the cursor, for whoever scrolls.
    """

    moved = Signal(QRectF)

    def __init__(self, rows: Sequence[tuple[str, str]], ticked: Sequence[bool], look: Look) -> None:
        super().__init__()
        self._rows, self._ticked, self._look = tuple(rows), list(ticked), look
        self._at = 0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._buttons = [RowButton(self, exclusive=False) for _ in self._rows]
        self._name()

    def ticked(self) -> list[int]:
        """Indices of the ticked rows."""
        return [k for k, on in enumerate(self._ticked) if on]

    def toggle(self, index: int) -> None:
        self._ticked[index] = not self._ticked[index]
        self._name()
        self.update()

    def _name(self) -> None:
        for k, button in enumerate(self._buttons):
            button.setChecked(self._ticked[k])
            button.setAccessibleName(self._rows[k][0])
            button.setAccessibleDescription(self._rows[k][1])
        self.tell(self._buttons[self._at] if self._buttons else None)

    def chosen_words(self) -> str:
        if not self._rows:
            return ""
        name, remark = self._rows[self._at]
        said = words.TICKED if self._ticked[self._at] else words.NOT_TICKED
        return said.format(name=name, remark=remark)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        for k, button in enumerate(self._buttons):
            put_over(button, self._box(k))

    def _row_height(self) -> int:
        return self._look.px(26)

    def sizeHint(self) -> QSize:
        return QSize(self._look.px(300), self._row_height() * len(self._rows) + 4)

    def _box(self, index: int) -> QRectF:
        return QRectF(1, index * self._row_height() + 2, self.width() - 2, self._row_height())

    def paintEvent(self, event: QPaintEvent) -> None:
        look = self._look
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for k, (name, remark) in enumerate(self._rows):
            box = self._box(k)
            if k == self._at and self.hasFocus():
                draw_cursor(painter, box, look, focused=True)
            side = look.px(14)
            mark = QRectF(box.x() + look.px(8), box.center().y() - side / 2, side, side)
            draw_shape(painter, mark, Outcome.PASS if self._ticked[k] else Outcome.NOT_DONE, look)
            self._paint_words(painter, box.adjusted(look.px(30), 0, -look.px(8), 0), name, remark)
        painter.end()

    def _paint_words(self, painter: QPainter, box: QRectF, name: str, remark: str) -> None:
        middle = Qt.AlignmentFlag.AlignVCenter
        painter.setFont(self._look.font(15))
        painter.setPen(color(self._look.text))
        shown = painter.fontMetrics().elidedText(name, Qt.TextElideMode.ElideRight, int(box.width()))
        painter.drawText(box, middle | Qt.AlignmentFlag.AlignLeft, shown)
        room = box.adjusted(painter.fontMetrics().horizontalAdvance(shown) + self._look.px(10), 0, 0, 0)
        painter.setFont(self._look.font(13))
        painter.setPen(color(self._look.dim))
        shown = painter.fontMetrics().elidedText(remark, Qt.TextElideMode.ElideRight, max(int(room.width()), 0))
        painter.drawText(room, middle | Qt.AlignmentFlag.AlignRight, shown)

    def _move(self, index: int) -> None:
        if self._rows:
            self._at = min(max(index, 0), len(self._rows) - 1)
            self._name()
            self.update()
            self.moved.emit(self._box(self._at))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Space and self._rows:
            self.toggle(self._at)
        elif event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._move(self._at + (1 if event.key() == Qt.Key.Key_Down else -1))
        else:
            event.ignore()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        found = next((k for k in range(len(self._rows)) if self._box(k).contains(event.position())), None)
        if found is not None:
            self.setFocus()
            self._move(found)
            self.toggle(found)

    def focusInEvent(self, event: QFocusEvent) -> None:
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self.update()
