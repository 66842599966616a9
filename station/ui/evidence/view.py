"""The evidence room as a view: the list of results, the picture, and what stands below it in words.

The plots are made when a result is first shown, and kept; until then the plot library is not loaded.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QVBoxLayout, QWidget

from station.evidence.course import course_file
from station.evidence.laid_over import OtherTry, beside_told, other_told
from station.evidence.told import above, cursors_told, file_name, legend, summary
from station.records.types import Result, UnitHistory
from station.ui.evidence.course_page import CoursePage
from station.ui.evidence.rows import Asked, rows
from station.ui.painting.beside import fold_list
from station.ui.painting.look import Look
from station.ui.painting.tables import LineTable
from station.ui.painting.told import announce
from station.ui.painting.widgets import plain_label, scrolling
from station.ui.ports import DeskEvent, EvidencePort, EvidenceRead, MeasuredAgain
from station.ui.views import View
from station.words import evidence_room as words

if TYPE_CHECKING:
    from station.evidence.drawing import Evidence, Stop
    from station.ui.evidence.plots import Cursors, Plots

LIST = 400, 0.26
"""pixels beside the picture, or share of the height above it"""


class EvidenceView(View):
    """`open` with a unit's history; what a row stands for is opened by Enter or a double click.

    Signals as in View.
    """

    opened = Signal(object)
    """a row was opened: `Asked`"""

    def __init__(self, evidence: EvidencePort, look: Look) -> None:
        super().__init__(words.ROOM, words.ROOM_KEYS, look, "evidence")
        self._port = evidence
        self.history: UnitHistory | None = None
        self._names: Mapping[str, str] = {}
        self.result: Result | None = None
        self.frozen = False
        """what is shown is in no records"""
        self.evidence: Evidence | None = None
        self.plots: Plots | None = None
        self.cursors: Cursors | None = None
        self.stop = -1
        self._wanted: Asked | None = None
        self.other: OtherTry | None = None
        """the try that is laid over"""
        self._other_evidence: Evidence | None = None
        self._again: tuple[str, ...] = ()
        self.named = plain_label("", "title", wrap=True)
        self.said = plain_label("", wrap=True)
        self.between = plain_label("", wrap=True)
        self.legend = plain_label("", "small", wrap=True)
        self.problem = plain_label("", "do", wrap=True)
        self.list = LineTable(words.HEADS, look, wide=0)
        self.tables.append(self.list)
        self.list.setAccessibleName(words.ROOM)
        self.list.opened.connect(self._row_opened)
        self._sides = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._sides.addWidget(self.list)
        right = QWidget()
        self._column = QVBoxLayout(right)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.addWidget(self.named)
        self._column.addWidget(self.problem)
        self._stretch = QWidget()
        self._column.addWidget(self._stretch, 1)
        for label in (self.between, self.said, self.legend):
            self._column.addWidget(label)
        area = scrolling()  # a low window keeps the picture and its words
        area.setWidget(right)
        self._sides.addWidget(area, 1)
        self._looking = QWidget()
        self._sides.setContentsMargins(0, 0, 0, 0)
        self._looking.setLayout(self._sides)
        self.box.addWidget(self._looking, 1)
        self.course = CoursePage(look)
        self.course.hide()
        self.course.opened.connect(self._look_behind)
        self.tables.append(self.course.list)
        self.box.addWidget(self.course, 1)
        self._fold()

    # --- what is open ------------------------------------------------------------------------------------

    def open(self, history: UnitHistory, names: Mapping[str, str], asked: Asked | None) -> None:
        """The results of a unit, and the one to begin with."""
        self.history, self._names = history, names
        self.leave_course()
        if asked is None:
            self._clear(words.NOTHING_MEASURED)
            self.list.set_lines([])
        else:
            self.show_result(asked)

    def open_frozen(self, history: UnitHistory, names: Mapping[str, str], frozen: Result) -> None:
        """The last seconds of a check that runs, which were asked for; they are in no records."""
        self.history, self._names = history, names
        self.leave_course()
        self._begin(frozen)
        self._wanted, self.frozen = None, True

    def _begin(self, result: Result) -> None:
        """Another result: what is drawn of it follows."""
        self.result, self.frozen = result, False
        self.other, self._other_evidence, self._again = None, None, ()
        self._fill_list()
        self._clear(words.READING)

    def show_result(self, asked: Asked) -> None:
        """Ask for the reports of a result; what is drawn follows when they are read."""
        if self.history is None:
            return
        if self.result is not None and self.result.id == asked.result.id and self.evidence is not None:
            self._go(asked)
            return
        self._begin(asked.result)
        self._wanted = asked
        self._port.look_at(self.history.unit.id, asked.result.id)

    # --- the course of the unit --------------------------------------------------------------------------

    def show_course(self) -> bool:
        """Readings over the visits in the place of the evidence; False where there is none."""
        if self.history is None or self.result is None:
            return False
        self.course.open(self.history, self._names, (self.result.check, self.result.control))
        if not self.course.course.lines:
            return False
        self._looking.hide()
        self.course.show()
        self.keys.setText(words.COURSE_KEYS)
        self.take_focus()
        return True

    def leave_course(self) -> bool:
        """Back to the evidence; False where that is shown already."""
        if self.course.isHidden():
            return False
        self.course.hide()
        self._looking.show()
        self.keys.setText(words.ROOM_KEYS)
        self.take_focus()
        return True

    def _look_behind(self, result_id: str) -> None:
        """The evidence of a reading of the course."""
        result = next((r for r in self.history.results if r.id == result_id), None) if self.history else None
        self.leave_course()
        if result is not None:
            self.show_result(Asked(result))

    def take_focus(self) -> None:
        (self.list if self.course.isHidden() else self.course.list).setFocus()

    def _row_opened(self, what: object) -> None:
        if isinstance(what, Asked):
            self.show_result(what)

    def _fill_list(self) -> None:
        if self.history is None or self.result is None:
            return
        lines = rows(self.history, self._names, self.result.id)
        self.list.set_lines(lines)
        opened = (k for k, ln in enumerate(lines) if isinstance(ln.what, Asked) and ln.what.result.id == self.result.id)
        at = next(opened, 0)
        self.list.choose(at)

    def _clear(self, text: str) -> None:
        self.evidence, self.stop = None, -1
        self.problem.setText(text)
        self.problem.setVisible(bool(text))
        for label in (self.named, self.said, self.between, self.legend):
            label.setText("")
        if self.plots is not None:
            self.plots.hide()
        self._stretch.show()

    # --- what was read -----------------------------------------------------------------------------------

    def told(self, event: DeskEvent) -> None:
        if isinstance(event, EvidenceRead):
            if self.result is not None and event.result_id == self.result.id:
                self._take(event)
            elif self.other is not None and event.result_id == self.other.result.id:
                self._take_other(event)
        elif isinstance(event, MeasuredAgain) and self.result is not None and event.result_id == self.result.id:
            self._again = event.lines
            self.tell()
            announce(self, " ".join(event.lines))

    def _take(self, event: EvidenceRead) -> None:
        if event.evidence is None:
            self._clear(event.problem)
            announce(self, event.problem, urgent=True)
            return
        first = self.evidence is None
        self.evidence = event.evidence
        self.problem.hide()
        self._stretch.hide()
        plots = self._made()
        where = None if first else plots.shown_s()
        if first:
            plots.picture = None
            self.cursors, self.stop = None, -1
        plots.show_evidence(event.evidence, self._other_evidence)
        plots.show()
        part = plots.over_time()
        if where is not None and part is not None:
            part.zoom_to(*where)
        self.tell()
        if self._wanted is not None and event.whole:
            asked, self._wanted = self._wanted, None
            self._go(asked)
        if event.whole:
            announce(self, summary(event.evidence))

    def lay_over(self, other: OtherTry | None) -> None:
        """Read another try to lay it over; None: take it away."""
        self.other, self._other_evidence = other, None
        if other is not None and self.history is not None:
            self._port.look_at(other.unit.id, other.result.id)
        else:
            self._show_both()

    def _take_other(self, event: EvidenceRead) -> None:
        if event.evidence is None:
            self.other = None
            self._again = (event.problem,)
            self.tell()
            announce(self, event.problem, urgent=True)
            return
        self._other_evidence = event.evidence
        self._show_both()
        announce(self, " ".join(self._laid_over()))

    def _show_both(self) -> None:
        if self.evidence is not None and self.plots is not None:
            self.plots.show_evidence(self.evidence, self._other_evidence)
            self.tell()

    def measure_again(self) -> None:
        if self.history is not None and self.result is not None and self.evidence is not None:
            self._port.measure_again(self.history.unit.id, self.result.id)

    def keep_picture(self) -> None:
        """Write what is shown: the picture with its words, and the numbers of the stretch."""
        if not self.course.isHidden():
            self._keep_course()
            return
        if self.evidence is None or self.plots is None or self.result is None or self.history is None:
            return
        if self.plots.picture is None:
            return
        from station.ui.evidence.picture_file import files_of

        head = above(self.history.unit, self.result, self.named.text())
        below = "\n".join((*self._laid_over(), self.said.text(), self.legend.text()))
        files = files_of(self.plots, self.evidence, head, below, self.look)
        name = file_name(self.history, self.result, self.plots.picture)
        self._port.keep_picture(name, files)

    def _keep_course(self) -> None:
        at = self.course.list.current()
        if isinstance(at, int) and self.history is not None:
            line = self.course.course.lines[at]
            self._port.keep_picture(course_file(self.history.unit.tag, line), self.course.files(self.history.unit))

    def under_cursor(self) -> Result | None:
        """The result whose row the cursor of the list is on."""
        what = self.list.current()
        return what.result if isinstance(what, Asked) else None

    def _made(self) -> Plots:
        """The plots; the library is loaded here, once."""
        if self.plots is None:
            from station.ui.evidence.plots import Plots

            self.plots = Plots(self.look)
            self.plots.clicked.connect(self._clicked)
            self._column.insertWidget(2, self.plots, 1)
        return self.plots

    def close_plots(self) -> None:
        """The window ends."""
        if self.plots is not None:
            self.plots.close_plots()
            self.plots.deleteLater()
            self.plots = None

    def _go(self, asked: Asked) -> None:
        """To the first place of a finding; any other row shows the whole try."""
        if self.evidence is None or self.plots is None:
            return
        if asked.finding < 0:
            self.go_to(-1)
            return
        stops = [s.text for s in self.evidence.stops]
        texts = list(dict.fromkeys(stops))
        if asked.finding < len(texts):
            self.go_to(stops.index(texts[asked.finding]))

    def go_to(self, stop: int) -> None:
        """Show the place of that number; −1: the whole try."""
        if self.evidence is None or self.plots is None:
            return
        self.stop = stop
        if stop >= 0:
            self.plots.go_to(self.evidence.stops[stop])
        else:
            self.plots.whole()
        self.tell()

    # --- in words ----------------------------------------------------------------------------------------

    def stop_shown(self) -> Stop | None:
        if self.evidence is None or self.stop < 0:
            return None
        return self.evidence.stops[self.stop]

    def tell(self) -> None:
        """Everything that is said of what is shown, and the cursors in the picture."""
        evidence, plots = self.evidence, self.plots
        if evidence is None or plots is None or plots.picture is None:
            return
        names = words.PICTURES
        number = evidence.pictures.index(plots.picture) + 1
        self.named.setText(
            words.NAMED.format(
                title=evidence.title, picture=names[plots.picture], number=number, total=len(evidence.pictures)
            )
        )
        lines = [*self._laid_over(), *self._again]
        stop = self.stop_shown()
        if stop is not None:
            at = words.STOP.format(number=self.stop + 1, total=len(evidence.stops), text=stop.text)
            lines.append(at if stop.spot is None else words.STOP_AT.format(stop=at, what=stop.spot.text))
        if self.cursors is not None:
            lines += cursors_told(evidence, *self.cursors.both())
            plots.set_cursors(self.cursors, stop)
        else:
            from station.ui.evidence.plots import Cursors

            plots.set_cursors(Cursors(), stop)
        self.between.setText("\n".join(lines))
        self.between.setVisible(bool(lines))
        text = summary(evidence)
        self.said.setText(text)
        self.legend.setText(legend(evidence, plots.picture))
        plots.setAccessibleName(self.named.text())
        plots.setAccessibleDescription(text)
        self._fold()

    def _laid_over(self) -> tuple[str, ...]:
        if self.other is None or self._other_evidence is None or self.result is None or self.history is None:
            return ()
        unit = self.history.unit
        told = words.LAID_OVER.format(visit=other_told(self.other, unit))
        return (told, *beside_told(self.other, self.result, unit))

    def _clicked(self, at_s: float, shift: bool) -> None:
        """A click sets the first cursor, one with Shift the second."""
        self.set_cursor(1 if shift else 0, at_s)

    def set_cursor(self, which: int, at_s: float) -> None:
        from station.ui.evidence.plots import Cursors

        first, second = self.cursors.both() if self.cursors is not None else (None, None)
        self.cursors = Cursors(at_s, second, 0) if which == 0 else Cursors(first, at_s, 1)
        self.tell()

    # --- room --------------------------------------------------------------------------------------------

    def set_look(self, look: Look) -> None:
        super().set_look(look)
        self.course.set_look(look)
        if self.plots is not None:
            self.plots.set_look(look)
        self._fold()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        """Side by side where there is room; else the list above the picture."""
        fold_list(self._sides, self.list, self, self.look, LIST)
