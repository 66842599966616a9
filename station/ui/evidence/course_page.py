"""The course of a unit as a page of the room: readings over the visits, the picture of one, and whether a cure held."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QScrollBar, QVBoxLayout, QWidget

from station.evidence.course import Course, CourseLine, course_of, held_told, title_of_line, values_told
from station.records.types import Unit, UnitHistory
from station.ui.evidence.course import CoursePicture
from station.ui.painting.beside import fold_list
from station.ui.painting.look import Look
from station.ui.painting.tables import Line, LineTable
from station.ui.painting.widgets import plain_label, scrolling
from station.words import evidence_room as words

LIST = 300, 0.34
"""pixels beside the picture, or share of the height above it"""


class CoursePage(QWidget):
    """`open` with a unit's history.

    Signals: `opened(str)`: the evidence of a reading is wanted: the id of its last result.
    """

    opened = Signal(str)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look = look
        self.course = Course()
        self._names: Mapping[str, str] = {}
        self.list = LineTable(words.COURSE_HEADS, look, wide=0)
        self.list.setAccessibleName(words.COURSE)
        self.list.moved.connect(self._moved)
        self.list.opened.connect(self._opened)
        self.title, self.held = plain_label("", "title", wrap=True), plain_label("", wrap=True)
        self.legend = plain_label(words.COURSE_LEGEND, "small", wrap=True)
        self.picture = CoursePicture(look)
        right = QWidget()
        column = QVBoxLayout(right)
        column.setContentsMargins(0, 0, 0, 0)
        self.bar = QScrollBar(Qt.Orientation.Horizontal)  # where not all visits have room: Left and Right move it
        self.bar.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.bar.setAccessibleName(words.COURSE_VISITS)
        self.bar.valueChanged.connect(self._scrolled)
        self.picture.moved.connect(self._follow)
        for part in (self.title, self.picture, self.bar, self.held, self.legend):
            column.addWidget(part, 1 if part is self.picture else 0)
        self._sides = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._sides.setContentsMargins(0, 0, 0, 0)
        self._sides.addWidget(self.list)
        area = scrolling()  # a low window keeps the picture and its words
        area.setWidget(right)
        self._sides.addWidget(area, 1)
        self._fold()

    def open(self, history: UnitHistory, names: Mapping[str, str], key: tuple[str, str]) -> None:
        """`key`: check and control of the reading to begin with, where it has one."""
        self._names, self.course = names, course_of(history)
        lines = self.course.lines
        self.list.set_lines(
            [Line((self._title(ln), values_told(ln)), k, ln.points[-1].outcome) for k, ln in enumerate(lines)]
        )
        self.picture.show_from(None)
        at = next((k for k, ln in enumerate(lines) if (ln.check, ln.control) == key), 0)
        self.list.choose(at)
        self._moved(at)

    def _title(self, line: CourseLine) -> str:
        return title_of_line(line, self._names.get(line.control, line.control))

    def _moved(self, what: object) -> None:
        if not isinstance(what, int) or what >= len(self.course.lines):
            return
        line = self.course.lines[what]
        held = held_told(self.course, line)
        self.title.setText(self._title(line))
        self.held.setText(words.COURSE_TOLD.format(values=values_told(line), held=held))
        self.picture.show_line(self.course, line, self._title(line), held)
        self._follow()

    def _opened(self, what: object) -> None:
        if isinstance(what, int):
            self.opened.emit(self.course.lines[what].points[-1].result_id)

    def _follow(self) -> None:
        """The bar stands where the picture is; it is there only where visits are left out."""
        shown, newest = self.picture.shown(), self.picture.newest()
        self.bar.blockSignals(True)
        self.bar.setRange(0, newest)
        self.bar.setPageStep(max(len(shown), 1))
        self.bar.setValue(shown.start)
        self.bar.blockSignals(False)
        self.bar.setVisible(newest > 0)

    def _scrolled(self, first: int) -> None:
        self.picture.show_from(first if first < self.bar.maximum() else None)

    def move_on(self, step: int) -> None:
        """To the next later visit, 1, or the one before, −1."""
        self.bar.setValue(self.bar.value() + step)

    def files(self, unit: Unit) -> dict[str, bytes]:
        """The picture of all visits of the reading under the cursor with its words, and all readings: ending →
        content."""
        from station.ui.evidence.picture_file import drawn_course

        at = self.list.current()
        line = self.course.lines[at if isinstance(at, int) else 0]
        return drawn_course(self.course, line, self._names.get(line.control, line.control), unit, self._look)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.list.set_look(look)
        self.picture.set_look(look)
        self._fold()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        fold_list(self._sides, self.list, self, self._look, LIST)
