"""What was measured last of a unit that is not plugged in: it stands where the live picture would be."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout, QWidget

from station.checks.decide import deciding
from station.checks.registry import describe, title_of
from station.checks.said import bare_value, limit_text
from station.checks.strengths import faulty_presses
from station.checks.types import Outcome, Reading
from station.judgement.tries import standing, tells
from station.records.types import Result, UnitHistory
from station.ui.painting.look import Look
from station.ui.painting.tables import Line, LineTable
from station.ui.painting.widgets import plain_label
from station.words import checklist, common, figures, grammar, record
from station.words import live as words

_WORST_FIRST = (Outcome.FAIL, Outcome.BORDERLINE, Outcome.PASS)


def last_lines(history: UnitHistory, names: Mapping[str, str]) -> list[Line]:
    """What stands for each check: the reading that decided, its limit and its day; what is bad first. Presses are
    decided by all of them, so that of those the faulty ones stand there. `names`: control id → name."""
    found = [r for r in standing(history.results).values() if tells(r.assessment)]
    found.sort(key=lambda r: _WORST_FIRST.index(r.assessment.outcome))
    return [_line(result, names) for result in found]


def _line(result: Result, names: Mapping[str, str]) -> Line:
    outcome = result.assessment.outcome
    about = describe(result.check).short or grammar.spoken_name(title_of(result.check))
    name = names.get(result.control, grammar.sentence_start(result.control.replace("_", " ")))
    what = record.CHECK_OF.format(control=name, check=about) if result.control else grammar.sentence_start(about)
    said, limit = "", ""
    presses = faulty_presses(result.assessment.readings)
    if presses is not None and outcome is not Outcome.PASS and not result.by_hand:
        said = checklist.FAULTY.format(faulty=presses[0], counted=presses[1])
        return Line((what, common.OUTCOMES[outcome.value], said, limit, figures.day(result.at)), result, outcome)
    reading = None if result.by_hand else _told(result)
    if reading is not None:
        said = bare_value(result.check, reading)
        limit = limit_text(reading)
    return Line((what, common.OUTCOMES[outcome.value], said, limit, figures.day(result.at)), result, outcome)


def _told(result: Result) -> Reading | None:
    """The reading that decided, else the first one with a limit."""
    readings = [r for r in result.assessment.readings if r.value is not None and r.limit is not None]
    return deciding(readings, result.assessment.outcome) or next(iter(readings), None)


class LastMeasured(QWidget):
    """`show_unit` when the record changed."""

    def __init__(self, look: Look, parent: QWidget) -> None:
        super().__init__(parent)
        self._title = plain_label("", "title", wrap=True)
        self._told = plain_label("", "dim", wrap=True)
        self.table = LineTable(words.LAST_HEADS, look, wide=0)
        self.table.setAccessibleName(words.LAST_MEASURED)
        self.table.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.table.setSelectionMode(LineTable.SelectionMode.NoSelection)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        for part in (self._title, self._told, self.table):
            box.addWidget(part, 1 if part is self.table else 0)
        box.addStretch(0)

    def set_look(self, look: Look) -> None:
        self.table.set_look(look)

    def show_unit(self, history: UnitHistory, names: Mapping[str, str]) -> None:
        lines = last_lines(history, names)
        self._title.setText(words.NOT_HERE.format(tag=history.unit.tag))
        self._told.setText(words.LAST_MEASURED if lines else words.NEVER_MEASURED)
        self.table.set_lines(lines)
        self.table.setVisible(bool(lines))
