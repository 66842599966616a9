"""The Record pane: what is known of the unit, visit by visit, and what to do next."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from station.checks.types import Outcome
from station.judgement.tries import Key
from station.records.types import Treatment, Unit, UnitHistory
from station.ui.painting.hazards import HazardBox
from station.ui.painting.hints import KeyHints
from station.ui.painting.look import Look
from station.ui.painting.opens import Opens
from station.ui.painting.shapes import NOTE, ShapeMark
from station.ui.painting.widgets import WeightBar, WrappedText, key_button, plain_label, scrolling, set_tip
from station.ui.ports import CertificateReady, GradeView, ProposalView, SuspectView
from station.ui.record.rows import (
    MOST_VISITS,
    NONE_OLDER,
    LogLine,
    VisitTable,
    certificate_facts,
    log_lines,
    said_of_findings,
    said_of_readings,
    sale_words,
    visit_table,
)
from station.ui.record.sections import Build, Section, inside
from station.ui.record.visits import VisitGrid
from station.words import common, figures, selling
from station.words import record as words
from station.words.figures import no_break, when
from station.words.grammar import sentence_start

FEW_ROWS, MORE_ROWS = 4, 8
FEW_SUSPECTS, MOST_SUSPECTS, LEAST_WEIGHT = 2, 5, 0.05
TALL_PX = 760
"""below this height the pane keeps to what matters most, so that the next treatment's caution stays in sight"""
NARROW_PX = 390
"""below this width two visits stand side by side, the one before and the present one"""
NARROW_VISITS = 2
SECTIONS = ("none", "visits", "grade", "proposal", "findings", "suspects", "readings", "log", "facts")

DAY_ALONE = len("2026-03-06")
"""an entry of which only the day was kept has no time to show"""


class LogLabel(QLabel):
    """A line of the log; a click on what can be withdrawn asks for that."""

    def __init__(self, line: LogLine, wanted: Callable[[str], None]) -> None:
        super().__init__(line.text)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        self._line, self._wanted = line, wanted
        if line.struck:
            self.setProperty("role", "struck")
            self.setAccessibleDescription(line.struck)
        elif line.row_id:
            self.setCursor(Qt.CursorShape.PointingHandCursor)
            set_tip(self, words.LINE_TOLD)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._line.row_id and not self._line.struck and self.rect().contains(event.position().toPoint()):
            self._wanted(self._line.row_id)


class RecordPane(QFrame):
    """`show_unit` whenever the record changed; the buttons forward, the window decides nothing.

    After most results a row or two differ: only sections that say something else are made anew.
    """

    struck_wanted = Signal(str)
    """an entry of the log was clicked: its id"""
    look_wanted = Signal(tuple, str, str)
    """what lies behind a result is wanted: its check and control; the code of a finding, and the id of an earlier
    result, "" for none"""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("pane")
        self._look = look
        self._shown: tuple[UnitHistory, Sequence[SuspectView], ProposalView | None] | None = None
        self._names: Mapping[str, str] = {}
        self._twins: Mapping[str, str] = {}
        self._running_visit = ""
        self._older: Mapping[Key, Treatment] = NONE_OLDER
        self._claim = ""
        self._certificate: CertificateReady | None = None
        self._grade: GradeView | None = None
        self.all_rows = False
        self._shape = (False, False)
        self.treatment = key_button(words.TREATMENT_BUTTON, words.TREATMENT_TOLD, wanted=True)
        self.note = key_button(words.NOTE_BUTTON.format(key="N"), words.NOTE_TOLD)
        self.certificate = key_button(words.CERTIFICATE_BUTTON, words.CERTIFICATE_TOLD)
        self._title = plain_label("", "accent", wrap=True)
        self._title.hide()
        self._area = scrolling()
        self._build()
        self._buttons = QHBoxLayout()
        for button in (self.treatment, self.note, self.certificate):
            self._buttons.addWidget(button)
        self._box = QVBoxLayout(self)
        self._box.addWidget(self._title)
        self._box.addWidget(self._area, 1)
        self._box.addLayout(self._buttons)
        self._space()
        self._fill()

    def _build(self) -> None:
        """The sections from top to bottom, empty yet; what is scrolled to stays where it is while they change."""
        inner = QWidget()
        box = self._box_inside = QVBoxLayout(inner)
        box.setContentsMargins(0, 0, self._look.px(8), 0)
        box.setSpacing(self._look.px(5))
        self._visits = VisitGrid(self._look)
        self._visits.look_wanted.connect(lambda key, result_id: self.look_wanted.emit(key, "", result_id))
        self._sections = {name: Section(self._look) for name in SECTIONS}
        for name, section in self._sections.items():
            if name == "visits":
                box.addWidget(self._visits)
            box.addWidget(section)
        box.addStretch(1)
        self._area.setWidget(inner)

    def _name_buttons(self) -> None:
        """Each begins with its key as it is now."""
        for button, said, key in (
            (self.treatment, words.TREATMENT_BUTTON, "T"),
            (self.note, words.NOTE_BUTTON.format(key="N"), "N"),
            (self.certificate, words.CERTIFICATE_BUTTON, "C"),
        ):
            now = said.replace(key, self._look.cap("bench", key, key), 1)
            if now != button.accessibleName():
                button.setText(now.replace("&", "&&"))
                button.setAccessibleName(now)

    def set_look(self, look: Look) -> None:
        self._look = look
        self._name_buttons()
        where = self._area.verticalScrollBar().value()
        self._space()
        self._build()
        self._fill()
        self._area.verticalScrollBar().setValue(where)

    def _space(self) -> None:
        pad = self._look.px(14)
        self._box.setContentsMargins(pad, self._look.px(8), self._look.px(6), pad)
        self._box.setSpacing(self._look.px(8))
        self._buttons.setContentsMargins(0, 0, pad - self._look.px(6), 0)
        self._buttons.setSpacing(self._look.px(6))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        shape = (self.width() < self._look.px(NARROW_PX), self._tall())
        if shape != self._shape:
            self._shape = shape
            self._fill()

    # --- what is shown -----------------------------------------------------------------------------

    def show_unit(
        self,
        history: UnitHistory | None,
        suspects: Sequence[SuspectView],
        proposal: ProposalView | None,
        names: Mapping[str, str],
        running_visit: str,
        twins: Mapping[str, str] | None = None,
        certificate: CertificateReady | None = None,
        older: Mapping[Key, Treatment] = NONE_OLDER,
        grade: GradeView | None = None,
        claim: str = "",
    ) -> None:
        """Draw the record of a unit; None: no unit is chosen. `older`: results older than a treatment; `claim`: what
        its claim is, in words (as it is written where empty)."""
        self._older, self._grade, self._claim = older, grade, claim
        self._twins = dict(twins or {})
        self._certificate = certificate
        self._shown = None if history is None else (history, tuple(suspects), proposal)
        self._names, self._running_visit = dict(names), running_visit
        self._fill()

    def toggle_rows(self) -> None:
        """Show all checks side by side, or only those that matter."""
        self.all_rows = not self.all_rows
        self._fill()

    def scroll_pages(self, pages: float) -> None:
        """Move through the record without the mouse."""
        bar = self._area.verticalScrollBar()
        bar.setValue(bar.value() + round(pages * bar.pageStep()))

    def set_title(self, text: str) -> None:
        """Whose record this is, when it is not the unit on the bench."""
        self._title.setText(text)
        self._title.setVisible(bool(text))

    def texts(self) -> list[str]:
        """Every text on the pane, in order: for tests and for reading aloud."""
        found = inside(self._box_inside)
        return [w.text() for w in found if isinstance(w, QLabel | WrappedText) and w.text()]

    def _fill(self) -> None:
        """Bring every section up to date; those that say what they said before are left alone."""
        for button in (self.treatment, self.note, self.certificate):
            button.setEnabled(self._shown is not None)
        said = self._said(*self._shown) if self._shown is not None else {"none": ((), self._add_none)}
        self._visits.setVisible(self._shown is not None)
        for name, section in self._sections.items():
            section.say(*said.get(name, (None, None)))

    def _said(
        self, history: UnitHistory, suspects: Sequence[SuspectView], proposal: ProposalView | None
    ) -> dict[str, tuple[Hashable, Build]]:
        """Section → (what it says, how it is drawn); those that have nothing to say are left out."""
        columns = NARROW_VISITS if self._shape[0] else MOST_VISITS
        below = self._show_visits(visit_table(history, self._names, self._running_visit, columns, self._older))
        likely = tuple(self._likely(suspects))
        told_of = said_of_findings(history, self._twins, self._names, self._older)
        found = tuple((text, r.assessment.outcome, (r.check, r.control), code) for text, (r, code) in told_of.items())
        told = said_of_readings(history, self._names)
        log, facts = log_lines(history), self._facts(history.unit)
        said: dict[str, tuple[Hashable, Build]] = {
            "visits": (below[0], partial(self._add_below, *below)),
            "grade": (self._grade, partial(self._add_grade, self._grade)),
            "suspects": (likely, partial(self._add_suspects, likely)),
            "proposal": (proposal, partial(self._add_proposal, proposal)),
            "findings": (found, partial(self._add_findings, found)),
            "readings": (told, partial(self._add_readings, told)),
            "log": (log, partial(self._add_log, log)),
            "facts": (facts, partial(self._add_facts, facts)),
        }
        return {name: (what, build) for name, (what, build) in said.items() if what}

    def _show_visits(self, table: VisitTable) -> tuple[str, str]:
        """The table; returns what stands below it, (text, role)."""
        telling = sum(not row.quiet for row in table.rows)
        few = min(MORE_ROWS if self._tall() else FEW_ROWS, telling)
        count = len(table.rows) if self.all_rows else few
        self._visits.show_table(table, count)
        if not table.rows:
            return words.NO_CHECK_YET, "dim"
        if count == 0:
            return words.ALL_PASSED.format(count=len(table.rows)), "dim"
        if count < len(table.rows):
            return words.MORE_ROWS.format(count=len(table.rows) - count), "small"
        return (words.FEWER_ROWS, "small") if self.all_rows and len(table.rows) > few else ("", "")

    def _add_below(self, text: str, role: str, box: QVBoxLayout) -> None:
        box.addWidget(KeyHints(text, self._look, role, where="bench"))

    def _add_grade(self, grade: GradeView | None, box: QVBoxLayout) -> None:
        if grade is None:
            return
        said = words.GRADE.format(grade=grade.grade) if grade.grade else sentence_start(grade.none)
        box.addWidget(plain_label(said, "bold" if grade.grade else "", wrap=True))
        if grade.kept_from:
            box.addWidget(plain_label(no_break(sentence_start(grade.kept_from)), "dim", wrap=True))

    def _add_none(self, box: QVBoxLayout) -> None:
        box.addWidget(plain_label(words.NO_UNIT, "dim", wrap=True))

    def _add_findings(self, found: Sequence[tuple[str, Outcome, Key, str]], box: QVBoxLayout) -> None:
        box.addWidget(self._section(words.FINDINGS))
        for text, outcome, key, code in found:
            line = QHBoxLayout()
            line.setSpacing(self._look.px(8))
            shape = NOTE if outcome is Outcome.PASS else outcome
            line.addWidget(ShapeMark(shape, self._look, 13), 0, Qt.AlignmentFlag.AlignTop)
            said = plain_label(no_break(text), wrap=True)
            Opens(said, partial(self.look_wanted.emit, key, code, ""))
            line.addWidget(said, 1)
            box.addLayout(line)

    def _add_readings(self, told: Sequence[str], box: QVBoxLayout) -> None:
        box.addWidget(self._section(words.READINGS_SAY))
        for text in told:
            box.addWidget(plain_label(no_break(text), "dim", wrap=True))

    def _add_suspects(self, suspects: Sequence[SuspectView], box: QVBoxLayout) -> None:
        box.addWidget(self._section(words.SUSPECTS))
        grid = QGridLayout()
        grid.setHorizontalSpacing(self._look.px(8))
        grid.setVerticalSpacing(self._look.px(4))
        grid.setColumnStretch(0, 1)
        for y, suspect in enumerate(suspects):
            name = WrappedText(self._look)
            name.set_text(suspect.name)
            grid.addWidget(name, y, 0)
            bar = WeightBar(suspect.weight, self._look, suspect.name)
            grid.addWidget(bar, y, 1, Qt.AlignmentFlag.AlignTop)
        box.addLayout(grid)

    def _likely(self, suspects: Sequence[SuspectView]) -> Sequence[SuspectView]:
        """The suspects worth a line: few in a low window, and none that is hardly one."""
        most = MOST_SUSPECTS if self._tall() else FEW_SUSPECTS
        return [s for k, s in enumerate(suspects[:most]) if k == 0 or s.weight >= LEAST_WEIGHT]

    def _tall(self) -> bool:
        return self.height() >= self._look.px(TALL_PX)

    def _add_proposal(self, proposal: ProposalView | None, box: QVBoxLayout) -> None:
        if proposal is None:
            return
        frame = QFrame()
        frame.setObjectName("box")
        inner = QVBoxLayout(frame)
        pad = self._look.px(10)
        inner.setContentsMargins(pad, self._look.px(7), pad, self._look.px(8))
        inner.setSpacing(self._look.px(3))
        stops = not proposal.kind and proposal.title != common.TEST_AGAIN
        title = proposal.title if stops else words.NEXT.format(treatment=proposal.title)
        inner.addWidget(plain_label(title, "title", wrap=True))
        inner.addWidget(plain_label(no_break(proposal.reason), "dim", wrap=True))
        if proposal.then:
            inner.addWidget(plain_label(no_break(words.THEN.format(what=proposal.then)), "dim", wrap=True))
        if proposal.at_hand:
            inner.addWidget(plain_label(no_break(words.ON_THE_SHELF.format(parts=proposal.at_hand)), "good", wrap=True))
        if proposal.find_out:
            inner.addWidget(plain_label(no_break(words.TO_FIND_OUT.format(what=proposal.find_out)), "dim", wrap=True))
        if proposal.hazards:
            hazards = HazardBox(self._look, tight=True)
            inner.addWidget(hazards)
            hazards.set_hazards(proposal.hazards)
        box.addWidget(frame)

    def _add_log(self, lines: Sequence[LogLine], box: QVBoxLayout) -> None:
        box.addWidget(self._section(words.LOG))
        grid = self._facts_grid()
        for y, line in enumerate(lines):
            at = figures.day(line.at) if len(line.at) == DAY_ALONE else when(line.at)
            grid.addWidget(plain_label(at, "small"), y, 0, Qt.AlignmentFlag.AlignTop)
            said = LogLabel(line, self.struck_wanted.emit)
            if not line.struck:
                grid.addWidget(said, y, 1)
                continue
            both = QVBoxLayout()
            both.setSpacing(0)
            both.addWidget(said)
            both.addWidget(plain_label(line.struck, "small", wrap=True))
            grid.addLayout(both, y, 1)
        box.addLayout(grid)

    def _facts(self, unit: Unit) -> tuple[tuple[str, str], ...]:
        state = self._claim or common.CLAIM_STATES[unit.claim_state]
        claim = words.CLAIMED.format(claim=unit.claim, state=state) if unit.claim else words.NO_CLAIM
        rest = words.REST_UNTIL.format(day=figures.day(unit.rest_until)) if unit.rest_until else words.NO_REST
        return (
            (words.CLAIM, claim),
            (words.CONDITION, unit.condition or words.NO_CONDITION),
            (words.REST, rest),
            (words.BECOMES, common.BECOMES[unit.becomes]),
            *(((selling.SALE_FACT, sale),) if (sale := self._sale(unit)) else ()),
            *certificate_facts(self._certificate),
        )

    def _sale(self, unit: Unit) -> str:
        return sale_words(unit, self._shown[0].currency) if self._shown is not None else ""

    def _add_facts(self, facts: Sequence[tuple[str, str]], box: QVBoxLayout) -> None:
        box.addWidget(self._section(words.UNIT))
        grid = self._facts_grid()
        for y, (name, text) in enumerate(facts):
            grid.addWidget(plain_label(name, "small"), y, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(plain_label(text, wrap=True), y, 1)
        box.addLayout(grid)

    def _facts_grid(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(self._look.px(10))
        grid.setVerticalSpacing(self._look.px(3))
        grid.setColumnMinimumWidth(0, self._look.px(72))
        grid.setColumnStretch(1, 1)
        return grid

    def _section(self, text: str) -> QWidget:
        label = KeyHints(text, self._look, "section", where="bench")
        label.setContentsMargins(0, self._look.px(6), 0, 0)
        return label
