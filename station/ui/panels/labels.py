"""Asks which labels, on what size, and from where on a sheet that was begun."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QLineEdit, QSizePolicy, QVBoxLayout, QWidget

from station.errors import InputError
from station.records.types import Unit
from station.ui.painting.look import Look, color
from station.ui.painting.told import Painted
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.panel import Panel
from station.ui.panels.typed import whole
from station.ui.ports import LabelPort
from station.words import figures, grammar
from station.words import labels as words

if TYPE_CHECKING:
    from station.certificate.labels import Size  # read when labels are first asked for

SHEET_PX = 190
"""height of the sheet that is drawn, at 100 %"""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Units that labels can be printed for: in words, by the name of the file, and themselves."""

    said: str
    name: str
    units: tuple[Unit, ...]


class SheetPicture(Painted):
    """The first sheet: which of its labels are gone, which are printed now, which stay. The line below says the same.

    Signals: `taken(int)`: a label was clicked, by its number from 1.
    """

    taken = Signal(int)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.setAccessibleName(words.SHEET)
        self._look, self._start, self._count = look, 1, 0
        self._size: Size | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def show_sheet(self, size: Size, start: int, count: int) -> None:
        """`start` 0: no label of the sheet is meant."""
        self._size, self._start, self._count = size, start, count
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._look.px(140), self._look.px(SHEET_PX))

    def _boxes(self) -> tuple[QRectF, list[QRectF]]:
        """The sheet and its labels, in pixels."""
        size = self._size
        if size is None:
            return QRectF(), []
        scale = min((self.width() - 2) / size.page[0], (self.height() - 2) / size.page[1])
        left = (self.width() - scale * size.page[0]) / 2
        boxes = [
            QRectF(
                left + scale * (size.left + column * size.step[0]),
                1 + scale * (size.top + row * size.step[1]),
                scale * size.label[0],
                scale * size.label[1],
            )
            for row in range(size.rows)
            for column in range(size.columns)
        ]
        return QRectF(left, 1, scale * size.page[0], scale * size.page[1]), boxes

    def mousePressEvent(self, event: QMouseEvent) -> None:
        for number, box in enumerate(self._boxes()[1], 1):
            if box.contains(event.position()):
                self.taken.emit(number)
                return

    def paintEvent(self, event: QPaintEvent) -> None:
        look, (sheet, boxes) = self._look, self._boxes()
        painter = QPainter(self)
        painter.setPen(color(look.dim))
        painter.drawRect(sheet)
        for number, box in enumerate(boxes, 1):
            inner = box.adjusted(1, 1, -1, -1)
            if self._start and self._start <= number < self._start + self._count:
                painter.fillRect(inner, color(look.accent))
            elif number < self._start:  # gone: crossed out, so that no colour has to say it
                painter.drawLine(QPointF(inner.left(), inner.bottom()), QPointF(inner.right(), inner.top()))
            painter.drawRect(inner)
        painter.end()


class LabelPanel(Panel):
    """The size of last time is chosen, and the first label that it left."""

    keys = words.KEYS

    def __init__(
        self, labels: LabelPort, sizes: Sequence[Size], wanted: Sequence[Wanted], look: Look, parent: QWidget
    ) -> None:
        super().__init__(words.TITLE, look, parent)
        self._labels, self._sizes, self._wanted = labels, tuple(sizes), tuple(wanted)
        last, self._free = labels.last_sheet()
        names = [size.name for size in self._sizes]
        self._last = names.index(last) if last in names else -1
        self.what = ChoiceList([one.said for one in self._wanted], look)
        self.size_of = ChoiceList(names, look, max(self._last, 0), columns=2)
        self.start = QLineEdit()
        self.sheet = SheetPicture(look)
        self._told = plain_label("", wrap=True)
        self._begun = QWidget()
        rows = QVBoxLayout(self._begun)
        rows.setContentsMargins(0, 0, 0, 0)
        for part in (plain_label(words.START, "small", wrap=True), self.start, self.sheet):
            rows.addWidget(part)
        self._begun.setFocusProxy(self.start)
        self.start.setAccessibleName(words.START)
        self.add(self.what, words.WHAT, focus=True)
        self.add(self.size_of, words.SIZE, focus=True)
        self.add(self._begun, focus=True)
        self.add(self._told)
        self.what.changed.connect(lambda _: self._show())
        self.size_of.changed.connect(lambda _: self._other_size())
        self.start.textChanged.connect(lambda _: self._show())
        self.sheet.taken.connect(lambda number: self.start.setText(figures.number(number, 0)))
        self._other_size()
        self.finish(self.what)

    def _size(self) -> Size:
        return self._sizes[self.size_of.chosen]

    def _other_size(self) -> None:
        """What is left of a sheet is known of the size that was printed last."""
        size = self._size()
        free = self._free if self.size_of.chosen == self._last and self._free <= size.each else 1
        self._begun.setVisible(size.each > 1)
        self.start.setText(figures.number(free, 0))
        self._show()
        if self.isVisible():
            self.place()

    def _start(self) -> int:
        """InputError where the sheet has no such label."""
        most = self._size().each
        try:
            return whole(self.start.text(), 1, most)
        except InputError as error:
            raise InputError(words.NO_SUCH_START.format(most=figures.number(most, 0))) from error

    def _show(self) -> None:
        size, count = self._size(), len(self._wanted[self.what.chosen].units)
        labels = grammar.count_of(count, words.COUNT)
        try:
            start = self._start()
        except InputError as error:
            self.sheet.show_sheet(size, 0, 0)
            self._tell(str(error))
            return
        self.sheet.show_sheet(size, start, count)
        sheets = grammar.count_of(-(-(start - 1 + count) // size.each), words.SHEETS)
        told = words.SINGLE if size.each == 1 else words.ON_SHEETS
        first, each = (figures.number(number, 0) for number in (start, size.each))
        self._tell(told.format(labels=labels, sheets=sheets, first=first, each=each))

    def _tell(self, text: str) -> None:
        self._told.setText(text)
        self.sheet.setAccessibleDescription(text)

    def commit(self) -> None:
        try:
            start = self._start()
        except InputError as error:
            raise self.wrong(self.start, str(error)) from error
        wanted = self._wanted[self.what.chosen]
        self._labels.write_labels(wanted.units, wanted.name, self._size(), start)
