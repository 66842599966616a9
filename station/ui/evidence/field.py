"""The field of a stick: the way it took over its limits, or where it rested."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from station.checks.looked import Looked
from station.evidence.drawing import Cloud, Path
from station.measure.arrays import F64
from station.measure.gate import Gate
from station.measure.sectors import centres_deg
from station.ui.evidence.plot import Plot
from station.ui.painting.look import Look, color
from station.words import evidence_room as words

MOST_JOINED = 20_000
"""a way of more reports is drawn as the places that were seen, each once"""
CELL_PCT = 0.1
SPOT_PX, RING_PX = 5.0, 6.0
FIELD_PCT = 112.0
AROUND = 1.3
"""the picture of a rest shows so many times what lies farthest off"""


@dataclass(frozen=True, slots=True, eq=False)
class Rests:
    """Where a stick came to rest after each flick, in the mean or set aside, and that mean with its uncertainty, in a
    colour of the look."""

    cloud: Cloud
    tone: str


class FieldMarks(pg.GraphicsObject):  # type: ignore[misc]
    """Limits, range, sectors, places where the stick settled, and how well their mean is known; painted in pixels."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.gate: Gate = "round"
        self.limit_pct = 0.0
        self.sectors: F64 | None = None
        self.circle: tuple[float, float, float] | None = None
        self.settled: F64 | None = None
        self.spots: tuple[tuple[float, float, bool], ...] = ()
        self.rests: tuple[Rests, ...] = ()
        self.setZValue(5)

    def boundingRect(self) -> QRectF:
        return QRectF(self.viewRect())

    def viewRangeChanged(self) -> None:
        self.prepareGeometryChange()

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        look, place = self.look, painter.transform()
        painter.save()
        painter.resetTransform()
        painter.setClipRect(place.mapRect(self.viewRect()))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setBrush(Qt.BrushStyle.NoBrush)

        def outline(points: F64, pen: QPen) -> None:
            painter.setPen(pen)
            painter.drawPolygon(QPolygonF([place.map(QPointF(x, y)) for x, y in points.tolist()]))

        outline(_gate_outline(self.gate, 100.0), QPen(color(look.dim), 1))
        if self.limit_pct:
            outline(_gate_outline(self.gate, self.limit_pct), QPen(color(look.text), 1, Qt.PenStyle.DashLine))
        if self.circle is not None:
            x, y, radius = self.circle
            outline(_gate_outline("round", radius) + np.array([x, y]), QPen(color(look.dim), 1, Qt.PenStyle.DotLine))
        if self.sectors is not None:
            angle = np.deg2rad(centres_deg())
            seen = np.isfinite(self.sectors)
            rim = np.column_stack((self.sectors * np.sin(angle), self.sectors * np.cos(angle)))[seen]
            outline(rim, QPen(color(look.good), 2))
        painter.setPen(QPen(color(look.good), 1.5))
        for x, y in self.settled.tolist() if self.settled is not None else ():
            painter.drawEllipse(place.map(QPointF(x, y)), SPOT_PX * 0.7, SPOT_PX * 0.7)
        for one in self.rests:
            self._paint_rests(painter, one, place)
        for x, y, faulty in self.spots:
            at, side = place.map(QPointF(x, y)), look.px(SPOT_PX)
            tone = color(look.bad if faulty else look.dim)
            painter.setPen(QPen(tone, 2))
            if not faulty:
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawEllipse(at, side * 0.6, side * 0.6)
                continue
            painter.setBrush(tone)
            corners = [QPointF(0, -side), QPointF(side, 0), QPointF(0, side), QPointF(-side, 0)]
            painter.drawPolygon(QPolygonF([at + corner for corner in corners]))
        painter.restore()

    def _paint_rests(self, painter: QPainter, one: Rests, place: QTransform) -> None:
        """A ring at each place, joined to the cross of their mean."""
        cloud, tone, side = one.cloud, color(one.tone), self.look.px(RING_PX)
        at = place.map(QPointF(*cloud.centre)) if cloud.centre is not None else None
        for points, style in ((cloud.settled, Qt.PenStyle.SolidLine), (cloud.set_aside, Qt.PenStyle.DotLine)):
            for x, y in points.tolist():
                ring = place.map(QPointF(x, y))
                if at is not None and style is Qt.PenStyle.SolidLine:
                    painter.setPen(QPen(tone, 1, Qt.PenStyle.DotLine))
                    painter.drawLine(ring, at)
                painter.setPen(QPen(tone, 2, style))
                painter.drawEllipse(ring, side, side)
        if at is None:
            return
        painter.setPen(QPen(color(self.look.text), 3.5))
        self._paint_cross(painter, at)
        painter.setPen(QPen(tone, 1.5))
        self._paint_cross(painter, at)
        across, up = abs(place.m11()) * cloud.uncertainty[0], abs(place.m22()) * cloud.uncertainty[1]
        painter.drawEllipse(at, across, up)

    def _paint_cross(self, painter: QPainter, at: QPointF) -> None:
        arm = self.look.px(7)
        painter.drawLine(at - QPointF(arm, 0), at + QPointF(arm, 0))
        painter.drawLine(at - QPointF(0, arm), at + QPointF(0, arm))


class Field(Plot):
    """`show_path` or `show_cloud`."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, lock=True)
        self._clouds: tuple[Cloud, ...] = ()
        self.way, self.way_of_other = self.line(look.accent), self.line(look.borderline)
        self._dots = [pg.ScatterPlotItem(size=2, pxMode=True, pen=None) for _ in range(2)]
        for dots in self._dots:
            self.item.addItem(dots, ignoreBounds=True)
        self.field = FieldMarks(look)
        self.item.addItem(self.field, ignoreBounds=True)
        self.item.setLabel("bottom", words.FIELD_AXES[0])
        self.item.setLabel("left", words.FIELD_AXES[1])
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        super().set_look(look)
        if hasattr(self, "field"):
            self.field.look = look
            for item, dots, tone in zip((self.way, self.way_of_other), self._dots, self._tones(), strict=True):
                item.setPen(self.pen(tone))
                dots.setBrush(pg.mkBrush(color(tone)))
            self.field.rests = self._rests() if self.field.rests else ()

    def _tones(self) -> tuple[str, str]:
        return self.look.accent, self.look.borderline

    def _rests(self) -> tuple[Rests, ...]:
        """The other try first: what is looked at lies on top."""
        return tuple(reversed([Rests(c, tone) for c, tone in zip(self._clouds, self._tones(), strict=False)]))

    def show_path(self, path: Path, looked: Looked, other: Path | None = None) -> None:
        """The way of the stick over its limits; `other`: that of another try, laid over."""
        field = self.field
        field.gate, field.limit_pct = path.gate, path.limit_pct
        field.sectors, field.circle, field.settled = looked.sector_reach, looked.circle, looked.settled
        field.spots = tuple((*s.point, s.faulty) for s in looked.spots if s.point is not None)
        field.rests = ()
        self._draw(path.x.values, path.y.values, 0)
        self._draw(*(other.x.values, other.y.values) if other is not None else (np.empty(0), np.empty(0)), 1)
        self.item.setRange(xRange=(-FIELD_PCT, FIELD_PCT), yRange=(-FIELD_PCT, FIELD_PCT), padding=0)
        field.update()

    def show_cloud(self, cloud: Cloud, other: Cloud | None = None) -> None:
        """Where it rested, the places of all its flicks, and their mean as read off with its uncertainty; the same
        of another try."""
        field = self.field
        field.gate, field.limit_pct, field.spots = "round", cloud.limit_pct, ()
        field.sectors = field.circle = field.settled = None
        self._clouds = (cloud,) if other is None else (cloud, other)
        field.rests = self._rests()
        self._draw(cloud.x_pct, cloud.y_pct, 0, joined=False)
        there = (other.x_pct, other.y_pct) if other is not None else (np.empty(0), np.empty(0))
        self._draw(*there, 1, joined=False)
        far = AROUND * max(cloud.limit_pct, 1.0, *(_farthest(one) for one in self._clouds))
        self.item.setRange(xRange=(-far, far), yRange=(-far, far), padding=0)
        field.update()

    def _draw(self, x: F64, y: F64, which: int, *, joined: bool = True) -> None:
        way, dots = (self.way, self.way_of_other)[which], self._dots[which]
        if joined and len(x) <= MOST_JOINED:
            way.setData(x, y)
            dots.setData(x=[], y=[])
            return
        way.setData([], [])
        cells = np.unique(np.column_stack((np.rint(x / CELL_PCT), np.rint(y / CELL_PCT))).astype(np.int32), axis=0)
        dots.setData(x=cells[:, 0] * CELL_PCT, y=cells[:, 1] * CELL_PCT)


def _farthest(cloud: Cloud) -> float:
    """The greatest distance from the middle, along an axis, at which something of a rest is drawn, %."""
    values = [cloud.x_pct, cloud.y_pct, cloud.settled.ravel(), cloud.set_aside.ravel()]
    centre = zip(cloud.centre or (0.0, 0.0), cloud.uncertainty, strict=True)
    return max(*(float(np.abs(v).max(initial=0.0)) for v in values), *(abs(at) + u for at, u in centre))


def _gate_outline(gate: Gate, at_pct: float) -> F64:
    """float[n, 2]: the edge of a gate at this deflection."""
    if gate == "square":
        return at_pct * np.array([(1, 1), (1, -1), (-1, -1), (-1, 1)], dtype=np.float64)
    count = 8 if gate == "octagon" else 180
    angle = 2.0 * math.pi * np.arange(count) / count
    return at_pct * np.column_stack((np.sin(angle), np.cos(angle)))
