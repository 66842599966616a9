"""The shapes that carry outcomes and cautions. Drawn, because the font has no such signs and colour alone says nothing.

pass: filled square with a tick · borderline: ring, lower half filled · fail: filled diamond with a cross ·
interrupted: bar broken in two · not done: empty ring · skipped: two angles to the right, as on a key that skips ·
running: arrow to the right · caution: triangle with a bar · note: dot · better: angle up · worse: angle down.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from station.checks.types import Outcome
from station.ui.painting.look import Look, color
from station.ui.painting.told import Painted
from station.words import common as words

RUNNING = "running"
SKIPPED = "skipped"
CAUTION = "caution"
NOTE = "note"
BETTER = "better"
WORSE = "worse"
SHAPES = (RUNNING, SKIPPED, CAUTION, NOTE, BETTER, WORSE)
"""those that stand for no outcome"""
Shape = Outcome | str


def shape_name(shape: Shape) -> str:
    """What a shape stands for, for those who do not see it."""
    return words.OUTCOMES[shape.value] if isinstance(shape, Outcome) else words.SHAPES[shape]


def draw_shape(painter: QPainter, box: QRectF, shape: Shape, look: Look, cut: str | None = None) -> None:
    """Draw an outcome or another of the shapes into `box`. `cut` is the colour of what is cut out (default: pane)."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    draw = {
        Outcome.PASS: _square,
        Outcome.BORDERLINE: _half_disc,
        Outcome.FAIL: _diamond,
        Outcome.INTERRUPTED: _broken_bar,
        Outcome.NOT_DONE: _ring,
        RUNNING: _arrow,
        SKIPPED: _two_angles,
        BETTER: _up,
        WORSE: _down,
        CAUTION: _triangle,
        NOTE: _dot,
    }[shape]
    side = min(box.width(), box.height())
    square = QRectF(0, 0, side, side)
    square.moveCenter(box.center())
    draw(painter, square, look, cut or look.pane)
    painter.restore()


def _square(painter: QPainter, box: QRectF, look: Look, cut: str) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(color(look.good))
    painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), 2, 2)
    painter.setPen(_pen(cut, box.width() * 0.14))
    painter.drawPolyline([_at(box, 0.24, 0.52), _at(box, 0.43, 0.71), _at(box, 0.77, 0.30)])


def _half_disc(painter: QPainter, box: QRectF, look: Look, cut: str) -> None:
    ring = box.adjusted(1, 1, -1, -1)
    painter.setBrush(color(look.borderline))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.drawPie(ring, 180 * 16, 180 * 16)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(look.borderline, max(1.5, box.width() * 0.11)))
    painter.drawEllipse(ring)


def _diamond(painter: QPainter, box: QRectF, look: Look, cut: str) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(color(look.bad))
    painter.drawPolygon(
        QPolygonF([_at(box, 0.5, -0.04), _at(box, 1.04, 0.5), _at(box, 0.5, 1.04), _at(box, -0.04, 0.5)])
    )
    painter.setPen(_pen(cut, box.width() * 0.12))
    painter.drawLine(_at(box, 0.36, 0.36), _at(box, 0.64, 0.64))
    painter.drawLine(_at(box, 0.64, 0.36), _at(box, 0.36, 0.64))


def _broken_bar(painter: QPainter, box: QRectF, look: Look, cut: str) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(color(look.borderline))
    painter.drawRect(QRectF(_at(box, 0.02, 0.32), _at(box, 0.38, 0.68)))
    painter.drawRect(QRectF(_at(box, 0.62, 0.32), _at(box, 0.98, 0.68)))


def _ring(painter: QPainter, box: QRectF, look: Look, cut: str) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(look.dim, max(1.4, box.width() * 0.1)))
    painter.drawEllipse(box.adjusted(2, 2, -2, -2))


def _arrow(painter: QPainter, box: QRectF, look: Look, cut: str) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(color(look.accent))
    painter.drawPolygon(QPolygonF([_at(box, 0.12, 0.02), _at(box, 0.95, 0.5), _at(box, 0.12, 0.98)]))


def _two_angles(painter: QPainter, box: QRectF, look: Look, cut: str) -> None:
    painter.setPen(_pen(look.dim, max(1.6, box.width() * 0.13)))
    for x in (0.1, 0.52):
        painter.drawPolyline([_at(box, x, 0.16), _at(box, x + 0.34, 0.5), _at(box, x, 0.84)])


def _up(painter: QPainter, box: QRectF, look: Look, cut: str) -> None:
    painter.setPen(_pen(look.good, max(1.6, box.width() * 0.16)))
    painter.drawPolyline([_at(box, 0.12, 0.68), _at(box, 0.5, 0.28), _at(box, 0.88, 0.68)])


def _down(painter: QPainter, box: QRectF, look: Look, cut: str) -> None:
    painter.setPen(_pen(look.bad, max(1.6, box.width() * 0.16)))
    painter.drawPolyline([_at(box, 0.12, 0.32), _at(box, 0.5, 0.72), _at(box, 0.88, 0.32)])


def _dot(painter: QPainter, box: QRectF, look: Look, cut: str) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(color(look.dim))
    painter.drawEllipse(box.center(), box.width() * 0.2, box.width() * 0.2)


def _triangle(painter: QPainter, box: QRectF, look: Look, cut: str) -> None:
    painter.setPen(_pen(look.borderline, max(1.5, box.width() * 0.1)))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolygon(QPolygonF([_at(box, 0.5, 0.08), _at(box, 0.96, 0.92), _at(box, 0.04, 0.92)]))
    painter.drawLine(_at(box, 0.5, 0.38), _at(box, 0.5, 0.62))
    painter.drawPoint(_at(box, 0.5, 0.77))


def _at(box: QRectF, x: float, y: float) -> QPointF:
    return QPointF(box.x() + x * box.width(), box.y() + y * box.height())


def _pen(name: str, width: float) -> QPen:
    pen = QPen(color(name), width)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return pen


class ShapeMark(Painted):
    """One shape as a widget, beside a word."""

    def __init__(self, shape: Shape, look: Look, size: float = 15, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shape, self._look, self._size = shape, look, size
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.set_shape(shape)

    def set_shape(self, shape: Shape) -> None:
        self._shape = shape
        self.setAccessibleName(shape_name(shape))
        self.update()

    def set_look(self, look: Look) -> None:
        self._look = look
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        side = self._look.px(self._size)
        return QSize(side + 2, side + 2)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        draw_shape(painter, QRectF(self.rect()).adjusted(1, 1, -1, -1), self._shape, self._look)
        painter.end()
