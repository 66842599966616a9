"""The picture of a table of figures: a bar for each row with its interval, the row under the cursor framed."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QMouseEvent, QPainter, QPaintEvent, QPen, QWheelEvent
from PySide6.QtWidgets import QWidget

from station.lots.shop.said import ShownRow, ShownTable
from station.ui.painting.look import Look, color, mix
from station.ui.painting.told import Painted, draw_cursor
from station.words import figures
from station.words import shop as words

BAR_PX, GAP_PX, EDGE_PX, AXIS_PX, WHISKER_PX = 11, 9, 12, 26, 4
WORDS_PX = 14
BAR_TONE = 0.4
"""so much of the ground is in a bar: its interval is seen on it in both looks"""
SHARE_TICKS = (0.0, 25.0, 50.0, 75.0, 100.0)
FLAGS = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)


class FigureBars(Painted):
    """`show_table`, then `set_cursor`. As many rows as there is room for, the one under the cursor among them.

    Signals: `chosen(int)`: a row was clicked; `wheeled(int)`: the wheel moves on by so many rows.
    """

    chosen = Signal(int)
    wheeled = Signal(int)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._table = ShownTable("", "", (), ())
        self._cursor, self._top = 0, 0

    def set_look(self, look: Look) -> None:
        self._look = look
        self.updateGeometry()
        self.update()

    def show_table(self, table: ShownTable) -> None:
        self._table, self._cursor, self._top = table, 0, 0
        self.setAccessibleName(words.CHART.format(title=table.title))
        self._tell()
        self.update()

    def set_cursor(self, row: int) -> None:
        if row != self._cursor and 0 <= row < len(self._table.rows):
            self._cursor = row
            self._tell()
            self.update()

    def _tell(self) -> None:
        rows = self._table.rows
        if rows:
            row = rows[self._cursor]
            self.setAccessibleDescription(words.CHART_ROW.format(row=row.whole or row.label, value=row.cells[-1]))

    def sizeHint(self) -> QSize:
        return QSize(self._look.px(300), self._look.px(200))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._look.px(180), self._look.px(120))

    # --- where rows stand --------------------------------------------------------------------------------

    def _words_tall(self, text: str) -> int:
        """Height of words that go on in the next line where they have to."""
        if not text:
            return 0
        wide = max(self.width() - 2 * self._look.px(EDGE_PX), 1)
        metrics = QFontMetrics(self._look.font(WORDS_PX, bold=True))
        return metrics.boundingRect(0, 0, wide, 10_000, FLAGS, text).height()

    def _tall(self, row: ShownRow) -> int:
        return self._words_tall(row.group) + self._words_tall(row.label) + self._look.px(BAR_PX + GAP_PX)

    def shown_rows(self) -> list[tuple[int, QRectF]]:
        """(number, place) of the rows that there is room for."""
        rows = self._table.rows
        first = self._words_tall(self._table.drawn) + self._look.px(GAP_PX)
        room = self.height() - self._look.px(AXIS_PX)
        self._top = min(self._top, self._cursor)
        while self._top < self._cursor and first + sum(map(self._tall, rows[self._top : self._cursor + 1])) > room:
            self._top += 1
        found, y = list[tuple[int, QRectF]](), first
        for k in range(self._top, len(rows)):
            tall = self._tall(rows[k])
            if y + tall > room and found:
                break
            found.append((k, QRectF(0, y, self.width(), tall)))
            y += tall
        return found

    def _x(self, value: float) -> float:
        low, high = self._table.span
        edge = self._look.px(EDGE_PX)
        share = (value - low) / (high - low) if high > low else 0.0
        return edge + min(max(share, 0.0), 1.0) * (self.width() - 2 * edge)

    # --- painting ----------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._table.rows:
            return
        look, painter = self._look, QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_axis(painter)
        for k, box in self.shown_rows():
            if k == self._cursor:
                draw_cursor(painter, box.adjusted(0, 0, 0, -look.px(2)), look, focused=False)
            self._paint_row(painter, box, self._table.rows[k])
        painter.end()

    def _paint_axis(self, painter: QPainter) -> None:
        look, table = self._look, self._table
        bottom = self.height() - look.px(AXIS_PX)
        above = self._words_tall(table.drawn)
        painter.setFont(look.font(WORDS_PX))
        painter.setPen(color(look.dim))
        edge = look.px(EDGE_PX)
        painter.drawText(QRectF(edge, 0, self.width() - 2 * edge, above), FLAGS, table.drawn)
        shares = table.span == (0.0, 100.0)
        ticks = SHARE_TICKS if shares else tuple(dict.fromkeys((table.span[0], 0.0, table.span[1])))
        painter.setFont(look.font(13))
        metrics, used = QFontMetrics(look.font(13)), 0.0
        for tick in ticks:
            x = self._x(tick)
            painter.setPen(QPen(color(look.line), 1))
            painter.drawLine(QPointF(x, above + look.px(3)), QPointF(x, bottom))
            text = figures.with_unit(figures.number(tick, 0), table.axis)
            wide = metrics.horizontalAdvance(text)
            left = min(max(x - wide / 2, 0.0), self.width() - wide)
            if left < used and tick != ticks[0]:
                continue  # no room: the line says where it is
            used = left + wide + look.px(6)
            painter.setPen(color(look.dim))
            place = QRectF(left, bottom + look.px(3), wide + 2, look.px(AXIS_PX) - look.px(3))
            painter.drawText(place, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop, text)

    def _paint_row(self, painter: QPainter, box: QRectF, row: ShownRow) -> None:
        look = self._look
        edge, bar = look.px(EDGE_PX), look.px(BAR_PX)
        top = box.bottom() - bar - look.px(GAP_PX) / 2 - look.px(1)
        painter.setPen(color(look.text))
        y = box.y() + look.px(GAP_PX) / 4
        for text, bold in ((row.group, True), (row.label, False)):
            tall = self._words_tall(text)
            painter.setFont(look.font(WORDS_PX, bold=bold))
            painter.drawText(QRectF(edge, y, box.width() - 2 * edge, tall), FLAGS, text)
            y += tall
        base, value = self._x(self._table.middle), self._x(row.value)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(color(mix(look.accent, look.pane, BAR_TONE)))
        painter.drawRect(QRectF(min(base, value), top, max(abs(value - base), 1.5), bar))
        if row.low is None or row.high is None:
            return
        low, high, middle, arm = self._x(row.low), self._x(row.high), top + bar / 2, look.px(WHISKER_PX)
        painter.setPen(QPen(color(look.text), 2))
        painter.drawLine(QPointF(low, middle), QPointF(high, middle))
        for end in (low, high):
            painter.drawLine(QPointF(end, middle - arm), QPointF(end, middle + arm))

    # --- mouse -------------------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        at = next((k for k, box in self.shown_rows() if box.contains(event.position())), None)
        if at is not None:
            self.chosen.emit(at)

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.wheeled.emit(-1 if event.angleDelta().y() > 0 else 1)
        event.accept()
