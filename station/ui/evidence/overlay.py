"""What lies over a plot: stretches that were used and left out, limits, places of findings, cursors, contacts.

One item for all of it, painted in pixels, so that hatching and marks keep their size at every zoom and nothing has to
be made or thrown away when another result is shown.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QPainter, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from station.measure.arrays import F64
from station.ui.painting.look import Look, color

SPOT_PX, LEAST_PX = 5.0, 1.0
NOTCH_PX = 2.0
"""an opening that is narrower than this on the screen is drawn so wide: it must not vanish between two bars"""
LANE_PX, LEAST_LANE_PX, BAR_SHARE = 46, 20, 0.7
"""height of a contact beside lines, how low it may become, and how much of it the bars take: what is shaded or hatched
is seen above and below them"""
MARKS_PX = 2 * SPOT_PX + 6
"""above the bars of the first contact, where there are marks"""


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch of the horizontal axis, used or left out."""

    begin: float
    end: float
    used: bool


@dataclass(frozen=True, slots=True)
class Mark:
    """A place: from `begin` to `end` on the horizontal axis, at `value` on the other one (None: at the top)."""

    begin: float
    end: float
    value: float | None
    faulty: bool


@dataclass(frozen=True, slots=True, eq=False)
class Lane:
    """A contact: when it was closed, in the unit of the horizontal axis. All of them share the height of the plot, the
    first at the top; their names stand at the axis."""

    begin: F64
    end: F64
    own: bool
    other: bool = False
    """of the try that is laid over"""

    @property
    def tone(self) -> str:
        """Its colour in the look."""
        if not self.own:
            return "dim"
        return "borderline" if self.other else "accent"


class Overlay(pg.GraphicsObject):  # type: ignore[misc]
    """See above. Attributes are set, then `update` is called."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.bands: tuple[Band, ...] = ()
        self.levels: tuple[float, ...] = ()
        self.marks: tuple[Mark, ...] = ()
        self.lanes: tuple[Lane, ...] = ()
        self.cursors: tuple[float | None, float | None] = (None, None)
        self.chosen: Mark | None = None
        """the place that was jumped to"""
        self.setZValue(-5)

    def boundingRect(self) -> QRectF:
        return QRectF(self.viewRect())

    def viewRangeChanged(self) -> None:
        self.prepareGeometryChange()

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        transform, seen = painter.transform(), self.viewRect()
        box = transform.mapRect(seen)
        painter.save()
        painter.resetTransform()
        painter.setClipRect(box)
        place = _Place(transform, box, seen)
        self._paint_bands(painter, place)
        self._paint_levels(painter, place)
        self._paint_lanes(painter, place)
        self._paint_marks(painter, place)
        self._paint_cursors(painter, place)
        painter.restore()

    def _paint_bands(self, painter: QPainter, place: _Place) -> None:
        used = QColor(color(self.look.accent))
        used.setAlpha(30)
        hatched = QBrush(color(self.look.dim), Qt.BrushStyle.BDiagPattern)
        for band in self.bands:
            if band.end >= place.left and band.begin <= place.right:
                rect = place.column(band.begin, band.end)
                painter.fillRect(rect, used if band.used else hatched)

    def _paint_levels(self, painter: QPainter, place: _Place) -> None:
        painter.setPen(QPen(color(self.look.text), 1, Qt.PenStyle.DashLine))
        for level in self.levels:
            y = round(place.y(level)) + 0.5
            painter.drawLine(QLineF(place.box.left(), y, place.box.right(), y))

    def _paint_lanes(self, painter: QPainter, place: _Place) -> None:
        for lane, bar in zip(self.lanes, self.bars(place.box), strict=True):
            self._paint_lane(painter, place, lane, bar)

    def bars(self, box: QRectF) -> list[QRectF]:
        """Where in the plot each contact's bars stand, clear of the marks above the first."""
        if not self.lanes:
            return []
        marks = self.look.px(MARKS_PX) if self.marks else 0
        tall = (box.height() - marks) / len(self.lanes)
        gap = tall * (1.0 - BAR_SHARE) / 2.0
        tops = (box.top() + marks + k * tall for k in range(len(self.lanes)))
        return [QRectF(box.left(), top + gap, box.width(), tall - 2 * gap) for top in tops]

    def _paint_lane(self, painter: QPainter, place: _Place, lane: Lane, bar: QRectF) -> None:
        look = self.look
        painter.setPen(QPen(color(look.line), 1))
        painter.drawLine(QLineF(bar.left(), bar.bottom(), bar.right(), bar.bottom()))
        first = int(np.searchsorted(lane.end, place.left))
        stop = int(np.searchsorted(lane.begin, place.right, side="right"))
        brush, ground = color(getattr(look, lane.tone)), color(look.pane)
        before: float | None = None
        for begin, end in zip(lane.begin[first:stop].tolist(), lane.end[first:stop].tolist(), strict=True):
            left, right = place.x(begin), place.x(end)
            painter.fillRect(QRectF(left, bar.top(), max(right - left, LEAST_PX), bar.height()), brush)
            if before is not None and left - before < NOTCH_PX:
                middle = (left + before) / 2.0
                painter.fillRect(QRectF(middle - NOTCH_PX / 2, bar.top(), NOTCH_PX, bar.height()), ground)
                for side in (middle - NOTCH_PX / 2 - LEAST_PX, middle + NOTCH_PX / 2):  # what it parts is there, too
                    painter.fillRect(QRectF(side, bar.top(), LEAST_PX, bar.height()), brush)
            before = right

    def _paint_marks(self, painter: QPainter, place: _Place) -> None:
        look, side = self.look, self.look.px(SPOT_PX)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for mark in self.marks:
            if mark.end < place.left or mark.begin > place.right:
                continue
            x = place.x((mark.begin + mark.end) / 2.0)
            y = place.box.top() + side + 2 if mark.value is None else place.y(mark.value)
            tone = color(look.bad if mark.faulty else look.dim)
            if mark is self.chosen:
                frame = place.column(mark.begin, mark.end).adjusted(-side, 1, side, -1)
                painter.setPen(QPen(color(look.mark), 2))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawRect(frame)
            painter.setPen(QPen(tone, 1.5))
            painter.setBrush(tone if mark.faulty else Qt.BrushStyle.NoBrush)
            if mark.faulty:
                corners = (QPointF(x, y - side), QPointF(x + side, y), QPointF(x, y + side), QPointF(x - side, y))
                painter.drawPolygon(QPolygonF(corners))
            else:
                painter.drawEllipse(QPointF(x, y), side * 0.6, side * 0.6)

    def _paint_cursors(self, painter: QPainter, place: _Place) -> None:
        look = self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setFont(look.font(13, bold=True))
        metrics = QFontMetricsF(painter.font())
        for number, at in enumerate(self.cursors, start=1):
            if at is None or not place.left <= at <= place.right:
                continue
            x = round(place.x(at))
            painter.setPen(QPen(color(look.mark), 1, Qt.PenStyle.SolidLine if number == 1 else Qt.PenStyle.DashLine))
            painter.drawLine(QLineF(x + 0.5, place.box.top(), x + 0.5, place.box.bottom()))
            wide, tall = metrics.horizontalAdvance("0") + look.px(8), metrics.height() + 2
            left = x - wide if number == 1 else x + 1.0
            flag = QRectF(left, place.box.bottom() - tall, wide, tall)
            painter.fillRect(flag, color(look.mark))
            painter.setPen(color(look.ground))
            painter.drawText(flag, Qt.AlignmentFlag.AlignCenter, str(number))


class _Place:
    """Where on the screen something of the axes lies."""

    def __init__(self, transform: QTransform, box: QRectF, seen: QRectF) -> None:
        self._transform, self.box = transform, box
        self.left, self.right = seen.left(), seen.right()

    def x(self, at: float) -> float:
        return self._transform.map(QPointF(at, 0.0)).x()

    def y(self, value: float) -> float:
        return self._transform.map(QPointF(0.0, value)).y()

    def column(self, begin: float, end: float) -> QRectF:
        """From the top to the bottom of the plot, no narrower than a pixel."""
        left, right = max(self.x(begin), self.box.left() - 4), min(self.x(end), self.box.right() + 4)
        return QRectF(left, self.box.top(), max(right - left, LEAST_PX), self.box.height())
