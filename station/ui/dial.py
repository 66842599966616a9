"""The bearing dial: where a stick is, against its own limits.

A polar field. Rings: the rest limits in the middle, the reach limit near the rim. Outside, 72 ticks for the 5° sectors
of the rim: long where the reach is within its limit, short where it is not, faint where the stick has not been yet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QWidget

from station.sheets.signals import F64, I64
from station.ui.look import Look, color, mix

SECTORS = 72
TRAIL_NS = 300_000_000
TRAIL_POINTS = 60
_EXTENT = {"round": 1.19, "octagon": 1.19, "square": 1.58}
_TICKS_AT = {"round": 1.06, "octagon": 1.06, "square": 1.45}


@dataclass(frozen=True, slots=True)
class DialLimits:
    """Rings of a dial, % of half travel: (pass, fail beyond)."""

    rest: tuple[float, float] = (5.0, 10.0)
    reach: tuple[float, float] = (92.0, 85.0)


@dataclass(frozen=True, slots=True)
class RimView:
    """What the rim check has seen: `seen` bool[72], `reach_pct` float[72]; sector 0 is centred on up, clockwise."""

    seen: NDArray[np.bool_]
    reach_pct: F64

    def worst(self) -> int | None:
        """The sector of least reach among those seen."""
        if not self.seen.any():
            return None
        return int(np.argmin(np.where(self.seen, self.reach_pct, np.inf)))


class BearingDial(QWidget):
    """One stick. `show_point` each frame; everything else when it changes."""

    def __init__(self, name: str, gate: str, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.name, self.gate = name, gate
        self._look = look
        self._limits = DialLimits()
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

    def set_limits(self, limits: DialLimits) -> None:
        if limits != self._limits:
            self._limits = limits
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
        return centre, max(room / 2 / _EXTENT[self.gate], 10.0)

    def _place(self, x_pct: float, y_pct: float) -> QPointF:
        centre, radius = self._middle()
        edge = _EXTENT[self.gate]
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
        ratio = self.devicePixelRatioF()
        layer = QPixmap(math.ceil(self.width() * ratio), math.ceil(self.height() * ratio))
        layer.setDevicePixelRatio(ratio)
        layer.fill(color(self._look.pane))
        painter = QPainter(layer)
        self._paint_field(painter)
        self._paint_ticks(painter)
        painter.end()
        return layer

    def _forget_layer(self) -> None:
        self._layer = None
        self.update()

    def _paint_field(self, painter: QPainter) -> None:
        look = self._look
        centre, radius = self._middle()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        faint = mix(look.pane, look.line, 0.75)
        painter.setPen(QPen(color(faint), 1))
        for share in (0.25, 0.5, 0.75):
            painter.drawEllipse(centre, radius * share, radius * share)
        for k in range(4):
            dx, dy = radius * math.sin(k * math.pi / 4), radius * math.cos(k * math.pi / 4)
            painter.drawLine(QPointF(centre.x() - dx, centre.y() - dy), QPointF(centre.x() + dx, centre.y() + dy))
        self._paint_gate(painter, centre, radius)
        if self._point is None:
            self._paint_unknown(painter, centre, radius)
        else:
            self._paint_limits(painter, centre, radius)
        self._paint_caption(painter)

    def _paint_gate(self, painter: QPainter, centre: QPointF, radius: float) -> None:
        pen = QPen(color(self._look.line), 1)
        if self._point is None:
            pen.setStyle(Qt.PenStyle.DashLine)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if self.gate == "square":
            painter.drawRect(QRectF(centre.x() - radius, centre.y() - radius, 2 * radius, 2 * radius))
        elif self.gate == "octagon":
            corners = [
                QPointF(
                    centre.x() + radius * math.sin(k * math.pi / 4), centre.y() - radius * math.cos(k * math.pi / 4)
                )
                for k in range(8)
            ]
            painter.drawPolygon(QPolygonF(corners))
        else:
            painter.drawEllipse(centre, radius, radius)

    def _paint_limits(self, painter: QPainter, centre: QPointF, radius: float) -> None:
        look, limits = self._look, self._limits
        reach = QPen(color(look.dim), 1.2, Qt.PenStyle.CustomDashLine)
        reach.setDashPattern([1.0, 4.0])
        painter.setPen(reach)
        share = limits.reach[0] / 100
        if self.gate == "square":
            side = radius * share
            painter.drawRect(QRectF(centre.x() - side, centre.y() - side, 2 * side, 2 * side))
        else:
            painter.drawEllipse(centre, radius * share, radius * share)
        fail = QPen(color(look.bad), 1, Qt.PenStyle.CustomDashLine)
        fail.setDashPattern([3.0, 2.5])
        painter.setPen(fail)
        painter.drawEllipse(centre, radius * limits.rest[1] / 100, radius * limits.rest[1] / 100)
        painter.setPen(QPen(color(look.good), 1.3))
        painter.drawEllipse(centre, radius * limits.rest[0] / 100, radius * limits.rest[0] / 100)

    def _paint_unknown(self, painter: QPainter, centre: QPointF, radius: float) -> None:
        painter.setFont(self._look.font(13))
        painter.setPen(color(self._look.dim))
        box = QRectF(centre.x() - radius, centre.y() - radius, 2 * radius, 2 * radius)
        text = "no report yet:\nmove it"
        bounds = painter.boundingRect(box, Qt.AlignmentFlag.AlignCenter, text)
        painter.fillRect(bounds.adjusted(-6, -3, 6, 3), color(self._look.pane))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)

    def _paint_caption(self, painter: QPainter) -> None:
        look = self._look
        top = self.height() - self.caption_height()
        painter.setFont(look.font(17, bold=True))
        painter.setPen(color(look.accent if self._current else look.text))
        name = QRectF(0, top, self.width(), look.px(23))
        painter.drawText(name, Qt.AlignmentFlag.AlignCenter, _elided(painter, self.name, self.width()))
        painter.setFont(look.font(14))
        painter.setPen(color(look.dim))
        line = QRectF(0, top + look.px(23), self.width(), look.px(21))
        painter.drawText(line, Qt.AlignmentFlag.AlignCenter, _elided(painter, self._caption, self.width()))

    def _paint_ticks(self, painter: QPainter) -> None:
        centre, radius = self._middle()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        inner = radius * _TICKS_AT[self.gate]
        groups: dict[tuple[str, float, float], list[QLineF]] = {}
        for k in range(SECTORS):
            style = self._tick_style(k, self._rim)
            a = math.radians(k * 360 / SECTORS)
            sx, sy = math.sin(a), -math.cos(a)
            outer = inner + style[1] * radius
            groups.setdefault(style, []).append(
                QLineF(
                    centre.x() + inner * sx, centre.y() + inner * sy, centre.x() + outer * sx, centre.y() + outer * sy
                )
            )
        for (name, _, width), lines in groups.items():
            pen = QPen(color(name), max(1.0, width * radius))
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
            painter.setPen(pen)
            painter.drawLines(lines)
        self._paint_worst(painter, centre, radius)

    def _tick_style(self, sector: int, rim: RimView | None) -> tuple[str, float, float]:
        """Colour, length and width of a tick (shares of the radius)."""
        look = self._look
        if rim is None or not rim.seen[sector]:
            return (mix(look.pane, look.line, 0.9), 0.03, 0.026)
        reach, (limit, fail) = float(rim.reach_pct[sector]), self._limits.reach
        if reach >= limit:
            return (look.good, 0.09, 0.034)
        return (look.bad, 0.035, 0.034) if reach < fail else (look.borderline, 0.06, 0.034)

    def _paint_worst(self, painter: QPainter, centre: QPointF, radius: float) -> None:
        worst = self._rim.worst() if self._rim is not None else None
        if worst is None or self._rim is None:
            return
        reach = float(self._rim.reach_pct[worst])
        if reach >= self._limits.reach[0]:
            return
        at = centre + _toward(math.radians(worst * 360 / SECTORS)) * (radius * 0.83)
        painter.setFont(self._look.font(14, bold=True))
        box = QRectF(at.x() - 24, at.y() - 11, 48, 22)
        text = f"{reach:.0f}"
        plate = painter.boundingRect(box, Qt.AlignmentFlag.AlignCenter, text).adjusted(-3, 0, 3, 0)
        painter.fillRect(plate, color(self._look.pane))
        painter.setPen(color(self._look.bad if reach < self._limits.reach[1] else self._look.borderline))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)

    def _paint_settled(self, painter: QPainter) -> None:
        arm = self._look.px(4)
        painter.setPen(QPen(color(self._look.accent), 1.4))
        for x, y in self._settled:
            at = self._place(x, y)
            painter.drawLine(QPointF(at.x() - arm, at.y()), QPointF(at.x() + arm, at.y()))
            painter.drawLine(QPointF(at.x(), at.y() - arm), QPointF(at.x(), at.y() + arm))

    def _trail_line(self) -> tuple[list[float], list[float]]:
        """The trail in pixels."""
        centre, radius = self._middle()
        edge = 100.0 * _EXTENT[self.gate]
        x = centre.x() + np.clip(self._trail[0], -edge, edge) * (radius / 100)
        y = centre.y() - np.clip(self._trail[1], -edge, edge) * (radius / 100)
        return x.tolist(), y.tolist()

    def _moving_box(self) -> QRectF:
        """What the point and its trail cover."""
        if self._point is None:
            return QRectF()
        at, room = self._place(*self._point), self._look.px(10) + 2
        box = QRectF(at.x() - room, at.y() - room, 2 * room, 2 * room)
        x, y = self._trail_line()
        if x:
            box = box.united(QRectF(min(x) - 2, min(y) - 2, max(x) - min(x) + 4, max(y) - min(y) + 4))
        return box

    def _paint_trail(self, painter: QPainter) -> None:
        if len(self._trail[0]) < 2:
            return
        painter.setPen(QPen(color(mix(self._look.pane, self._look.text, 0.55)), 1))
        painter.drawPolyline(QPolygonF([QPointF(x, y) for x, y in zip(*self._trail_line(), strict=True)]))

    def _paint_point(self, painter: QPainter) -> None:
        assert self._point is not None
        at, look = self._place(*self._point), self._look
        painter.setPen(QPen(color(look.text), 1.3))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(at, look.px(10), look.px(10))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(color(look.text))
        painter.drawEllipse(at, look.px(5.5), look.px(5.5))


def _toward(bearing_rad: float) -> QPointF:
    """Unit vector of a bearing (0 = up, clockwise) on the screen."""
    return QPointF(math.sin(bearing_rad), -math.cos(bearing_rad))


def _elided(painter: QPainter, text: str, width: float) -> str:
    return painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, int(width))
