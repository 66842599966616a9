"""The course of a unit as a page of the room: readings over the visits, the picture of one, and whether a cure held."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QScrollArea, QVBoxLayout, QWidget

from station.evidence.course import Course, CourseLine, course_csv, course_of, held_told, title_of_line, values_told
from station.records.types import UnitHistory
from station.ui.evidence.course import CoursePicture
from station.ui.painting.beside import fold_list
from station.ui.painting.look import Look
from station.ui.painting.tables import Line, LineTable
from station.ui.painting.widgets import plain_label
from station.words import evidence_room as words

LIST = 400, 0.34
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
        self.area = QScrollArea()  # many visits need more width than there may be: Left and Right move it
        self.area.setWidget(self.picture)
        self.area.setWidgetResizable(True)
        self._newest = True
        self.area.horizontalScrollBar().rangeChanged.connect(self._grown)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        for part in (self.title, self.area, self.held, self.legend):
            column.addWidget(part, 1 if part is self.area else 0)
        self._sides = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._sides.setContentsMargins(0, 0, 0, 0)
        self._sides.addWidget(self.list)
        self._sides.addWidget(right, 1)
        self._fold()

    def open(self, history: UnitHistory, names: Mapping[str, str], key: tuple[str, str]) -> None:
        """`key`: check and control of the reading to begin with, where it has one."""
        self._names, self.course = names, course_of(history)
        lines = self.course.lines
        self.list.set_lines(
            [Line((self._title(ln), values_told(ln)), k, ln.points[-1].outcome) for k, ln in enumerate(lines)]
        )
        self._newest = True
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

    def _opened(self, what: object) -> None:
        if isinstance(what, int):
            self.opened.emit(self.course.lines[what].points[-1].result_id)

    def _grown(self, _: int, most: int) -> None:
        """The picture begins with the newest visits in sight."""
        if self._newest:
            self.area.horizontalScrollBar().setValue(most)

    def move_on(self, step: int) -> None:
        """To later visits, 1, or earlier ones, −1."""
        bar, self._newest = self.area.horizontalScrollBar(), False
        bar.setValue(bar.value() + step * bar.pageStep() // 2)

    def files(self) -> dict[str, bytes]:
        """The picture of all visits with its words, and all readings: ending → content."""
        from station.ui.evidence.picture_file import png, svg

        above, below = self.title.text(), f"{self.held.text()}\n{self.legend.text()}"
        return {
            "png": png(self.picture, above, below, self._look),
            "svg": svg(self.picture, above, below, self._look),
            "csv": course_csv(self.course),
        }

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
