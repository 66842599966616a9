"""The bearing dial: where a stick is, against its own limits.

A polar field. Rings: the rest limits in the middle, the reach limit near the rim. Outside, a tick in the middle of each
sector of the rim: long where the reach is within its limit, short where it is not, faint where the stick was not yet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPixmap
from PySide6.QtWidgets import QWidget

from station.sheets.signals import F64, I64
from station.ui.live.dial_layer import EXTENT, DialLayer, DialLimits, RimView
from station.ui.painting.lines import polyline
from station.ui.painting.look import Look, color, mix
from station.ui.painting.told import Painted

TRAIL_NS = 300_000_000
TRAIL_POINTS = 60


class BearingDial(Painted):
    """One stick. `show_point` each frame; everything else when it changes."""

    def __init__(self, name: str, gate: str, limits: DialLimits, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.name, self.gate = name, gate
        self._look = look
        self._limits = limits
        self._rim: RimView | None = None
        self._settled: Sequence[tuple[float, float]] = ()
        self._point: tuple[float, float] | None = None
        self._trail: tuple[F64, F64] = (np.empty(0), np.empty(0))
        self._caption = ""
        self._current = False
        self._layer: QPixmap | None = None
        self._moving = QRectF()
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName(name)

    # --- what is shown -----------------------------------------------------------------------------

    def set_look(self, look: Look) -> None:
        self._look = look
        self._forget_layer()

    def set_rim(self, rim: RimView | None) -> None:
        """The rim sectors; drawn again only when they changed."""
        old = self._rim
        same = rim is old or (
            rim is not None
            and old is not None
            and np.array_equal(rim.seen, old.seen)
            and np.array_equal(np.round(rim.reach_pct, 1), np.round(old.reach_pct, 1))
        )
        self._rim = rim
        if not same:
            self._forget_layer()

    def set_settled(self, points: Sequence[tuple[float, float]]) -> None:
        """Settle points after letting go, in % of half travel."""
        if tuple(points) != tuple(self._settled):
            self._settled = tuple(points)
            self.update()

    def set_caption(self, caption: str, current: bool) -> None:
        if (caption, current) != (self._caption, self._current):
            self._caption, self._current = caption, current
            self.setAccessibleDescription(caption)
            self._forget_layer()

    def show_point(self, point: tuple[float, float] | None, trail: tuple[I64, F64, F64]) -> None:
        """The present place (None: never reported) and what came before it; repaints only if it moved."""
        _, x, y = trail
        step = max(1, math.ceil(len(x) / TRAIL_POINTS))
        shown = (x[::-step][::-1], y[::-step][::-1])
        moved = point != self._point or len(shown[0]) != len(self._trail[0]) or not np.array_equal(shown, self._trail)
        if (point is None) != (self._point is None):
            self._forget_layer()
        self._point, self._trail = point, shown
        if moved:
            before, self._moving = self._moving, self._moving_box()
            self.update(before.united(self._moving).toAlignedRect())

    @property
    def point(self) -> tuple[float, float] | None:
        return self._point

    @property
    def rim(self) -> RimView | None:
        return self._rim

    def caption_height(self) -> int:
        """What the name and the caption under the dial need."""
        return self._look.px(46)

    # --- geometry ------------------------------------------------------------------------------------

    def _middle(self) -> tuple[QPointF, float]:
        """Centre and the radius of 100 %."""
        room = min(self.width(), self.height() - self.caption_height())
        centre = QPointF(self.width() / 2, (self.height() - self.caption_height()) / 2)
        return centre, max(room / 2 / EXTENT[self.gate], 10.0)

    def _place(self, x_pct: float, y_pct: float) -> QPointF:
        centre, radius = self._middle()
        edge = EXTENT[self.gate]
        x, y = (min(max(v / 100, -edge), edge) for v in (x_pct, y_pct))
        return QPointF(centre.x() + x * radius, centre.y() - y * radius)

    # --- painting --------------------------------------------------------------------------------------

    def resizeEvent(self, event: object) -> None:
        self._forget_layer()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        if self._layer is None or self._layer.devicePixelRatio() != self.devicePixelRatioF():
            self._layer = self._make_layer()
        painter.drawPixmap(0, 0, self._layer)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_settled(painter)
        if self._point is not None:
            self._paint_trail(painter)
            self._paint_point(painter)
        painter.end()

    def _make_layer(self) -> QPixmap:
        """Everything that stands still while the stick moves."""
        centre, radius = self._middle()
        caption = QRectF(0, self.height() - self.caption_height(), self.width(), self.caption_height())
        layer = DialLayer(self._look, self.gate, self._limits, self._rim, self._point is not None, centre, radius)
        return layer.pixmap(self.size(), self.devicePixelRatioF(), caption, self.name, self._caption, self._current)

    def _forget_layer(self) -> None:
        self._layer = None
        self.update()

    def _paint_settled(self, painter: QPainter) -> None:
        arm = self._look.px(4)
        painter.setPen(QPen(color(self._look.accent), 1.4))
        for x, y in self._settled:
            at = self._place(x, y)
            painter.drawLine(QPointF(at.x() - arm, at.y()), QPointF(at.x() + arm, at.y()))
            painter.drawLine(QPointF(at.x(), at.y() - arm), QPointF(at.x(), at.y() + arm))

    def _trail_line(self) -> tuple[F64, F64]:
        """The trail in pixels."""
        centre, radius = self._middle()
        edge = 100.0 * EXTENT[self.gate]
        x = centre.x() + np.clip(self._trail[0], -edge, edge) * (radius / 100)
        y = centre.y() - np.clip(self._trail[1], -edge, edge) * (radius / 100)
        return x, y

    def _moving_box(self) -> QRectF:
        """What the point and its trail cover."""
        if self._point is None:
            return QRectF()
        at, room = self._place(*self._point), self._look.px(10) + 2
        box = QRectF(at.x() - room, at.y() - room, 2 * room, 2 * room)
        x, y = self._trail_line()
        if len(x):
            left, top = float(x.min()), float(y.min())
            box = box.united(QRectF(left - 2, top - 2, float(x.max()) - left + 4, float(y.max()) - top + 4))
        return box

    def _paint_trail(self, painter: QPainter) -> None:
        if len(self._trail[0]) < 2:
            return
        painter.setPen(QPen(color(mix(self._look.pane, self._look.text, 0.55)), 1))
        painter.drawPolyline(polyline(*self._trail_line()))

    def _paint_point(self, painter: QPainter) -> None:
        assert self._point is not None
        at, look = self._place(*self._point), self._look
        painter.setPen(QPen(color(look.text), 1.3))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(at, look.px(10), look.px(10))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(color(look.text))
        painter.drawEllipse(at, look.px(5.5), look.px(5.5))
