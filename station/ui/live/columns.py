"""Trigger columns: how far each trigger is pulled, with the limits of its rest and of its full pull."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from station.ui.painting.look import Look, color
from station.ui.painting.told import Painted
from station.words import figures
from station.words import live as words
from station.words.grammar import listed, plural, sentence_start


class TriggerColumns(Painted):
    """All triggers side by side. `set_values` each frame."""

    def __init__(
        self,
        names: Sequence[tuple[str, str]],
        limits_pct: tuple[float, float],
        look: Look,
        parent: QWidget | None = None,
    ) -> None:
        """`names`: (control id, name) from left to right; `limits_pct`: of the released and of the full pull."""
        super().__init__(parent)
        self._names = tuple(names)
        self._look = look
        self._values: dict[str, float | None] = {}
        self._limits_pct = limits_pct
        self._current = ""
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName(sentence_start(plural(len(self._names), words.TRIGGERS)))
        self.setAccessibleDescription(listed([name for _, name in self._names]))

    def set_look(self, look: Look) -> None:
        self._look = look
        self.update()

    def set_current(self, control: str) -> None:
        if control != self._current:
            self._current = control
            self.update()

    def set_values(self, values: Mapping[str, float | None]) -> None:
        """Present pull of each, % of travel; None: never reported."""
        if values != self._values:
            self._values = dict(values)
            self.update()

    @property
    def names(self) -> tuple[tuple[str, str], ...]:
        return self._names

    @property
    def values(self) -> Mapping[str, float | None]:
        return self._values

    def sizeHint(self) -> QSize:
        return QSize(max(self._look.px(34) * len(self._names), self._look.px(64)), self._look.px(180))

    def paintEvent(self, event: QPaintEvent) -> None:
        look = self._look
        painter = QPainter(self)
        painter.fillRect(self.rect(), color(look.pane))
        below = look.px(46)
        slot = self.width() / max(len(self._names), 1)
        tall = self.height() - below - look.px(16)
        for k, (control, _) in enumerate(self._names):
            wide = min(look.px(18), slot - 8)
            box = QRectF(slot * k + (slot - wide) / 2, look.px(12), wide, tall)
            self._paint_column(painter, box, control)
        painter.setFont(look.font(14))
        painter.setPen(color(look.dim))
        text = QRectF(0, self.height() - below, self.width(), look.px(23))
        painter.drawText(text, Qt.AlignmentFlag.AlignCenter, plural(len(self._names), words.TRIGGERS))
        self._paint_figures(painter, slot, self.height() - below + look.px(23))
        painter.end()

    def _paint_column(self, painter: QPainter, box: QRectF, control: str) -> None:
        look = self._look
        value = self._values.get(control)
        pen = QPen(color(look.accent if control == self._current else look.line), 1)
        if value is None:
            pen.setStyle(Qt.PenStyle.DashLine)
        painter.setPen(pen)
        painter.setBrush(color(look.ground) if value is not None else Qt.BrushStyle.NoBrush)
        painter.drawRect(box)
        if value is None:
            return
        tall = box.height() * min(max(value, 0.0), 100.0) / 100
        painter.fillRect(QRectF(box.x() + 2, box.bottom() - tall, box.width() - 3, tall), color(look.accent))
        painter.setPen(QPen(color(look.good), 2))
        for limit in self._limits_pct:
            y = box.bottom() - box.height() * limit / 100
            painter.drawLine(QPointF(box.x() - 4, y), QPointF(box.right() + 4, y))

    def _paint_figures(self, painter: QPainter, slot: float, top: float) -> None:
        look = self._look
        painter.setFont(look.font(12.5))
        for k, (control, _) in enumerate(self._names):
            value = self._values.get(control)
            box = QRectF(slot * k, top, slot, look.px(20))
            painter.setPen(color(look.dim))
            text = words.NO_FIGURE if value is None else figures.number(value, 0)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
