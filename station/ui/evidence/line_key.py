"""Which line of a plot is which: a stroke of its colour and its name, in as many rows as that takes."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy

from station.ui.painting.look import Look, color
from station.ui.painting.told import Painted
from station.words import grammar

TEXT_PX, STROKE_PX, SPACE_PX, GAP_PX = 13, 16, 6, 18
SIDES = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)


class LineKey(Painted):
    """`show_names`; hidden where there is one or none."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look = look
        self.names: tuple[tuple[str, str], ...] = ()
        """(attribute of the look that is its colour, "" of none; what is said)"""
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def set_look(self, look: Look) -> None:
        self._look = look
        self._fit()
        self.update()

    def show_names(self, names: tuple[tuple[str, str], ...]) -> None:
        self.names = names
        self.setAccessibleName(grammar.listed(tuple(name for _, name in names)))
        self.setVisible(len(names) > 1)
        self._fit()
        self.update()

    def _places(self) -> list[tuple[str, str, QRectF]]:
        """(colour, what is said, where): a name that has no room in a row begins the next one."""
        look, metrics = self._look, QFontMetricsF(self._look.font(TEXT_PX))
        tall, x, y = metrics.height() + 2, 0.0, 0.0
        found: list[tuple[str, str, QRectF]] = []
        for tone, name in self.names:
            wide = (look.px(STROKE_PX + SPACE_PX) if tone else 0) + metrics.horizontalAdvance(name) + 2
            if x and x + wide > self.width():
                x, y = 0.0, y + tall
            found.append((tone, name, QRectF(x, y, wide, tall)))
            x += wide + look.px(GAP_PX)
        return found

    def _fit(self) -> None:
        places = self._places()
        self.setFixedHeight(round(places[-1][2].bottom()) + self._look.px(3) if places else 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def paintEvent(self, event: QPaintEvent) -> None:
        look, painter = self._look, QPainter(self)
        painter.setFont(look.font(TEXT_PX))
        for tone, name, box in self._places():
            if tone:
                painter.setPen(QPen(color(getattr(look, tone)), look.px(3)))
                middle = QPointF(box.left(), box.center().y())
                painter.drawLine(middle, middle + QPointF(look.px(STROKE_PX), 0))
                box.setLeft(box.left() + look.px(STROKE_PX + SPACE_PX))
            painter.setPen(color(look.text))
            painter.drawText(box, SIDES, name)
        painter.end()
