"""Tables of the other views: rows of words, an optional shape in the first column, all by keyboard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QIcon, QKeyEvent, QPainter, QPixmap
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from station.ui.painting.look import Look
from station.ui.painting.shapes import Shape, draw_shape
from station.ui.painting.widgets import tip_text

Index = QModelIndex | QPersistentModelIndex
_MEASURED_ROWS = 50
"""rows whose words decide how wide a column is: measuring hundreds takes longer than a frame"""

_MOVES = (
    Qt.Key.Key_Up,
    Qt.Key.Key_Down,
    Qt.Key.Key_PageUp,
    Qt.Key.Key_PageDown,
)


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
            return self._heads[section]
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
    """A table whose rows can be opened with Enter or a double click.

    Signals: `opened(object)`: the thing of a row; `moved(object)`: the row under the cursor changed.
    """

    opened = Signal(object)
    moved = Signal(object)

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
        header.setResizeContentsPrecision(_MEASURED_ROWS)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(wide, QHeaderView.ResizeMode.Stretch)
        self.setWordWrap(False)
        self.doubleClicked.connect(self._open)
        self.selectionModel().currentRowChanged.connect(self._moved)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        self._lines.set_look(look)
        self.verticalHeader().setDefaultSectionSize(look.px(30))
        self.setIconSize(QSize(look.px(16), look.px(16)))

    def set_lines(self, lines: Sequence[Line]) -> None:
        """New rows; the cursor stays where it was as far as there are rows."""
        row = max(self.currentIndex().row(), 0)
        self._lines.set_lines(lines)
        if lines:
            self.selectRow(min(row, len(lines) - 1))

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
        else:
            event.ignore()
