"""Values and contacts over time, with an overview of the whole try below them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Signal
from PySide6.QtGui import QColor, QFontMetricsF
from PySide6.QtWidgets import QVBoxLayout, QWidget

from station.evidence.drawing import Contact, Line
from station.evidence.peaks import Drawn, Peaks
from station.measure.arrays import F64, I64, NS_PER_S
from station.ui.evidence.line_key import LineKey
from station.ui.evidence.overlay import LANE_PX, LEAST_LANE_PX, MARKS_PX, Band, Lane, Mark
from station.ui.evidence.plot import AXIS_PX, LEAST_SPAN_S, Plot
from station.ui.painting.look import Look, color
from station.words import evidence_room as words
from station.words import grammar

OVERVIEW_PX = 58
POINTS_FROM_PX = 4.0
"""reports that are so far apart on the screen are marked one by one"""
TONES = ("accent", "borderline", "good", "dim", "bad", "text")
"""of the lines in their order: horizontal, vertical, those of a second stick, and two more"""
FIT_ROOM, LEAST_FIT = 0.3, 1.0
"""around the values of a line that a place is looked at of: a share of their range, and no less than so much"""


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """What is drawn over time. Times of lines and contacts are ns, those of bands and marks seconds since `begin_ns`,
    where the axis has its nought. `other`: another try, laid over from its own beginning on."""

    begin_ns: int
    end_ns: int
    lines: tuple[Line, ...] = ()
    contacts: tuple[Contact, ...] = ()
    levels: tuple[float, ...] = ()
    span: tuple[float, float] = (0.0, 1.0)
    silent_ns: I64 | None = None
    bands: tuple[Band, ...] = ()
    marks: tuple[Mark, ...] = ()
    other: Shown | None = None

    @property
    def seconds(self) -> float:
        """How long the longer of the two lasted."""
        own = (self.end_ns - self.begin_ns) / NS_PER_S
        return max(own, self.other.seconds) if self.other is not None else own


class OverTime(QWidget):
    """`show_what`, then `zoom_to`. Lines are made once and kept; another result gives them other points.

    Signals: `moved()`: another stretch is shown; `clicked(float, bool)` as of a plot.
    """

    moved = Signal()
    clicked = Signal(float, bool)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look = look
        self.values, self.contacts, self.overview = Plot(look), Plot(look), Plot(look)
        self._lines = [[self.values.line(getattr(look, tone), k == 1) for tone in TONES] for k in range(2)]
        self._points = pg.ScatterPlotItem(
            size=5, pxMode=True, pen=None, useCache=False
        )  # few, and drawn as such in a file
        self.values.item.addItem(self._points, ignoreBounds=True)
        self._whole = [self.overview.line(getattr(look, tone)) for tone in TONES]
        self._window = pg.LinearRegionItem(movable=True)
        self.overview.item.addItem(self._window, ignoreBounds=True)
        self._peaks: list[list[Peaks]] = [[], []]
        self._what = Shown(0, NS_PER_S)
        self._setting = False
        self._fit: int | None = None
        self.key = LineKey(look)
        self.contacts.item.hideAxis("bottom")
        self.contacts.item.getAxis("left").setStyle(tickLength=0)
        self._names: tuple[str, ...] = ()
        self.overview.item.hideAxis("left")
        self.overview.item.setMouseEnabled(x=False, y=False)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        box.addWidget(self.key)
        box.addWidget(self.contacts)
        box.addWidget(self.values, 1)
        box.addWidget(self.overview)
        for plot in (self.values, self.contacts):
            plot.clicked.connect(self.clicked)
        # not the library's link: that follows where the plots lie on the screen, and one of them may be hidden
        self.values.item.vb.sigXRangeChanged.connect(lambda: self._range_changed(self.values))
        self.contacts.item.vb.sigXRangeChanged.connect(lambda: self._range_changed(self.contacts))
        self.values.item.vb.sigResized.connect(self._draw)
        self.contacts.item.vb.sigResized.connect(self._name_lanes)
        self.contacts.item.setYRange(0.0, 1.0, padding=0)
        self._window.sigRegionChanged.connect(self._window_moved)
        self.set_look(look)

    def plots(self) -> tuple[Plot, ...]:
        return self.values, self.contacts, self.overview

    def set_look(self, look: Look) -> None:
        self._look = look
        for plot in self.plots():
            plot.set_look(look)
        self.overview.setFixedHeight(look.px(OVERVIEW_PX))
        for k, lines in enumerate((*self._lines, self._whole)):
            for tone, item in zip(TONES, lines, strict=True):
                item.setPen(self.values.pen(getattr(look, tone), k == 1))
        pane = QColor(color(look.accent))
        pane.setAlpha(50)
        self._window.setBrush(pane)
        for edge in self._window.lines:
            edge.setPen(self.values.pen(look.mark))
        self.key.set_look(look)
        self._arrange()
        self._draw()

    # --- what is shown -----------------------------------------------------------------------------------

    def show_what(self, what: Shown) -> None:
        self._what, self._fit = what, None
        both = (what, what.other or Shown(0, 1))
        self._peaks = [[Peaks(line.t_ns, line.values) for line in one.lines[: len(TONES)]] for one in both]
        overlay = self.values.overlay
        overlay.bands, overlay.levels = what.bands, what.levels
        named = _lanes(what)
        self._names, lanes = tuple(name for name, _ in named), tuple(lane for _, lane in named)
        self.contacts.overlay.lanes, self.contacts.overlay.bands = lanes, what.bands
        self.overview.overlay.lanes = () if what.lines else lanes[:1]
        on_lines = bool(what.lines)
        overlay.marks = what.marks if on_lines else ()
        self.contacts.overlay.marks = () if on_lines else what.marks
        low, high = what.span
        self._whole_span()
        self.overview.item.setYRange(low, high, padding=0.1)
        limits = {"xMin": -0.02 * what.seconds, "xMax": 1.02 * what.seconds, "minXRange": LEAST_SPAN_S}
        for plot in (self.values, self.contacts):
            plot.item.vb.setLimits(**limits)
        self.overview.item.setXRange(0.0, what.seconds, padding=0.02)
        self._window.setBounds((0.0, what.seconds))
        self._arrange()
        self._say_key()
        self._draw_whole()
        self.zoom_to(0.0, what.seconds)
        self._draw()

    def _arrange(self) -> None:
        lanes = len(self.contacts.overlay.lanes)
        self.values.setVisible(bool(self._what.lines) or not lanes)
        self.contacts.setVisible(lanes > 0)
        alone = lanes > 0 and not self._what.lines
        self.contacts.item.showAxis("bottom", alone)
        room = self._look.px(MARKS_PX + 8)
        self.contacts.setMinimumHeight(min(self._look.px(LANE_PX * 4), self._look.px(LEAST_LANE_PX) * lanes + room))
        self.contacts.setMaximumHeight(16_777_215 if alone else self._look.px(LANE_PX) * lanes + room)
        metrics = QFontMetricsF(self._look.font(13))
        wide = max((metrics.horizontalAdvance(name) for name in self._names), default=0.0) + self._look.px(10)
        for plot in (self.values, self.contacts):  # both alike, so that a moment stands below itself
            plot.item.getAxis("left").setWidth(max(self._look.px(AXIS_PX), wide))
        self._name_lanes()

    def _name_lanes(self) -> None:
        """The names of the contacts, each beside its bars."""
        box = self.contacts.item.vb.rect()
        if box.height() > 0:
            bars = self.contacts.overlay.bars(box)
            at = [1.0 - bar.center().y() / box.height() for bar in bars]
            self.contacts.item.getAxis("left").setTicks([list(zip(at, self._names, strict=True))])

    def _say_key(self) -> None:
        """Which line is which."""
        lines, other = self._what.lines, self._what.other
        told = [(tone, line.name) for tone, line in zip(TONES, lines, strict=False)]
        if len(lines) > len(TONES):
            more = grammar.count_of(len(lines) - len(TONES), words.LINES)
            told.append(("", words.MORE_LINES.format(lines=more)))
        if other is not None and other.lines:
            told.append(("", words.DASHED_LINES))
        self.key.show_names(tuple(told))

    def _whole_span(self) -> None:
        self.values.item.setYRange(*self._what.span, padding=0.04)

    def set_cursors(self, cursors: tuple[float | None, float | None], chosen: Mark | None) -> None:
        for plot in (self.values, self.contacts):
            plot.overlay.cursors, plot.overlay.chosen = cursors, chosen
            plot.overlay.update()

    # --- where -------------------------------------------------------------------------------------------

    def zoom_to(self, begin_s: float, end_s: float) -> None:
        """Show this stretch, as far as there is anything."""
        self.values.item.setXRange(begin_s, end_s, padding=0)

    def show_whole(self) -> None:
        """The whole try, and all values of it."""
        self._fit = None
        self._whole_span()
        self.zoom_to(0.0, self._what.seconds)

    def look_at(self, begin_s: float, end_s: float, axis: str) -> None:
        """Show this stretch, and the values of the line of that axis so large that a small spike is seen; until
        `show_whole`. Without such a line all values stay."""
        self._fit = next((k for k, line in enumerate(self._what.lines[: len(TONES)]) if line.axis == axis), None)
        if self._fit is None:
            self._whole_span()
        self.zoom_to(begin_s, end_s)
        self._draw()

    def shown_s(self) -> tuple[float, float]:
        """The stretch that is shown, seconds since the try began."""
        low, high = self.values.item.vb.viewRange()[0]
        return float(low), float(high)

    def _range_changed(self, plot: Plot) -> None:
        """One of the plots was moved: the other goes along, and so does the window in the overview."""
        if self._setting:
            return
        self._setting = True
        shown = plot.item.vb.viewRange()[0]
        for other in (self.values, self.contacts):
            if other is not plot:
                other.item.setXRange(*shown, padding=0)
        self._window.setRegion(shown)
        self._setting = False
        self._draw()
        self.moved.emit()

    def _window_moved(self) -> None:
        if not self._setting:
            self.zoom_to(*self._window.getRegion())

    # --- drawing -----------------------------------------------------------------------------------------

    def _draw(self) -> None:
        """The lines as the stretch asks for them."""
        begin_s, end_s = self.shown_s()
        wide = self.values.columns()
        points: list[tuple[F64, F64]] = []
        fitted: list[F64] = []
        for one, peaks, items in zip((self._what, self._what.other), self._peaks, self._lines, strict=True):
            for k, item in enumerate(items):
                if one is None or k >= len(peaks):
                    item.setData([], [])
                    continue
                drawn = self._drawn(peaks[k], one, begin_s, end_s, wide)
                x = (drawn.t_ns - one.begin_ns) / NS_PER_S
                item.setData(x, drawn.values, connect=drawn.joined.astype(np.int32))
                fitted += [drawn.values] if k == self._fit and len(drawn.values) else []
                if drawn.single and len(drawn.reports) * POINTS_FROM_PX <= wide:
                    points.append((x[drawn.reports], drawn.values[drawn.reports]))
        if points:
            x, y = (np.concatenate(part) for part in zip(*points, strict=True))
            self._points.setData(x=x, y=y, brush=pg.mkBrush(color(self._look.text)))
        elif len(self._points.data):
            self._points.setData(x=[], y=[])
        if fitted:
            low, high = min(float(v.min()) for v in fitted), max(float(v.max()) for v in fitted)
            room = max(FIT_ROOM * (high - low), LEAST_FIT)
            self.values.item.setYRange(low - room, high + room, padding=0)

    def _drawn(self, peaks: Peaks, one: Shown, begin_s: float, end_s: float, wide: int) -> Drawn:
        begin = one.begin_ns + round(begin_s * NS_PER_S)
        end = one.begin_ns + round(end_s * NS_PER_S)
        silent = one.silent_ns if one.silent_ns is not None else np.empty((0, 2), dtype=np.int64)
        return peaks.drawn(begin, max(end, begin + 1), wide, silent, one.end_ns)

    def _draw_whole(self) -> None:
        wide = self.overview.columns()
        for k, item in enumerate(self._whole):
            if k < len(self._peaks[0]):
                drawn = self._drawn(self._peaks[0][k], self._what, 0.0, self._what.seconds, wide)
                x = (drawn.t_ns - self._what.begin_ns) / NS_PER_S
                item.setData(x, drawn.values, connect=drawn.joined.astype(np.int32))
            else:
                item.setData([], [])


def _lanes(what: Shown) -> list[tuple[str, Lane]]:
    """Each contact with its name, and below it the same one of the try that is laid over."""
    other = what.other
    over = [(c.name, _lane(c, other.begin_ns, other=True)) for c in other.contacts] if other is not None else []
    found: list[tuple[str, Lane]] = []
    for contact in what.contacts:
        found.append((contact.name, _lane(contact, what.begin_ns)))
        found += [(words.LANE_OF_OTHER.format(name=name), lane) for name, lane in over if name == contact.name]
    here = {c.name for c in what.contacts}
    return found + [(words.LANE_OF_OTHER.format(name=name), lane) for name, lane in over if name not in here]


def _lane(contact: Contact, begin_ns: int, *, other: bool = False) -> Lane:
    begin, end = ((t - begin_ns) / NS_PER_S for t in (contact.start_ns, contact.end_ns))
    return Lane(begin, end, contact.own, other)
