"""How much of a unit is done is counted in one way, wherever it stands on the screen."""

from __future__ import annotations

import re
from collections.abc import Callable

import scenes
from PySide6.QtCore import Qt
from workbench import Workbench

from station.bench.counted import counts_of
from station.bench.types import Finish, Skip
from station.judgement.totals import visit_totals
from station.ui.checklist.rows import Heading
from station.ui.window import MainWindow

Press = Callable[..., None]
K = Qt.Key


def test_card_list_question_and_log_count_alike(window: MainWindow, desk: Workbench, press: Press) -> None:
    """A visit with interrupted and skipped checks: 38 checks stood in the log, 36 in the list, and 10 were left."""
    scenes.third_visit(desk)
    scenes.rolling(desk)
    desk.desk.visit.do(Skip("no such control"))
    desk.settle(window)
    view = desk.session()
    counts = counts_of(view.steps)
    assert counts.skipped == 1
    assert counts.asked == len(view.steps)
    headings = [row for row in window.checklist.list.rows() if isinstance(row, Heading)]
    assert (sum(h.done for h in headings), sum(h.skipped for h in headings)) == (counts.done, 1)
    press(window, K.Key_F)
    assert window.panel is not None
    assert any(f"{counts.left} checks stay" in text for text in window.panel.labels())
    press(window, K.Key_Escape)
    desk.desk.visit.do(Finish())
    desk.settle(window)
    counts = counts_of(desk.session().steps)
    said = window.checklist.card.do.text()
    figures = {what: int(count) for count, what in re.findall(r"(\d+)\s([a-z ]+[a-z])", said)}
    assert figures == {
        "pass": counts.passed,
        "borderline": counts.borderline,
        "fail": counts.failed,
        "skipped": counts.skipped,
        "not done": counts.left,
    }
    history = desk.store.history(view.unit.id)
    assert visit_totals(history.results, view.visit.id).done == counts.done
    log = [text for text in window.record.texts() if f"{counts.done} checks, {counts.failed} failed" in text]
    assert len(log) == 1


def test_what_was_only_offered_is_not_left(window: MainWindow, desk: Workbench) -> None:
    scenes.third_visit(desk)
    desk.settle(window)
    steps = desk.session().steps
    offered = [v for v in steps if v.step.offered and v.state != "done"]
    assert counts_of(steps).asked == len(steps) - len(offered)
