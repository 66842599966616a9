"""Tables of the other views: rows of words, an optional shape in the first column, all by keyboard."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetrics, QIcon, QKeyEvent, QPainter, QPixmap, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QStyle, QTableView, QWidget

from station.ui.painting.look import Look
from station.ui.painting.shapes import Shape, draw_shape
from station.ui.painting.widgets import tip_text

Index = QModelIndex | QPersistentModelIndex
_MOVES = (
    Qt.Key.Key_Up,
    Qt.Key.Key_Down,
    Qt.Key.Key_PageUp,
    Qt.Key.Key_PageDown,
)
_SIDEWAYS = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}


@dataclass(frozen=True, slots=True)
class Line:
    """One row: its words, the thing it stands for, and maybe a shape."""

    cells: tuple[str, ...]
    what: object
    shape: Shape | None = None


class LineModel(QAbstractTableModel):
    def __init__(self, heads: Sequence[str], right: frozenset[int], look: Look, parent: QWidget) -> None:
        super().__init__(parent)
        self._heads, self._right = tuple(heads), right
        self._heads_shown = self._heads
        self._lines: tuple[Line, ...] = ()
        self.look = look
        self._marks: dict[Shape, QIcon] = {}

    def set_lines(self, lines: Sequence[Line]) -> None:
        self.beginResetModel()
        self._lines = tuple(lines)
        self.endResetModel()

    def set_look(self, look: Look) -> None:
        self.look = look
        self._marks = {}

    def all_lines(self) -> tuple[Line, ...]:
        return self._lines

    def break_heads(self, broken: Sequence[bool]) -> None:
        """Which heads are written a word a line."""
        shown = tuple(h.replace(" ", "\n") if b else h for h, b in zip(self._heads, broken, strict=True))
        if shown != self._heads_shown:
            self._heads_shown = shown
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(shown) - 1)

    @property
    def heads(self) -> tuple[str, ...]:
        return self._heads

    def line(self, row: int) -> Line | None:
        return self._lines[row] if 0 <= row < len(self._lines) else None

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        return 0 if parent.isValid() else len(self._lines)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(self._heads)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._heads_shown[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return self._align(section)
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        line = self.line(index.row())
        if line is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return line.cells[index.column()]
        if role == Qt.ItemDataRole.ToolTipRole:
            return tip_text(line.cells[index.column()])
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return self._align(index.column())
        if role == Qt.ItemDataRole.DecorationRole and index.column() == 0 and line.shape is not None:
            return self._mark(line.shape)
        return None

    def _align(self, column: int) -> int:
        side = Qt.AlignmentFlag.AlignRight if column in self._right else Qt.AlignmentFlag.AlignLeft
        return int(side | Qt.AlignmentFlag.AlignVCenter)

    def _mark(self, shape: Shape) -> QIcon:
        if shape not in self._marks:
            side = self.look.px(15)
            mark = QPixmap(2 * side, 2 * side)
            mark.setDevicePixelRatio(2)
            mark.fill(Qt.GlobalColor.transparent)
            painter = QPainter(mark)
            draw_shape(painter, QRectF(1, 1, side - 2, side - 2), shape, self.look)
            painter.end()
            # the same picture when selected, or Qt tints it and the colour says something else
            icon = QIcon(mark)
            icon.addPixmap(mark, QIcon.Mode.Selected)
            self._marks[shape] = icon
        return self._marks[shape]


class LineTable(QTableView):
    """A table whose rows can be opened with Enter or a double click. Where the width is short, words go on in the next
    line of their cell; where even single words have no room, Left and Right move the table.

    Signals: `opened(object)`: the thing of a row; `moved(object)`: the row under the cursor changed;
    `fitted()`: rows may have another height.
    """

    opened = Signal(object)
    moved = Signal(object)
    fitted = Signal()

    def __init__(
        self, heads: Sequence[str], look: Look, right: Sequence[int] = (), wide: int = 0, parent: QWidget | None = None
    ) -> None:
        """`right`: columns set flush right; `wide`: the column that takes the spare width."""
        super().__init__(parent)
        self._lines = LineModel(heads, frozenset(right), look, self)
        self.setModel(self._lines)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setAlternatingRowColors(True)
        self.setShowGrid(False)
        self.setTabKeyNavigation(False)
        self.verticalHeader().hide()
        header = self.horizontalHeader()
        header.setHighlightSections(False)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self._wide = wide
        self._advances: dict[str, int] = {}
        self._measured = ""
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.doubleClicked.connect(self._open)
        self.selectionModel().currentRowChanged.connect(self._moved)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        self._lines.set_look(look)
        self.verticalHeader().setDefaultSectionSize(look.px(30))
        self.setIconSize(QSize(look.px(16), look.px(16)))
        self.fit()

    def set_lines(self, lines: Sequence[Line]) -> None:
        """New rows; the cursor stays where it was as far as there are rows."""
        row = max(self.currentIndex().row(), 0)
        self._lines.set_lines(lines)
        self.fit()
        if lines:
            self.selectRow(min(row, len(lines) - 1))

    # --- room for the words ------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fit()

    def rows_height(self, most: int) -> int:
        """Pixels that the first `most` rows take; of one if there is none."""
        count = min(self._lines.rowCount(), most)
        return sum(self.rowHeight(k) for k in range(count)) or self.verticalHeader().defaultSectionSize()

    def fit(self) -> None:
        """Columns as wide as their words; the spare width, or the want of it, is shared."""
        self.ensurePolished()
        cells, mark = self._cell_edges()
        heads = self.horizontalHeader()
        least, wished, named = [], [], []
        for column, head in enumerate(self._lines.heads):
            texts = {line.cells[column] for line in self._lines.all_lines()}
            edge = cells + (mark if column == 0 else 0)
            whole, word = self._head_widths(heads, head)
            named.append(whole)
            wished.append(max([whole, *(self._advance(t) + edge for t in texts)]))
            # a space that does not break belongs to its word
            least.append(max([word, *(self._advance(w) + edge for t in texts for w in t.split(" "))]))
        widths = _shared(least, wished, self.viewport().width(), self._wide)
        for column, wide in enumerate(widths):
            if self.columnWidth(column) != wide:
                self.setColumnWidth(column, wide)
        self._lines.break_heads([wide < name for wide, name in zip(widths, named, strict=True)])
        self._fit_rows(widths, cells, mark)
        self.fitted.emit()

    def _fit_rows(self, widths: Sequence[int], edge: int, mark: int) -> None:
        metrics, usual = self.fontMetrics(), self.verticalHeader().defaultSectionSize()
        wrap = int(Qt.TextFlag.TextWordWrap)
        for row, line in enumerate(self._lines.all_lines()):
            tall = usual
            for column, text in enumerate(line.cells):
                room = widths[column] - edge - (mark if column == 0 else 0)
                if self._advance(text) > room:
                    lines = metrics.boundingRect(0, 0, max(room, 1), 100_000, wrap, text).height()
                    tall = max(tall, lines + usual - metrics.height())
            if self.rowHeight(row) != tall:
                self.setRowHeight(row, tall)

    def _advance(self, text: str) -> int:
        """Width of a text, kept, because hundreds of rows are measured whenever a lot changes."""
        font = self.font().key()
        if font != self._measured:
            self._measured, self._advances = font, {}
        if text not in self._advances:
            self._advances[text] = self.fontMetrics().horizontalAdvance(text)
        return self._advances[text]

    def _cell_edges(self) -> tuple[int, int]:
        """What a cell needs beside its words, and beside that for a shape."""
        margin = 2 * (self.style().pixelMetric(QStyle.PixelMetric.PM_FocusFrameHMargin, None, self) + 1)
        shaped = any(line.shape is not None for line in self._lines.all_lines())
        return 2 * self._lines.look.px(6) + margin + 2, (self.iconSize().width() + margin) * shaped

    def _head_widths(self, heads: QHeaderView, head: str) -> tuple[int, int]:
        """Width of a head in one line, and of its longest word."""
        look = self._lines.look
        font = QFont(heads.font())
        font.setBold(True)  # as Qt measures heads, which are drawn somewhat smaller
        metrics = QFontMetrics(font)
        margin = self.style().pixelMetric(QStyle.PixelMetric.PM_HeaderMargin, None, heads)
        edge = 2 * (look.px(6) + 3 + margin) + 2
        words = max((metrics.horizontalAdvance(w) for w in head.split()), default=0)
        return metrics.horizontalAdvance(head) + edge, words + edge

    def current(self) -> object | None:
        line = self._lines.line(self.currentIndex().row())
        return line.what if line is not None else None

    def choose(self, row: int) -> None:
        """Put the cursor there."""
        if row != self.currentIndex().row():
            self.selectRow(row)

    def lines(self) -> list[Line]:
        return [line for k in range(self._lines.rowCount()) if (line := self._lines.line(k)) is not None]

    def texts(self) -> list[tuple[str, ...]]:
        return [line.cells for line in self.lines()]

    def _open(self) -> None:
        what = self.current()
        if what is not None:
            self.opened.emit(what)

    def _moved(self) -> None:
        self.moved.emit(self.current())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._open()
        elif event.key() in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self.selectRow(0 if event.key() == Qt.Key.Key_Home else self._lines.rowCount() - 1)
        elif event.key() in _MOVES:
            super().keyPressEvent(event)
        elif event.key() in _SIDEWAYS and self.horizontalScrollBar().maximum():
            bar = self.horizontalScrollBar()
            bar.setValue(bar.value() + _SIDEWAYS[Qt.Key(event.key())] * bar.pageStep() // 2)
        else:
            event.ignore()


def _shared(least: Sequence[int], wished: Sequence[int], room: int, wide: int) -> list[int]:
    """Widths of columns in pixels. What is left over goes to the column `wide`; what is missing is taken from each as
    far as its longest word allows."""
    spare = room - sum(wished)
    if spare >= 0:
        return [w + spare * (k == wide) for k, w in enumerate(wished)]
    give = [w - s for s, w in zip(least, wished, strict=True)]
    share = min(-spare / sum(give), 1.0) if sum(give) else 0.0
    widths = [w - math.ceil(g * share) if share < 1 else w - g for w, g in zip(wished, give, strict=True)]
    widths[wide] += max(room - sum(widths), 0)
    return widths
