"""All pictures of the room on one stack. Each is made when it is first shown, then kept and hidden: nothing of the plot
library is thrown away before the window is (docs/decisions/time-plot.md).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout, QWidget

from station.checks.looked import Picture
from station.evidence.drawing import Evidence, Line, Stop
from station.measure.arrays import NS_PER_S
from station.ui.evidence.codes import CodesPicture
from station.ui.evidence.field import Field
from station.ui.evidence.over_time import OverTime, Shown
from station.ui.evidence.overlay import Band, Mark
from station.ui.evidence.plot import Plot
from station.ui.painting.look import Look
from station.words import evidence_room as words

Part = OverTime | Field | CodesPicture
_PICTURES: dict[Picture, Callable[[Look], Part]] = {
    "time": OverTime,
    "intervals": OverTime,
    "codes": CodesPicture,
    "path": Field,
    "cloud": Field,
}
LEAST_WIDE_PX, LEAST_TALL_PX = 240, 210
AROUND_STOP = 12.0
"""a place is shown with so many times of its own length around it …"""
LEAST_AROUND_S, AROUND_PRESS_S = 0.12, 2.0
"""… and no less than so many seconds of it; of contacts alone so many, that the presses beside it are seen"""


@dataclass(frozen=True, slots=True)
class Cursors:
    """Where the two cursors stand, seconds since the try began; `active`: the one that the keys move, 0 or 1."""

    first: float | None = None
    second: float | None = None
    active: int = 0

    def both(self) -> tuple[float | None, float | None]:
        return self.first, self.second


class Plots(QWidget):
    """`show_evidence`, then `show_picture`.

    Signals: `moved()`: another stretch of the try is shown; `clicked(float, bool)`: a place in time, and with Shift.
    """

    moved = Signal()
    clicked = Signal(float, bool)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look = look
        self._made: dict[str, Part] = {}
        self._evidence: Evidence | None = None
        self._other: Evidence | None = None
        self.picture: Picture | None = None
        self._marks: dict[Stop, Mark] = {}
        self._stack = QStackedWidget()
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(self._stack)

    def sizeHint(self) -> QSize:
        """It asks for no more than it needs at least, so that the words below keep their room; the rest is its own."""
        return QSize(self._look.px(LEAST_WIDE_PX), self._look.px(LEAST_TALL_PX))

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def close_plots(self) -> None:
        """Take the plots apart in order, views first, so that the collector has nothing left to free in any order."""
        for part in self._made.values():
            for plot in (part,) if isinstance(part, Plot) else part.plots():
                plot.close()
        self._made.clear()

    def set_look(self, look: Look) -> None:
        self._look = look
        for part in self._made.values():
            part.set_look(look)

    def show_evidence(self, evidence: Evidence, other: Evidence | None = None) -> None:
        """Take another result; the picture that tells most of it comes to the front, unless the one shown is there."""
        self._evidence, self._other = evidence, other
        if evidence.pictures:
            here = self.picture if self.picture in evidence.pictures else evidence.pictures[0]
            self.show_picture(here)

    def show_picture(self, picture: Picture) -> None:
        evidence = self._evidence
        if evidence is None:
            return
        self.picture = picture
        part = self._part(picture)
        if isinstance(part, OverTime):
            drawn = _over_time if picture == "time" else _waits
            for plot in (part.values, part.contacts):
                plot.item.setLabel("bottom", evidence.counts_from or words.TIME_AXIS)
            part.show_what(_with(drawn(evidence), drawn(self._other) if self._other is not None else None))
        elif isinstance(part, CodesPicture):
            part.show_codes(evidence.codes, evidence.looked)
        elif picture == "path" and evidence.path is not None:
            part.show_path(evidence.path, evidence.looked, self._other.path if self._other is not None else None)
        elif evidence.cloud is not None:
            part.show_cloud(evidence.cloud, self._other.cloud if self._other is not None else None)
        self._stack.setCurrentWidget(part)

    def _part(self, picture: Picture) -> Part:
        if picture not in self._made:
            part = self._made[picture] = _PICTURES[picture](self._look)
            self._stack.addWidget(part)
            if isinstance(part, OverTime):
                part.moved.connect(self.moved)
                part.clicked.connect(self.clicked)
                part.values.item.setLabel("left", words.WAITS_AXIS if picture == "intervals" else words.TRAVEL_AXIS)
        return self._made[picture]

    # --- where in time -----------------------------------------------------------------------------------

    def over_time(self) -> OverTime | None:
        """The picture in front, if it is one over time."""
        part = self._made.get(self.picture or "")
        return part if isinstance(part, OverTime) else None

    def shown_s(self) -> tuple[float, float]:
        part = self.over_time()
        if part is not None:
            return part.shown_s()
        return 0.0, self._evidence.lasted_ns / NS_PER_S if self._evidence is not None else 0.0

    def zoom(self, factor: float, around_s: float | None = None) -> None:
        """`factor` < 1 shows less of the try, around this moment or the middle."""
        part = self.over_time()
        if part is None:
            return
        begin, end = part.shown_s()
        middle = (begin + end) / 2.0 if around_s is None or not begin <= around_s <= end else around_s
        part.zoom_to(middle - (middle - begin) * factor, middle + (end - middle) * factor)

    def pan(self, share: float) -> None:
        """Move on by this share of what is shown."""
        part = self.over_time()
        if part is not None:
            begin, end = part.shown_s()
            part.zoom_to(begin + share * (end - begin), end + share * (end - begin))

    def whole(self) -> None:
        part = self.over_time()
        if part is not None:
            part.show_whole()

    def go_to(self, stop: Stop) -> None:
        """Show a place, with some of what is around it."""
        evidence = self._evidence
        if evidence is None:
            return
        picture = next((p for p in evidence.pictures if p in ("time", "intervals")), None)
        if picture is not None and picture != self.picture:
            self.show_picture(picture)
        part = self.over_time()
        if part is None:
            return
        begin, end = ((t - evidence.begin_ns) / NS_PER_S for t in (stop.begin_ns, stop.end_ns))
        least = LEAST_AROUND_S if evidence.over_time.lines or picture != "time" else AROUND_PRESS_S
        around = max(least, AROUND_STOP * (end - begin)) / 2.0
        if stop.spot is None:
            part.show_whole()
        else:
            part.look_at(begin - around, end + around, stop.spot.axis or "")

    def set_cursors(self, cursors: Cursors, stop: Stop | None) -> None:
        part, evidence = self.over_time(), self._evidence
        if part is None or evidence is None:
            return
        overlay = part.values.overlay if part.values.overlay.marks else part.contacts.overlay
        chosen = None
        if stop is not None and stop.spot is not None:
            begin = (stop.spot.begin_ns - evidence.begin_ns) / NS_PER_S
            chosen = next((m for m in overlay.marks if m.begin == begin), None)
        part.set_cursors(cursors.both(), chosen)


def _over_time(evidence: Evidence) -> Shown:
    begin = evidence.begin_ns
    bands = tuple(
        Band((p.begin_ns - begin) / NS_PER_S, (p.end_ns - begin) / NS_PER_S, not p.why) for p in evidence.looked.parts
    )
    what = evidence.over_time
    return Shown(
        begin,
        evidence.end_ns,
        what.lines,
        what.contacts,
        tuple(level.value for level in what.levels),
        what.span,
        evidence.silent_ns,
        bands,
        tuple(_mark(s.begin_ns, s.end_ns, begin, s.faulty) for s in evidence.looked.spots),
    )


def _waits(evidence: Evidence) -> Shown:
    waits = evidence.waits
    if waits is None:
        return Shown(evidence.begin_ns, evidence.end_ns)
    line = Line(words.PICTURES["intervals"], words.MILLISECONDS, waits.t_ns, waits.ms)
    levels = tuple(level.value for level in waits.levels)
    span = (0.0, 1.05 * max(float(waits.ms.max()), *levels, 0.0))
    faulty = tuple(_mark(s.begin_ns, s.end_ns, evidence.begin_ns, True) for s in evidence.looked.spots if s.faulty)
    return Shown(evidence.begin_ns, evidence.end_ns, (line,), (), levels, span, marks=faulty)


def _mark(begin_ns: int, end_ns: int, nought_ns: int, faulty: bool) -> Mark:
    return Mark((begin_ns - nought_ns) / NS_PER_S, (end_ns - nought_ns) / NS_PER_S, None, faulty)


def _with(shown: Shown, other: Shown | None) -> Shown:
    if other is None:
        return shown
    span = min(shown.span[0], other.span[0]), max(shown.span[1], other.span[1])
    return replace(shown, other=other, span=span)
