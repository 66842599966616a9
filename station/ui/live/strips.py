"""Contact strips: one row per contact, the last ten seconds of closed and open as bars against time.

Only those that moved in these ten seconds, and those that the check asks for, stand open; the others are folded away
into a line that names them. The axis is fixed: "now" at the right edge, ten seconds ago at the left. Beats stand as
small marks in a lane below the row that they call for; a missed one is a dashed line with the word. Openings and
closures of any length stay visible (`tracks.contact_bars`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen, QPixmap, QPolygonF, QRegion
from PySide6.QtWidgets import QWidget

from station.bench.types import BeatView
from station.ui.live.tracks import Bars, StateTrack, contact_bars
from station.ui.painting.look import Look, color, mix
from station.ui.painting.told import Painted
from station.words import grammar
from station.words import live as words
from station.words.grammar import listed

ROW_PX, LEAST_ROW_PX, MOST_ROW_PX = 28, 17, 38
USUALLY_OPEN = 5
"""so many rows room is kept for; more stand closer, or in two columns"""


@dataclass(frozen=True, slots=True)
class StripRow:
    control: str
    name: str
    hat: bool = False


class ContactStrips(Painted):
    """All contacts of the unit. `show_now` each frame."""

    def __init__(self, rows: Sequence[StripRow], look: Look, window_ns: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows = tuple(rows)
        self._look = look
        self._window_ns = window_ns
        self._bars: list[Bars] = [Bars()] * len(self._rows)
        self._directions: dict[str, int] = {}
        self._open: tuple[int, ...] = ()
        """the rows that stand open, by their place in `_rows`"""
        self._asked: frozenset[str] = frozenset()
        self._folded = ""
        self._strips: dict[int, QRect] = {}
        self._now_ns = 0
        self._beats: Sequence[BeatView] = ()
        self._beat_row = ""
        self._witness = ""
        self._lane = False
        self._field: QPixmap | None = None
        self._stale = True
        self._known: frozenset[str] = frozenset()
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName(words.CONTACTS)
        self.setAccessibleDescription(listed([row.name for row in self._rows]))

    def set_look(self, look: Look) -> None:
        self._look = look
        self._stale = True
        self.update()

    def set_current(
        self, control: str, witness: str = "", lane: bool = False, also: frozenset[str] = frozenset()
    ) -> None:
        """The row under test, the sibling pressed with it, whether beats need a lane below the row, and what `also` is
        asked for at the same time."""
        lane = lane and any(row.control == control for row in self._rows)
        asked = also | {control, witness}
        if (control, witness, lane, asked) != (self._beat_row, self._witness, self._lane, self._asked):
            self._beat_row, self._witness, self._lane, self._asked = control, witness, lane, asked
            self._stale = True
            self.update()

    def show_now(self, now_ns: int, tracks: Mapping[str, StateTrack], beats: Sequence[BeatView]) -> None:
        """Draw the ten seconds up to `now_ns`; only rows that look different are painted again.

        Controls that are not in `tracks` have never reported.
        """
        known = frozenset(tracks)
        stand_open = tuple(
            k for k, row in enumerate(self._rows) if row.control in self._asked or _moved(tracks.get(row.control))
        )
        if known != self._known or stand_open != self._open:
            self._known, self._open, self._stale = known, stand_open, True
        if self._stale:
            self._place_rows()
        from_ns = now_ns - self._window_ns
        for k in self._open:
            row = self._rows[k]
            track = tracks.get(row.control)
            if track is None:
                continue
            bars = contact_bars(track.t_ns, track.state, from_ns, now_ns, self._strips[k].width())
            direction = (track.now or 0) if row.hat else 0
            if bars != self._bars[k] or direction != self._directions.get(row.control, 0):
                self._bars[k] = bars
                self._directions[row.control] = direction
                self.update(self._strips[k])
        if self._lane and (beats or self._beats):
            self.update(self._strips[self._beaten()].united(self._lane_box()).adjusted(0, 0, 0, 2))
        self._now_ns, self._beats = now_ns, beats

    def _place_rows(self) -> None:
        """Where the rows stand now; what was known of their bars is out of date, and all is painted again."""
        self._stale, self._field = False, None
        self.update()
        self._folded = self._folded_words()
        self.setAccessibleDescription(self._folded)
        self._strips = {k: self._strip(place) for place, k in enumerate(self._open)}
        self._bars = [Bars()] * len(self._rows)
        self._directions = {}

    def least_height(self) -> int:
        """Height that the rows which usually stand open need at least."""
        return self._look.px(LEAST_ROW_PX) * self._usual() + self._head() + self._look.px(40)

    def wished_height(self) -> int:
        return self._look.px(ROW_PX) * self._usual() + self._head() + self._look.px(40)

    def _usual(self) -> int:
        return min(len(self._rows), USUALLY_OPEN) + self._lane

    def _folded_words(self) -> str:
        """The rows that are folded away, by name: the quiet ones, and those that never reported."""
        away = [row for k, row in enumerate(self._rows) if k not in self._open]
        quiet = [row.name for row in away if row.control in self._known]
        unheard = [row.name for row in away if row.control not in self._known]
        said = ((words.QUIET, quiet), (words.UNHEARD, unheard))
        return "\n".join(text.format(names=grammar.COMMA.join(names)) for text, names in said if names)

    @property
    def folded(self) -> str:
        """What stands in the place of the rows that are folded away."""
        return self._folded

    @property
    def rows(self) -> tuple[StripRow, ...]:
        return self._rows

    # --- geometry ------------------------------------------------------------------------------------

    def _head(self) -> int:
        return self._look.px(24)

    def _slots(self) -> int:
        return len(self._open) + self._lane

    def _foot(self) -> int:
        """Height of the line that names what is folded away."""
        if not self._folded:
            return 0
        box = QFontMetrics(self._look.font(14)).boundingRect(
            QRect(0, 0, max(self.width(), 1), 1000), Qt.TextFlag.TextWordWrap, self._folded
        )
        return min(box.height() + self._look.px(8), max(self.height() - self._head(), 0) // 2)

    def _grid(self) -> tuple[int, int, float]:
        """(columns of slots, slots in each, height of a slot)."""
        room = max(self.height() - self._head() - self._foot(), 1)
        least = self._look.px(LEAST_ROW_PX)
        columns = 1 if self._slots() * least <= room else 2
        each = math.ceil(max(self._slots(), 1) / columns)
        return columns, each, min(self._look.px(MOST_ROW_PX), room / each)

    def gutter(self) -> int:
        """Width that the names take."""
        return min(self._look.px(148), self.width() // 3)

    def _beaten(self) -> int:
        """The row that beats are called for; it is asked for, so it stands open."""
        return next(k for k, row in enumerate(self._rows) if row.control == self._beat_row)

    def _lane_box(self) -> QRect:
        """Where the lane of the beats stands, below their row."""
        return self._strip(self._open.index(self._beaten()), lane=True)

    def _strip(self, place: int, lane: bool = False) -> QRect:
        """Where the bars of the row stand that has this place among those that are open, or the beat lane below it."""
        columns, each, tall = self._grid()
        after = self._open.index(self._beaten()) if self._lane else len(self._open)
        column, row = divmod(place + (lane or place > after), each)
        wide = (self.width() - (columns - 1) * self._look.px(14)) // columns
        left = column * (wide + self._look.px(14))
        gutter = min(self.gutter(), wide // 2)
        pad = 2 if tall >= self._look.px(20) else 1
        top = self._head() + row * tall
        return QRect(left + gutter, round(top) + pad, wide - gutter, round(tall) - 2 * pad)

    # --- painting --------------------------------------------------------------------------------------

    def resizeEvent(self, event: object) -> None:
        self._stale = True

    def paintEvent(self, event: QPaintEvent) -> None:
        ratio = self.devicePixelRatioF()
        if self._stale:
            self._place_rows()
        if self._field is None or self._field.devicePixelRatio() != ratio:
            self._field = QPixmap(math.ceil(self.width() * ratio), math.ceil(self.height() * ratio))
            self._field.setDevicePixelRatio(ratio)
            layer = QPainter(self._field)
            self._paint_field(layer)
            layer.end()
        painter = QPainter(self)
        dirty = event.region()
        self._clear(painter, dirty)
        for k, strip in self._strips.items():
            if self._bars[k].closed and dirty.intersects(strip):
                self._paint_bars(painter, strip, self._rows[k], self._bars[k])
        if self._strips and self._lane and self._beats:
            self._paint_beats(painter, self._strips[self._beaten()], self._lane_box())
        painter.end()

    def _clear(self, painter: QPainter, dirty: QRegion) -> None:
        """Wipe what is painted anew: rows alone are filled, which costs a fraction of copying the whole field."""
        rows = {s.getRect() for s in self._strips.values()}
        ground = color(self._look.ground)
        for box in cast(Iterable[QRect], dirty):
            if box.getRect() in rows:
                painter.fillRect(box, ground)
            elif self._field is not None:
                ratio = self._field.devicePixelRatio()
                source = QRectF(box.x() * ratio, box.y() * ratio, box.width() * ratio, box.height() * ratio)
                painter.drawPixmap(QRectF(box), self._field, source)

    def _paint_field(self, painter: QPainter) -> None:
        """Names, empty strips and the head line: all that stands still."""
        look = self._look
        painter.fillRect(self.rect(), color(look.pane))
        painter.setFont(look.font(14))
        painter.setPen(color(look.dim))
        head = QRectF(0, 0, self.width(), self._head() - look.px(2))
        middle = Qt.AlignmentFlag.AlignVCenter
        painter.drawText(head, Qt.AlignmentFlag.AlignLeft | middle, words.CONTACTS)
        said = painter.fontMetrics().horizontalAdvance(words.CONTACTS)
        now = painter.fontMetrics().horizontalAdvance(words.NOW)
        for right in {strip.right() for strip in self._strips.values()}:
            if right - now <= said:
                continue  # of two columns the left one ends below the heading
            painter.drawText(QRectF(0, 0, right + 1, head.height()), Qt.AlignmentFlag.AlignRight | middle, words.NOW)
        for k, strip in self._strips.items():
            self._paint_row_field(painter, strip, self._rows[k])
        if self._folded:
            _, each, tall = self._grid()
            top = self._head() + (each * tall if self._open else 0) + look.px(4)
            painter.setFont(look.font(14))
            painter.setPen(color(look.dim))
            painter.drawText(
                QRectF(0, top, self.width(), max(self.height() - top, 0)), Qt.TextFlag.TextWordWrap, self._folded
            )

    def _paint_row_field(self, painter: QPainter, strip: QRect, row: StripRow) -> None:
        look = self._look
        known = row.control in self._known
        current = row.control in (self._beat_row, self._witness)
        painter.setFont(look.font(_name_size(strip.height() / look.scale), bold=row.control == self._beat_row))
        painter.setPen(color(look.text if known or current else look.dim))
        wide = min(self.gutter(), strip.x() if strip.x() < self.width() // 2 else strip.width()) - look.px(8)
        name = QRectF(strip.x() - wide - look.px(8), strip.y() - 2, wide, strip.height() + 4)
        text = painter.fontMetrics().elidedText(row.name, Qt.TextElideMode.ElideRight, int(wide))
        painter.drawText(name, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, text)
        if known:
            painter.fillRect(strip, color(look.ground))
            return
        pen = QPen(color(look.line), 1, Qt.PenStyle.DashLine)
        painter.setPen(pen)
        painter.drawRect(strip.adjusted(0, 1, -1, -2))

    def _paint_bars(self, painter: QPainter, strip: QRect, row: StripRow, bars: Bars) -> None:
        look = self._look
        fill = color(look.good if row.control == self._beat_row else mix(look.pane, look.dim, 0.92))
        left, top, tall, last = strip.x(), strip.y() + 1, strip.height() - 2, strip.right() - 1
        for a, b in bars.closed:
            painter.fillRect(min(left + a, last), top, max(b - a, 2), tall, fill)
        ground = color(look.ground)
        notch = max(tall - max(3, tall // 4), 2)
        for a in bars.notches:
            painter.fillRect(min(left + a, last), top, 2, notch, ground)
        direction = self._directions.get(row.control, 0)
        if direction:
            self._paint_direction(painter, strip, direction - 1)

    def _paint_direction(self, painter: QPainter, strip: QRect, direction: int) -> None:
        """The hat's present direction as a small arrow at the right edge."""
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        r = strip.height() * 0.36
        painter.translate(strip.right() - r - 3, strip.center().y() + 0.5)
        painter.rotate(45.0 * direction)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(color(self._look.ground))
        painter.drawPolygon(QPolygonF([QPointF(0, -r), QPointF(r * 0.8, r), QPointF(0, r * 0.5), QPointF(-r * 0.8, r)]))
        painter.restore()

    def _paint_beats(self, painter: QPainter, strip: QRect, lane: QRect) -> None:
        look = self._look
        from_ns = self._now_ns - self._window_ns
        scale = strip.width() / self._window_ns
        mark = look.px(4)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(look.font(12.5))
        free_from = float(strip.x())
        for beat in self._beats:
            x = strip.x() + (beat.t_ns - from_ns) * scale
            if not strip.x() <= x <= strip.right():
                continue
            if beat.state in ("missed", "void"):
                painter.setPen(QPen(color(look.bad if beat.state == "missed" else look.dim), 2, Qt.PenStyle.DotLine))
                painter.drawLine(QPointF(x, strip.y()), QPointF(x, lane.y() + mark))
            word = words.BEATS.get(beat.state, "")
            if word:
                free_from = self._paint_word(painter, lane, x, word, beat.state, free_from)
                continue
            y = lane.y() + mark + 1
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(color(look.line if beat.state in ("waiting", "count-in") else look.dim))
            painter.drawPolygon(QPolygonF([QPointF(x, y - mark), QPointF(x + mark, y + 2), QPointF(x - mark, y + 2)]))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)

    def _paint_word(self, painter: QPainter, lane: QRect, x: float, word: str, state: str, free_from: float) -> float:
        """The word under its beat where there is room, else a diamond alone; returns where the next may begin."""
        look = self._look
        name = look.dim if state == "void" else look.bad
        wide = painter.fontMetrics().horizontalAdvance(word)
        left = min(max(x - wide / 2, lane.x()), lane.right() - wide)
        if left < free_from:
            mark = look.px(4)
            y = lane.y() + mark + 2
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(color(name))
            painter.drawPolygon(
                QPolygonF([QPointF(x, y - mark), QPointF(x + mark, y), QPointF(x, y + mark), QPointF(x - mark, y)])
            )
            return free_from
        painter.setPen(color(name))
        box = QRectF(left, lane.y() - 1, wide + 2, lane.height() + 2)
        painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, word)
        return left + wide + 4


def _moved(track: StateTrack | None) -> bool:
    """Whether there is something to see: it is closed, or it changed in the time that is kept."""
    return track is not None and (len(track.state) > 1 or bool(track.now))


def _name_size(strip_px: float) -> float:
    """Type of a row's name for the height of its strip at 100 %."""
    return 15 if strip_px >= 19 else 14 if strip_px >= 16 else 12.5
