"""One plot as the room uses it: axes in the look of the window, no menu, an overlay, and what the mouse does."""

from __future__ import annotations

import pyqtgraph as pg
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont, QPen
from PySide6.QtWidgets import QGraphicsView

from station.ui.evidence.overlay import Overlay
from station.ui.painting.look import Look, color

AXIS_PX = 64
LEAST_SPAN_S = 0.0005
"""as far as one can zoom: the reports of a link at 8 kHz are an eighth of this apart"""


class Plot(pg.PlotWidget):  # type: ignore[misc]
    """Drag moves, the wheel zooms; a click sets a cursor.

    Signals: `clicked(float, bool)`: where on the horizontal axis, and whether with Shift.
    """

    clicked = Signal(float, bool)

    def __init__(self, look: Look, *, lock: bool = False) -> None:
        """`lock`: both axes at one scale, as for the field of a stick; else only the horizontal one moves."""
        super().__init__()
        self.setCacheMode(QGraphicsView.CacheModeFlag.CacheNone)  # kept, its ground is an image in a file
        self.item = self.getPlotItem()
        self.item.setMenuEnabled(False)
        self.item.hideButtons()
        self.item.disableAutoRange()
        self.item.setMouseEnabled(x=True, y=lock)
        if lock:
            self.item.setAspectLocked(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.overlay = Overlay(look)
        self.item.addItem(self.overlay, ignoreBounds=True)
        self.scene().sigMouseClicked.connect(self._clicked)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        self.look = self.overlay.look = look
        self.setBackground(color(look.pane))
        self.item.layout.setContentsMargins(0, look.px(8), look.px(8), 0)  # figures at the ends of the axes are whole
        for name in ("left", "bottom"):
            axis = self.item.getAxis(name)
            axis.setPen(QPen(color(look.dim), 1))
            axis.setTextPen(color(look.text))
            axis.enableAutoSIPrefix(False)  # 0.2 s stays that, however far one zooms in
            axis.setStyle(tickFont=QFont(look.font(13)), tickLength=-4)
        self.item.getAxis("left").setWidth(look.px(AXIS_PX))

    def line(self, tone: str, dashed: bool = False) -> pg.PlotCurveItem:
        """A line of the plot, empty yet. Its pen is opaque and a pixel wide: a wider one costs many times as much."""
        item = pg.PlotCurveItem(pen=self.pen(tone, dashed), skipFiniteCheck=True, antialias=False)
        self.item.addItem(item, ignoreBounds=True)
        return item

    def pen(self, tone: str, dashed: bool = False) -> QPen:
        pen = QPen(color(tone), 1, Qt.PenStyle.DashLine if dashed else Qt.PenStyle.SolidLine)
        pen.setCosmetic(True)
        return pen

    def columns(self) -> int:
        """Pixels of width that the plot has."""
        return max(int(self.item.vb.width()), 16)

    def _clicked(self, event: pg.GraphicsScene.mouseEvents.MouseClickEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and self.item.vb.sceneBoundingRect().contains(event.scenePos()):
            at = self.item.vb.mapSceneToView(event.scenePos())
            shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self.clicked.emit(float(at.x()), shift)
