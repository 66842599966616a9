"""Readings against their limits, drawn as lines with a small gauge, and the dots of the beats."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from station.bench.types import BeatView
from station.checks.decide import reading_outcome
from station.checks.said import limit_text, marked, reading_name, reading_names, value_text
from station.checks.types import Outcome, Reading
from station.ui.painting.look import Look, color
from station.ui.painting.shapes import draw_shape
from station.ui.painting.told import Painted
from station.words import checklist as words
from station.words import checks as check_words
from station.words import readings as reading_words
from station.words import told
from station.words.grammar import count_of

BEATS_A_ROW = 20


class ReadingLines(Painted):
    """Up to `most` readings: shape, name, value ± uncertainty, gauge with the limit."""

    def __init__(self, look: Look, most: int = 5, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look, self._most = look, most
        self._check = ""
        self._readings: tuple[Reading, ...] = ()
        self._running = False
        self._tall = 0
        self.origin: Callable[[str, Reading], str | None] = lambda check, reading: None
        """where the limit of a reading comes from"""
        self.setAccessibleName(told.READINGS)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.updateGeometry()
        self.update()

    def set_readings(self, check: str, readings: Sequence[Reading], running: bool = False) -> None:
        """Those of a check that have a limit, in the order given.

        `running`: the check goes on, so a count that is still short is to come, not failed.
        """
        limited = [r for r in readings if r.limit is not None]
        shown = tuple(limited[: self._most])
        if (check, shown, running) == (self._check, self._readings, self._running):
            return
        self._check, self._readings, self._running = check, shown, running
        told = (
            reading_words.REPORTED.format(name=reading_name(check, r.name), value=value_text(check, r)) for r in shown
        )
        self.setAccessibleDescription(words.NEXT_READING.join(told))
        tall = self.heightForWidth(self.width())
        if tall != self._tall:
            self._tall = tall
            self.updateGeometry()
        self.update()

    @property
    def readings(self) -> tuple[Reading, ...]:
        return self._readings

    def sizeHint(self) -> QSize:
        return QSize(self._look.px(200), self.heightForWidth(self._look.px(200)))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._look.px(120), self._look.px(23) * len(self._readings))

    def heightForWidth(self, width: int) -> int:
        return sum(self._laid(reading, width).tall for reading in self._readings)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        top = 0
        for reading in self._readings:
            laid = self._laid(reading, self.width())
            self._paint_line(painter, QRectF(0, top, self.width(), laid.tall), reading, laid)
            top += laid.tall
        painter.end()

    def _laid(self, reading: Reading, width: int) -> _Line:
        """Name, value and limit on one line, the longest name that there is room for; with none, the name above."""
        look, tall = self._look, self._look.px(23)
        value = value_text(self._check, reading)
        limit = marked(limit_text(reading), self.origin(self._check, reading))
        words_font, figures = QFontMetricsF(look.font(14)), QFontMetricsF(look.font(15, bold=True))
        limit_wide = words_font.horizontalAdvance(limit) + look.px(8) if limit else 0.0
        left = look.px(12) + look.px(8)
        room = width - left
        beside = room - limit_wide - figures.horizontalAdvance(value) - look.px(8)
        names = reading_names(self._check, reading.name)
        name = next((n for n in names if words_font.horizontalAdvance(n) <= beside), None)
        if name is not None:
            line = QRectF(0, 0, width, tall)
            return _Line(name, value, limit, QRectF(left, 0, beside, tall), line, limit_wide, tall)
        box = QRectF(0, 0, room, 1e4)
        above = math.ceil(words_font.boundingRect(box, int(Qt.TextFlag.TextWordWrap), names[-1]).height())
        line = QRectF(0, above, width, tall)
        return _Line(names[-1], value, limit, QRectF(left, 0, room, above), line, limit_wide, above + tall)

    def _paint_line(self, painter: QPainter, box: QRectF, reading: Reading, laid: _Line) -> None:
        look = self._look
        outcome = reading_outcome(reading)
        if self._running and reading.rule == ">=" and reading.uncertainty == 0 and outcome is not Outcome.PASS:
            outcome = None if outcome is None else Outcome.NOT_DONE
        side, middle = look.px(12), Qt.AlignmentFlag.AlignVCenter
        if outcome is not None:
            draw_shape(painter, QRectF(1, box.y() + (look.px(23) - side) / 2, side, side), outcome, look, look.ground)
        figures = laid.figures.translated(box.topLeft())
        painter.setFont(look.font(15, bold=True))
        painter.setPen(color(look.outcome(outcome) if outcome in (Outcome.FAIL, Outcome.BORDERLINE) else look.text))
        place = figures.adjusted(0, 0, -laid.limit_wide, 0)
        painter.drawText(place, Qt.AlignmentFlag.AlignRight | middle, laid.value)
        painter.setFont(look.font(14))
        painter.setPen(color(look.dim))
        painter.drawText(figures, Qt.AlignmentFlag.AlignRight | middle, laid.limit)
        painter.setPen(color(look.text))
        wrap = Qt.TextFlag.TextWordWrap
        painter.drawText(laid.place.translated(box.topLeft()), Qt.AlignmentFlag.AlignLeft | middle | wrap, laid.name)


@dataclass(frozen=True, slots=True)
class _Line:
    """The words of a reading and where they stand, from the top left corner of its line on."""

    name: str
    value: str
    limit: str
    place: QRectF
    figures: QRectF
    limit_wide: float
    tall: int


class BeatDots(Painted):
    """Beats: disc registered, diamond missed, halves split, bar short, arrow stays closed,
    red dash neither, dash void, dot count-in, ring to come."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._states: tuple[str, ...] = ()
        self._flash = 0.0
        self.setAccessibleName(told.BEATS)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.updateGeometry()
        self.update()

    def set_beats(self, beats: Sequence[BeatView], flash: float) -> None:
        """`flash` 1 at the moment of a beat, falling to 0: the ring to come fills with it."""
        states = tuple(b.state for b in beats)
        if states != self._states or round(flash * 8) != round(self._flash * 8):
            grown = self._lines(len(states)) != self._lines(len(self._states))
            self._states, self._flash = states, flash
            self.setAccessibleDescription(count_of(len(states), check_words.BEAT))
            if grown:
                self.updateGeometry()
            self.update()

    @property
    def states(self) -> tuple[str, ...]:
        return self._states

    def _lines(self, beats: int) -> int:
        return beats // BEATS_A_ROW + 1

    def sizeHint(self) -> QSize:
        return QSize(self._look.px(200), self._look.px(20) * self._lines(len(self._states)) + 4)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        step = min(self.width() / BEATS_A_ROW, self._look.px(21))
        for k in range(len(self._states) + 1):
            row, column = divmod(k, BEATS_A_ROW)
            at = QPointF(step * (column + 0.5), self._look.px(20) * (row + 0.5) + 2)
            radius = min(step * 0.36, self._look.px(7))
            if k < len(self._states):
                self._paint_beat(painter, at, radius, self._states[k])
            else:
                self._paint_next(painter, at, radius)
        painter.end()

    def _paint_beat(self, painter: QPainter, at: QPointF, r: float, state: str) -> None:
        look = self._look
        painter.setPen(Qt.PenStyle.NoPen)
        if state == "registered":
            painter.setBrush(color(look.good))
            painter.drawEllipse(at, r, r)
        elif state == "missed":
            painter.setBrush(color(look.bad))
            r *= 1.25
            painter.drawPolygon(
                QPolygonF([at + QPointF(0, -r), at + QPointF(r, 0), at + QPointF(0, r), at + QPointF(-r, 0)])
            )
        elif state == "split":
            painter.setBrush(color(look.bad))
            for side in (-0.55, 0.55):
                painter.drawEllipse(at + QPointF(side * r, 0), r * 0.45, r)
        elif state == "short":
            painter.setBrush(color(look.bad))
            painter.drawRect(QRectF(at.x() - r * 0.25, at.y() - r, r * 0.5, 2 * r))
        elif state == "stays":
            painter.setBrush(color(look.bad))
            painter.drawPolygon(QPolygonF([at + QPointF(-r, -r), at + QPointF(r, 0), at + QPointF(-r, r)]))
        elif state == "count-in":
            painter.setBrush(color(look.dim))
            painter.drawEllipse(at, r * 0.28, r * 0.28)
        elif state in ("void", "neither"):
            painter.setPen(QPen(color(look.dim if state == "void" else look.bad), 1.4))
            painter.drawLine(at + QPointF(-r * 0.7, 0), at + QPointF(r * 0.7, 0))
        else:
            painter.setPen(QPen(color(look.dim), 1.4))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(at, r, r)

    def _paint_next(self, painter: QPainter, at: QPointF, r: float) -> None:
        look = self._look
        painter.setPen(QPen(color(look.text), 1.6))
        painter.setBrush(color(look.accent) if self._flash > 0.5 else Qt.BrushStyle.NoBrush)
        painter.drawEllipse(at, r * 1.2, r * 1.2)
