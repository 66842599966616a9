"""The time plot of the stick or trigger under test: the same ten seconds as the contact strips, on the same axis.

One pyqtgraph plot, built once. Pens of width 1, opaque, no antialias; ≤ 2 points per pixel column; ranges fixed.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QVBoxLayout, QWidget

from station.sheets.signals import F64, I64
from station.ui.look import Look, color
from station.ui.tracks import envelope


class TracePlot(QWidget):
    """Horizontal and vertical of a stick (or the pull of a trigger) against time. pyqtgraph is loaded on first use."""

    def __init__(self, look: Look, window_ns: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._window_ns = window_ns
        self._title = ""
        self._limit_pct: tuple[float, ...] = ()
        self._range = (-100.0, 100.0)
        self._gutter = look.px(148)
        self._plot: Any = None
        self._curves: list[Any] = []
        self._lines: list[Any] = []
        self._box = QVBoxLayout(self)
        self._box.setContentsMargins(0, 0, 0, 0)
        self._legend = _Legend(look, self)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAccessibleName("Last check against time")

    def set_look(self, look: Look) -> None:
        self._look = look
        self._legend.set_look(look)
        if self._plot is not None:
            self._dress()

    def set_gutter(self, width: int) -> None:
        """Width of the names beside the contact strips, so that both share one time axis."""
        if width != self._gutter:
            self._gutter = width
            if self._plot is not None:
                self._plot.getPlotItem().getAxis("left").setWidth(width)

    def set_subject(self, title: str, limits_pct: tuple[float, ...], range_pct: tuple[float, float]) -> None:
        """What is drawn: a title, limits as level lines, and the fixed range of the value axis."""
        if (title, limits_pct, range_pct) != (self._title, self._limit_pct, self._range):
            self._title, self._limit_pct, self._range = title, limits_pct, range_pct
            if self._plot is not None:
                self._dress()

    def show_now(self, now_ns: int, values: tuple[I64, F64, F64], two_axes: bool) -> None:
        """One setData per curve; `values` as of `ValueTrack.since`."""
        if self._plot is None:
            self._build()
        t, x, y = values
        columns = max(self.width() - self._gutter, 50)
        from_ns = now_ns - self._window_ns
        self._curves[0].setData(*envelope(t, x, from_ns, now_ns, columns))
        if two_axes:
            self._curves[1].setData(*envelope(t, y, from_ns, now_ns, columns))
        self._curves[1].setVisible(two_axes)
        self._legend.set_two(two_axes)

    def load(self) -> None:
        """Load the plot library now, so that the first check does not wait for it."""
        if self._plot is None:
            self._build()

    def unload(self) -> None:
        """Take the plot apart. The cycle collector would free its scene and items in any order, which crashes."""
        plot, self._plot = self._plot, None
        self._curves, self._lines = [], []
        if plot is not None:
            self._box.removeWidget(plot)
            plot.close()
            plot.setParent(None)
            plot.deleteLater()

    def _build(self) -> None:
        import pyqtgraph as pg

        self._plot = pg.PlotWidget(background=self._look.pane)
        item = self._plot.getPlotItem()
        item.setMenuEnabled(False)
        item.hideButtons()
        item.disableAutoRange()
        item.setMouseEnabled(False, False)
        item.setXRange(-self._window_ns * 1e-9, 0, padding=0)
        self._plot.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._curves = [pg.PlotCurveItem(antialias=False, skipFiniteCheck=True) for _ in range(2)]
        self._lines = [pg.InfiniteLine(angle=0) for _ in range(4)]
        for part in (*self._lines, *self._curves):
            item.addItem(part)
        self._box.addWidget(self._plot)
        self._legend.raise_()
        self._dress()

    def _dress(self) -> None:
        import pyqtgraph as pg

        look, item = self._look, self._plot.getPlotItem()
        self._plot.setBackground(look.pane)
        item.setYRange(*self._range, padding=0.05)
        low, high = self._range
        ticks = [low, (low + high) / 2, high]
        for side in ("left", "bottom"):
            axis = item.getAxis(side)
            axis.setPen(pg.mkPen(look.line))
            axis.setTextPen(pg.mkPen(look.dim))
            axis.setStyle(tickFont=look.font(12.5), tickLength=-4)
        item.getAxis("left").setTicks([[(v, f"{v:g} %".replace("-", "−")) for v in ticks]])
        item.getAxis("left").setWidth(self._gutter)
        item.getAxis("bottom").setTicks([[(-10, "10 s ago"), (-5, "5 s"), (0, "now")]])
        item.getAxis("bottom").setStyle(showValues=False)
        item.getAxis("bottom").setHeight(look.px(6))
        self._curves[0].setPen(pg.mkPen(look.accent, width=1))
        self._curves[1].setPen(pg.mkPen(look.text, width=1))
        for k, line in enumerate(self._lines):
            line.setVisible(k < len(self._limit_pct))
            line.setPen(pg.mkPen(look.good, width=1, style=Qt.PenStyle.DashLine))
            if k < len(self._limit_pct):
                line.setValue(self._limit_pct[k])
        item.setTitle(None)

    def resizeEvent(self, event: object) -> None:
        self._legend.setGeometry(0, 0, max(self._gutter - self._look.px(58), 0), self.height())

    @property
    def points(self) -> int:
        """Points in the first curve as it is drawn."""
        return 0 if not self._curves or self._curves[0].xData is None else int(np.size(self._curves[0].xData))


class _Legend(QWidget):
    """Which line is which, beside the value axis."""

    def __init__(self, look: Look, parent: QWidget) -> None:
        super().__init__(parent)
        self._look = look
        self._two = True

    def set_look(self, look: Look) -> None:
        self._look = look
        self.update()

    def set_two(self, two: bool) -> None:
        if two != self._two:
            self._two = two
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        look = self._look
        painter = QPainter(self)
        painter.setFont(look.font(13))
        tall = look.px(20)
        lines = ((look.accent, "horizontal"), (look.text, "vertical")) if self._two else ((look.accent, "pull"),)
        top = (self.height() - tall * len(lines)) / 2
        for k, (name, word) in enumerate(lines):
            y = top + k * tall
            painter.setPen(QPen(color(name), 2))
            painter.drawLine(QPointF(0, y + tall / 2), QPointF(look.px(12), y + tall / 2))
            painter.setPen(color(look.dim))
            box = QRectF(look.px(17), y, self.width() - look.px(17), tall)
            painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, word)
        painter.end()
