"""What stands still on a bearing dial: field, rings of the limits, ticks of the rim, name and caption."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPen, QPixmap, QPolygonF

from station.measure.sectors import SECTORS, centre_deg
from station.sheets.signals import F64
from station.ui.painting.look import Look, color, mix
from station.words import figures
from station.words import live as words

EXTENT = {"round": 1.19, "octagon": 1.19, "square": 1.58}
"""half the room of a dial for each gate, in radii of 100 %"""
TICKS_AT = {"round": 1.06, "octagon": 1.06, "square": 1.45}


@dataclass(frozen=True, slots=True)
class DialLimits:
    """Rings of a dial, % of half travel: (limit of a pass, where the fail begins). Rest is good below, reach above."""

    rest: tuple[float, float]
    reach: tuple[float, float]


@dataclass(frozen=True, slots=True)
class RimView:
    """What the rim check has seen: `seen` bool[72], `reach_pct` float[72], by sector (`measure.sectors`)."""

    seen: NDArray[np.bool_]
    reach_pct: F64

    def worst(self) -> int | None:
        """The sector of least reach among those seen."""
        if not self.seen.any():
            return None
        return int(np.argmin(np.where(self.seen, self.reach_pct, np.inf)))


@dataclass(frozen=True, slots=True)
class DialLayer:
    """Paints the layer. `known`: the stick has reported; `centre` and `radius` of 100 % in pixels."""

    look: Look
    gate: str
    limits: DialLimits
    rim: RimView | None
    known: bool
    centre: QPointF
    radius: float

    def pixmap(self, size: QSize, ratio: float, caption: QRectF, name: str, text: str, current: bool) -> QPixmap:
        """The whole layer; `caption` is the box of name and text below the dial."""
        layer = QPixmap(math.ceil(size.width() * ratio), math.ceil(size.height() * ratio))
        layer.setDevicePixelRatio(ratio)
        layer.fill(color(self.look.pane))
        painter = QPainter(layer)
        self._paint_field(painter)
        self._paint_ticks(painter)
        self._paint_caption(painter, caption, name, text, current)
        painter.end()
        return layer

    def _circle(self, painter: QPainter, share: float) -> None:
        painter.drawEllipse(self.centre, self.radius * share, self.radius * share)

    def _square(self, share: float) -> QRectF:
        side = 2 * self.radius * share
        return QRectF(self.centre.x() - side / 2, self.centre.y() - side / 2, side, side)

    def _paint_field(self, painter: QPainter) -> None:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(color(mix(self.look.pane, self.look.line, 0.75)), 1))
        for share in (0.25, 0.5, 0.75):
            self._circle(painter, share)
        for k in range(4):
            spoke = _toward(k * math.pi / 4) * self.radius
            painter.drawLine(self.centre - spoke, self.centre + spoke)
        self._paint_gate(painter)
        if self.known:
            self._paint_limits(painter)
        else:
            self._paint_unknown(painter)

    def _paint_gate(self, painter: QPainter) -> None:
        pen = QPen(color(self.look.line), 1)
        if not self.known:
            pen.setStyle(Qt.PenStyle.DashLine)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if self.gate == "square":
            painter.drawRect(self._square(1.0))
        elif self.gate == "octagon":
            corners = [self.centre + _toward(k * math.pi / 4) * self.radius for k in range(8)]
            painter.drawPolygon(QPolygonF(corners))
        else:
            self._circle(painter, 1.0)

    def _paint_limits(self, painter: QPainter) -> None:
        look, limits = self.look, self.limits
        reach = QPen(color(look.dim), 1.2, Qt.PenStyle.CustomDashLine)
        reach.setDashPattern([1.0, 4.0])
        painter.setPen(reach)
        if self.gate == "square":
            painter.drawRect(self._square(limits.reach[0] / 100))
        else:
            self._circle(painter, limits.reach[0] / 100)
        fail = QPen(color(look.bad), 1, Qt.PenStyle.CustomDashLine)
        fail.setDashPattern([3.0, 2.5])
        painter.setPen(fail)
        self._circle(painter, limits.rest[1] / 100)
        painter.setPen(QPen(color(look.good), 1.3))
        self._circle(painter, limits.rest[0] / 100)

    def _paint_unknown(self, painter: QPainter) -> None:
        painter.setFont(self.look.font(13))
        painter.setPen(color(self.look.dim))
        box, text = self._square(1.0), words.NO_REPORT_YET
        flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        bounds = painter.boundingRect(box, flags, text)
        painter.fillRect(bounds.adjusted(-6, -3, 6, 3), color(self.look.pane))
        painter.drawText(box, flags, text)

    def _paint_caption(self, painter: QPainter, box: QRectF, name: str, text: str, current: bool) -> None:
        look = self.look
        upper = QRectF(box.x(), box.y(), box.width(), look.px(23))
        lower = QRectF(box.x(), upper.bottom(), box.width(), look.px(21))
        painter.setFont(look.font(17, bold=True))
        painter.setPen(color(look.accent if current else look.text))
        painter.drawText(upper, Qt.AlignmentFlag.AlignCenter, _elided(painter, name, box.width()))
        painter.setFont(look.font(14))
        painter.setPen(color(look.dim))
        painter.drawText(lower, Qt.AlignmentFlag.AlignCenter, _elided(painter, text, box.width()))

    def _paint_ticks(self, painter: QPainter) -> None:
        inner = self.radius * TICKS_AT[self.gate]
        groups: dict[tuple[str, float, float], list[QLineF]] = {}
        for k in range(SECTORS):
            style = self._tick_style(k)
            way = _toward(math.radians(centre_deg(k)))
            line = QLineF(self.centre + way * inner, self.centre + way * (inner + style[1] * self.radius))
            groups.setdefault(style, []).append(line)
        for (name, _, width), lines in groups.items():
            pen = QPen(color(name), max(1.0, width * self.radius))
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
            painter.setPen(pen)
            painter.drawLines(lines)
        self._paint_worst(painter)

    def _tick_style(self, sector: int) -> tuple[str, float, float]:
        """Colour, length and width of a tick (shares of the radius)."""
        look, rim = self.look, self.rim
        if rim is None or not rim.seen[sector]:
            return (mix(look.pane, look.line, 0.9), 0.03, 0.026)
        reach, (limit, fail) = float(rim.reach_pct[sector]), self.limits.reach
        if reach >= limit:
            return (look.good, 0.09, 0.034)
        return (look.bad, 0.035, 0.034) if reach < fail else (look.borderline, 0.06, 0.034)

    def _paint_worst(self, painter: QPainter) -> None:
        worst = self.rim.worst() if self.rim is not None else None
        if worst is None or self.rim is None:
            return
        reach = float(self.rim.reach_pct[worst])
        if reach >= self.limits.reach[0]:
            return
        at = self.centre + _toward(math.radians(centre_deg(worst))) * (self.radius * 0.83)
        painter.setFont(self.look.font(14, bold=True))
        box = QRectF(at.x() - 24, at.y() - 11, 48, 22)
        text = figures.number(reach, 0)
        plate = painter.boundingRect(box, Qt.AlignmentFlag.AlignCenter, text).adjusted(-3, 0, 3, 0)
        painter.fillRect(plate, color(self.look.pane))
        painter.setPen(color(self.look.bad if reach < self.limits.reach[1] else self.look.borderline))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def _toward(bearing_rad: float) -> QPointF:
    """Unit vector of a bearing (0 = up, clockwise) on the screen."""
    return QPointF(math.sin(bearing_rad), -math.cos(bearing_rad))


def _elided(painter: QPainter, text: str, width: float) -> str:
    return painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, int(width))
