"""The course of a unit, drawn: a reading over its visits with its limits, treatments as marks, rests as gaps."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QFontMetricsF, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QWidget

from station.evidence.course import Course, CourseLine, Point, rest_told, values_told
from station.ui.painting.look import Look, color
from station.ui.painting.shapes import draw_shape
from station.ui.painting.told import Painted
from station.words import common, figures, grammar
from station.words import evidence_room as words

TEXT_PX, SHAPE_PX, EDGE_PX, AXIS_PX, SPACE_PX = 13, 15, 10, 58, 10
LEAST_TALL_PX = 200
BEYOND = 0.12
MOST_TICKS = 5
WRAPPED = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop)


@dataclass(frozen=True, slots=True)
class _Slot:
    """A stretch of the horizontal axis: a visit, the treatments before it, or a rest."""

    kind: str
    visit: int
    text: str
    left: float
    right: float

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2.0


class CoursePicture(Painted):
    """`show_line`. Where there is no room for the words of all visits it shows as many as there is room for, from
    `show_from` on, the newest ones at first: the axis and all words stay whole.

    Signals: `moved()`: other visits are shown.
    """

    moved = Signal()

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._course, self._line = Course(), CourseLine("", "", "", ())
        self._first: int | None = None

    def set_look(self, look: Look) -> None:
        self._look = look
        self.update()

    def show_line(self, course: Course, line: CourseLine, title: str, held: str) -> None:
        self._course, self._line = course, line
        self.setAccessibleName(title)
        self.setAccessibleDescription(words.COURSE_TOLD.format(values=values_told(line), held=held))
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(max(self._look.px(360), self.needed()), self._look.px(260))

    def minimumSizeHint(self) -> QSize:
        widest = max((self._wide(k) for k in range(len(self._course.visits))), default=0.0)
        return QSize(math.ceil(widest) + self._look.px(AXIS_PX + EDGE_PX), self._look.px(LEAST_TALL_PX))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.moved.emit()

    # --- which visits ------------------------------------------------------------------------------------

    def show_from(self, visit: int | None) -> None:
        """The first visit that is shown; None: as many of the newest as there is room for."""
        self._first = visit
        self.update()
        self.moved.emit()

    def shown(self) -> range:
        """The visits that are shown, those before and after them left out."""
        count, newest = len(self._course.visits), self.newest()
        if self._first is None or self._first >= newest:
            return range(newest, count)
        stop, room = self._first, self._room()
        while stop < count and (room := room - self._wide(stop)) >= 0:
            stop += 1
        return range(self._first, max(stop, self._first + 1))

    def newest(self) -> int:
        """The first visit from which on there is room for all."""
        first, room = len(self._course.visits), self._room()
        while first and (room := room - self._wide(first - 1)) >= 0:
            first -= 1
        return min(first, max(len(self._course.visits) - 1, 0))

    def _room(self) -> float:
        return self.width() - self._look.px(AXIS_PX + EDGE_PX)

    def _wide(self, visit: int) -> float:
        """The width that a visit needs, with what lies before it."""
        return sum(wide for _, k, _, wide in self._parts() if k == visit)

    # --- where things stand ------------------------------------------------------------------------------

    def _parts(self) -> list[tuple[str, int, str, float]]:
        """(kind, visit, words, width that these need) of what stands side by side, of all visits."""
        course, metrics = self._course, QFontMetricsF(self._look.font(TEXT_PX))
        parts: list[tuple[str, int, str]] = []
        for k, visit in enumerate(course.visits):
            before = course.before[k]
            if before.treatments:
                kinds = dict.fromkeys(common.TREATMENT_KINDS.get(t.kind, t.kind) for t in before.treatments)
                parts.append(("treated", k, grammar.listed(tuple(kinds))))
            if before.rest_h:
                parts.append(("rest", k, words.RESTED.format(time=rest_told(before.rest_h))))
            kind, day = common.VISIT_KINDS[visit.kind], figures.day(visit.started_at)
            parts.append(("visit", k, words.COURSE_VISIT.format(kind=kind, day=day)))
        space = self._look.px(SPACE_PX)
        return [(*p, max(metrics.horizontalAdvance(w) for w in p[2].split(" ")) + space) for p in parts]

    def needed(self) -> int:
        """The width that the words of all visits need."""
        return math.ceil(sum(wide for *_, wide in self._parts())) + self._look.px(AXIS_PX + EDGE_PX)

    def _slots(self) -> list[_Slot]:
        shown, left = self.shown(), float(self._look.px(AXIS_PX))
        parts = [part for part in self._parts() if part[1] in shown]
        spare = self.width() - left - self._look.px(EDGE_PX) - sum(wide for *_, wide in parts)
        visits = sum(kind == "visit" for kind, *_ in parts) or 1
        slots, x = [], left
        for kind, k, text, wide in parts:
            right = x + wide + (max(spare, 0.0) / visits if kind == "visit" else 0.0)
            slots.append(_Slot(kind, k, text, x, right))
            x = right
        return slots

    def _box(self) -> QRectF:
        """Where values are drawn: between the words of treatments and rests, and those of visits."""
        slots, pad = self._slots(), self._look.px(5)
        above = max((self._tall(s) for s in slots if s.kind != "visit"), default=0.0) + pad
        below = max((self._tall(s) for s in slots if s.kind == "visit"), default=0.0) + pad
        left, right = float(self._look.px(AXIS_PX)), slots[-1].right if slots else float(self.width())
        return QRectF(left, above, max(right - left, 1.0), max(self.height() - above - below, 1.0))

    def _tall(self, slot: _Slot) -> float:
        metrics = QFontMetricsF(self._look.font(TEXT_PX))
        return metrics.boundingRect(QRectF(0, 0, slot.right - slot.left, 1e4), WRAPPED, slot.text).height()

    def span(self) -> tuple[float, float]:
        """The value axis: all values with their uncertainty, and the limits."""
        values: list[float] = []
        for p in self._line.points:
            r = p.reading
            values += [p.value - r.uncertainty, p.value + r.uncertainty]
            values += [limit for limit in (r.limit, r.fail_beyond) if limit is not None]
        low, high = min(values, default=0.0), max(values, default=1.0)
        low = min(low, 0.0) if low < 0.35 * high else low
        room = BEYOND * (high - low) or 1.0
        return (low - room if low else 0.0), high + room

    def points(self) -> list[tuple[Point, QPointF]]:
        """The points of the visits that are shown, and where their values stand."""
        slots = {s.visit: s for s in self._slots() if s.kind == "visit"}
        return [(p, QPointF(slots[p.visit].middle, self._y(p.value))) for p in self._line.points if p.visit in slots]

    def _y(self, value: float) -> float:
        low, high = self.span()
        box = self._box()
        return box.bottom() - (value - low) / (high - low) * box.height()

    # --- painting ----------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._line.points:
            return
        painter = QPainter(self)
        painter.fillRect(self.rect(), color(self._look.pane))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self._look.font(TEXT_PX))
        slots = self._slots()
        self._paint_axis(painter)
        for slot in slots:
            (self._paint_visit if slot.kind == "visit" else self._paint_between)(painter, slot)
        self._paint_line(painter)
        painter.end()

    def _paint_axis(self, painter: QPainter) -> None:
        look, box = self._look, self._box()
        low, high = self.span()
        painter.setPen(QPen(color(look.dim), 1))
        painter.drawLine(QLineF(box.left(), box.top(), box.left(), box.bottom()))
        step = _nice((high - low) / MOST_TICKS)
        decimals = max(0, -_exponent(step))
        tall = QFontMetricsF(painter.font()).height()
        unit = self._line.points[-1].reading.unit
        tick = step * -(-low // step)
        while tick <= high:
            y = self._y(tick)
            painter.setPen(QPen(color(look.dim), 1))
            painter.drawLine(QLineF(box.left() - 4, y, box.left(), y))
            painter.setPen(color(look.text))
            text = figures.with_unit(figures.number(tick, decimals), "" if unit == "count" else unit)
            place = QRectF(0, y - tall / 2, box.left() - 7, tall)
            painter.drawText(place, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)
            tick += step

    def _paint_visit(self, painter: QPainter, slot: _Slot) -> None:
        look, box = self._look, self._box()
        point = next((p for p in self._line.points if p.visit == slot.visit), None)
        painter.setPen(color(look.text if point is not None else look.dim))
        under = QRectF(slot.left, box.bottom() + look.px(4), slot.right - slot.left, self._tall(slot))
        painter.drawText(under, WRAPPED, slot.text)
        if point is None:
            return
        r = point.reading
        for value, style in ((r.limit, Qt.PenStyle.DashLine), (r.fail_beyond, Qt.PenStyle.DotLine)):
            if value is not None:
                painter.setPen(QPen(color(look.text), 1, style))
                left = self._since_rest(slot)
                painter.drawLine(QLineF(left, self._y(value), slot.right, self._y(value)))

    def _since_rest(self, slot: _Slot) -> float:
        """Where what belongs to a visit begins: with the treatments before it, but after the rest."""
        rest = next((s for s in self._slots() if s.kind == "rest" and s.visit == slot.visit), None)
        done = next((s for s in self._slots() if s.kind == "treated" and s.visit == slot.visit), None)
        return rest.right if rest is not None else done.left if done is not None else slot.left

    def _paint_between(self, painter: QPainter, slot: _Slot) -> None:
        """A rest is a hatched gap; treatments are a mark, both with their words above."""
        look, box = self._look, self._box()
        if slot.kind == "rest":
            painter.fillRect(
                QRectF(slot.left, box.top(), slot.right - slot.left, box.height()),
                QBrush(color(look.dim), Qt.BrushStyle.BDiagPattern),
            )
        else:
            painter.setPen(QPen(color(look.mark), 2))
            painter.drawLine(QLineF(slot.middle, box.top(), slot.middle, box.bottom()))
        painter.setPen(color(look.dim if slot.kind == "rest" else look.text))
        above = QRectF(slot.left, 0, slot.right - slot.left, box.top() - 2)
        flags = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignBottom
        painter.drawText(above, int(flags), slot.text)

    def _paint_line(self, painter: QPainter) -> None:
        look, points = self._look, self.points()
        painter.setPen(QPen(color(look.accent), 1.5))
        for (one, here), (following, there) in pairwise(points):
            if not any(self._course.before[v].rest_h for v in range(one.visit + 1, following.visit + 1)):
                painter.drawLine(here, there)
        side = look.px(SHAPE_PX)
        for point, at in points:
            u = point.reading.uncertainty
            if u:
                painter.setPen(QPen(color(look.text), 1.5))
                top, bottom = self._y(point.value + u), self._y(point.value - u)
                painter.drawLine(QLineF(at.x(), top, at.x(), bottom))
                for y in (top, bottom):
                    painter.drawLine(QLineF(at.x() - 5, y, at.x() + 5, y))
            draw_shape(
                painter, QRectF(at.x() - side / 2, at.y() - side / 2, side, side), point.outcome, look, look.pane
            )


def _exponent(value: float) -> int:
    return math.floor(math.log10(value)) if value > 0 else 0


def _nice(step: float) -> float:
    """The next of 1, 2, 5 × 10ⁿ that is no smaller."""
    power = 10.0 ** _exponent(step)
    return next(n * power for n in (1.0, 2.0, 5.0, 10.0) if n * power >= step * 0.999)
