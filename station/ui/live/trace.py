"""The time plot of the stick or trigger under test: the same ten seconds as the contact strips, on the same axis.

Painted here, not by a plot library: one fixed axis, two lines, and nothing to take apart when the window closes
(docs/decisions/time-plot.md). Lines have ≤ 2 points for each pixel column, extremes kept, no antialias.
"""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QWidget

from station.sheets.signals import F64, I64
from station.ui.live.tracks import envelope
from station.ui.painting.lines import polyline
from station.ui.painting.look import Look, color
from station.ui.painting.told import Painted
from station.words import common, figures
from station.words import live as words

Line = tuple[F64, F64]
_NONE: Line = (np.empty(0), np.empty(0))


class TracePlot(Painted):
    """Horizontal and vertical of a stick (or the pull of a trigger) against time. `show_now` each frame."""

    def __init__(self, look: Look, window_ns: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._window_ns = window_ns
        self._limits_pct: tuple[float, ...] = ()
        self._range = (-100.0, 100.0)
        self._gutter = look.px(148)
        self._lines: tuple[Line, Line] = (_NONE, _NONE)
        self._two = True
        self._field: QPixmap | None = None
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName(words.LAST_CHECK)

    # --- what is shown -----------------------------------------------------------------------------

    def set_look(self, look: Look) -> None:
        self._look = look
        self._forget_field()

    def set_gutter(self, width: int) -> None:
        """Width of the names beside the contact strips, so that both share one time axis."""
        if width != self._gutter:
            self._gutter = width
            self._forget_field()

    def set_subject(self, title: str, limits_pct: tuple[float, ...], range_pct: tuple[float, float]) -> None:
        """What is drawn: whose values, limits as level lines, and the fixed range of the value axis."""
        self.setAccessibleDescription(title)
        self._lines = (_NONE, _NONE)
        self._limits_pct, self._range = limits_pct, range_pct
        self._forget_field()

    def show_now(self, now_ns: int, values: tuple[I64, F64, F64], two_axes: bool) -> None:
        """Draw the ten seconds up to `now_ns`; `values` as of `ValueTrack.since`."""
        if two_axes != self._two:
            self._two = two_axes
            self._forget_field()
        t, x, y = values
        from_ns, columns = now_ns - self._window_ns, max(int(self._box().width()), 2)
        first = envelope(t, x, from_ns, now_ns, columns)
        self._lines = (first, envelope(t, y, from_ns, now_ns, columns) if two_axes else _NONE)
        self.update(self._box().adjusted(-1, -1, 1, 1).toAlignedRect())

    @property
    def points(self) -> int:
        """Points of the first line as it is drawn."""
        return len(self._lines[0][0])

    # --- geometry ------------------------------------------------------------------------------------

    def _box(self) -> QRectF:
        """Where the lines stand."""
        pad = self._look.px(9)
        return QRectF(self._gutter, pad, max(self.width() - self._gutter, 1), max(self.height() - 2 * pad, 1))

    def _level(self, pct: float) -> float:
        """Height of a value, kept inside the plot."""
        low, high = self._range
        box = self._box()
        return box.bottom() - min(max((pct - low) / (high - low), 0.0), 1.0) * box.height()

    # --- painting --------------------------------------------------------------------------------------

    def resizeEvent(self, event: object) -> None:
        self._forget_field()

    def _forget_field(self) -> None:
        self._field = None
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        ratio = self.devicePixelRatioF()
        if self._field is None or self._field.devicePixelRatio() != ratio:
            self._field = QPixmap(math.ceil(self.width() * ratio), math.ceil(self.height() * ratio))
            self._field.setDevicePixelRatio(ratio)
            layer = QPainter(self._field)
            self._paint_field(layer)
            layer.end()
        painter = QPainter(self)
        painter.drawPixmap(0, 0, self._field)
        # the vertical one first: what is looked at most lies on top
        for line, name in zip(reversed(self._lines), (self._look.text, self._look.accent), strict=True):
            if len(line[0]):
                painter.setPen(QPen(color(name), 1))
                painter.drawPolyline(self._polygon(line))
        painter.end()

    def _polygon(self, line: Line) -> QPolygonF:
        """The line in pixels; what leaves the range runs along its edge."""
        box, (low, high) = self._box(), self._range
        x = box.right() + line[0] * (box.width() * 1e9 / self._window_ns)
        y = box.bottom() - np.clip((line[1] - low) / (high - low), 0.0, 1.0) * box.height()
        return polyline(x, y)

    def _paint_field(self, painter: QPainter) -> None:
        """Axis, limits and legend: all that stands still."""
        look, box = self._look, self._box()
        painter.fillRect(self.rect(), color(look.pane))
        painter.fillRect(box, color(look.ground))
        painter.setFont(look.font(12.5))
        low, high = self._range
        for pct in (low, (low + high) / 2, high):
            y = self._level(pct)
            painter.setPen(QPen(color(look.line), 1))
            painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
            painter.setPen(color(look.dim))
            place = QRectF(0, y - look.px(9), box.left() - look.px(6), look.px(18))
            text = figures.with_unit(figures.plain(pct), "%")
            painter.drawText(place, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)
        painter.setPen(QPen(color(look.good), 1, Qt.PenStyle.DashLine))
        for pct in self._limits_pct:
            painter.drawLine(QPointF(box.left(), self._level(pct)), QPointF(box.right(), self._level(pct)))
        self._paint_legend(painter)

    def _paint_legend(self, painter: QPainter) -> None:
        """Which line is which, beside the value axis."""
        look = self._look
        painter.setFont(look.font(13))
        tall, wide = look.px(20), self._gutter - look.px(58)
        two = ((look.accent, common.AXES["x"]), (look.text, common.AXES["y"]))
        lines = two if self._two else ((look.accent, words.PULL),)
        top = (self.height() - tall * len(lines)) / 2
        for k, (name, word) in enumerate(lines):
            y = top + k * tall
            painter.setPen(QPen(color(name), 2))
            painter.drawLine(QPointF(0, y + tall / 2), QPointF(look.px(12), y + tall / 2))
            painter.setPen(color(look.dim))
            place = QRectF(look.px(17), y, wide - look.px(17), tall)
            painter.drawText(place, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, word)
