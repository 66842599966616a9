"""What the checks that ended last came to. It stays on the card while the next one runs: who has both hands on the unit
looks up late.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from station.bench.counted import was_skipped
from station.bench.types import SessionView, StepView
from station.checks.types import Outcome
from station.ui.checklist.rows import detail_of, shape_of
from station.ui.painting.look import Look
from station.ui.painting.opens import Opens
from station.ui.painting.shapes import ShapeMark
from station.ui.painting.widgets import plain_label
from station.words import checklist as words
from station.words import common
from station.words.grammar import count_of, sentence_start, spoken_name

MOST = 3
_WORST_FIRST = (Outcome.FAIL, Outcome.BORDERLINE, Outcome.INTERRUPTED, Outcome.NOT_DONE, Outcome.PASS)
_ROLES = {Outcome.FAIL: "bad", Outcome.BORDERLINE: "borderline"}


class Batch:
    """The steps that ended last; those that were done at the same time belong together."""

    def __init__(self) -> None:
        self._visit = ""
        self._with: tuple[int, ...] = ()
        self._steps: tuple[int, ...] = ()

    def take(self, old: SessionView | None, new: SessionView) -> tuple[int, ...]:
        """The steps of the batch as of this picture of the visit, given the one before."""
        if old is None or old.visit.id != new.visit.id or len(old.steps) != len(new.steps):
            self._with, self._steps = (), (new.last,) if new.last >= 0 else ()
            return self._steps
        if old.steps is new.steps:
            return self._steps
        pairs = enumerate(zip(old.steps, new.steps, strict=True))
        ended = tuple(k for k, (a, b) in pairs if b.state == "done" and b.attempts > a.attempts)
        if not ended:
            return self._steps
        beside = old.together or (old.current,)
        before = self._steps if beside == self._with else ()
        self._with, self._steps = beside, tuple(k for k in before if k not in ended) + ended
        return self._steps


def told(views: Sequence[StepView]) -> list[tuple[StepView | None, str]]:
    """(step, what is said of it) of at most `MOST` lines, the worst first; None: how many more there are."""
    order = sorted(views, key=lambda v: _WORST_FIRST.index(v.outcome))
    shown = order if len(order) <= MOST else order[: MOST - 1]
    lines: list[tuple[StepView | None, str]] = [(view, _said(view)) for view in shown]
    if rest := order[len(shown) :]:
        template = words.MORE_PASSED if all(v.outcome is Outcome.PASS for v in rest) else words.MORE_ENDED
        lines.append((None, template.format(checks=count_of(len(rest), words.CHECKS))))
    return lines


def _said(view: StepView) -> str:
    control = view.step.control_name or sentence_start(common.WHOLE_UNIT)
    outcome = detail_of(view) if was_skipped(view) else common.OUTCOMES[view.outcome.value]
    detail = "" if was_skipped(view) else detail_of(view)
    if detail and detail != outcome:
        outcome = words.OUTCOME_AND_REASON.format(outcome=outcome, reason=detail)
    return words.CAME_TO.format(control=control, check=spoken_name(view.step.title), outcome=outcome)


class LastResults(QWidget):
    """Shape and words of each.

    Signals: `look_wanted(tuple)`: a line was opened: its check and control.
    """

    look_wanted = Signal(tuple)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look = look
        self._views: tuple[StepView, ...] = ()
        self._lines: list[tuple[StepView | None, str]] = []
        self._inner = QWidget()
        self._box = QVBoxLayout(self)
        self._box.setContentsMargins(0, 0, 0, 0)
        self._box.addWidget(self._inner)
        self.hide()

    def set_look(self, look: Look) -> None:
        self._look = look
        self._build()

    def show_steps(self, views: Sequence[StepView]) -> None:
        """None: nothing ended yet, and no room is taken."""
        views = tuple(views)
        if views != self._views:
            self._views = views
            self._lines = told(views)
            self._build()
            self.setVisible(bool(views))

    def texts(self) -> list[str]:
        return [text for _, text in self._lines]

    def _build(self) -> None:
        old, self._inner = self._inner, QWidget()
        self._box.replaceWidget(old, self._inner)
        old.hide()
        old.deleteLater()
        column = QVBoxLayout(self._inner)
        column.setContentsMargins(0, self._look.px(4), 0, self._look.px(2))
        column.setSpacing(self._look.px(2))
        for view, text in self._lines:
            line = QHBoxLayout()
            line.setSpacing(self._look.px(8))
            if view is None:
                line.addSpacing(self._look.px(14) + 2)
            else:
                line.addWidget(ShapeMark(shape_of(view), self._look, 14), 0, Qt.AlignmentFlag.AlignTop)
            role = _ROLES.get(view.outcome, "") if view is not None else "dim"
            said = plain_label(text, role, wrap=True)
            if view is not None:
                Opens(said, partial(self.look_wanted.emit, (view.step.check, view.step.control)))
            line.addWidget(said, 1)
            column.addLayout(line)
