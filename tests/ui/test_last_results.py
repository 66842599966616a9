"""What came of the checks that ended last stays on the card while the next one begins by itself."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QApplication
from workbench import Workbench

from station.bench.types import Go, SessionView, Step, StepView
from station.checks.types import Assessment, Outcome, Reading
from station.records.types import Unit, Visit
from station.ui.checklist.last_results import Batch, told
from station.ui.window import MainWindow

PASS, FAIL = Outcome.PASS, Outcome.FAIL


def step(k: int, outcome: Outcome | None = None) -> StepView:
    made = Step("contact", f"button_{k}", "Contact", f"Button {k}", "right hand")
    if outcome is None:
        return StepView(made, "waiting", Outcome.NOT_DONE)
    return StepView(made, "done", outcome, 1, Assessment(outcome))


def session(steps: list[StepView], current: int, together: tuple[int, ...] = (), last: int = -1) -> SessionView:
    visit = Visit("v", "u", "intake", 1, "2026-11-25", "x")
    unit = Unit("u", "A-1", "Plover T2")
    return SessionView(unit, visit, tuple(steps), current, True, None, None, together=together, last=last)


def test_what_was_done_at_the_same_time_is_told_together() -> None:
    batch = Batch()
    waiting = [step(k) for k in range(4)]
    one = [step(0, PASS), *waiting[1:]]
    two = [step(0, PASS), step(1, FAIL), *waiting[2:]]
    three = [step(0, PASS), step(1, FAIL), step(2, PASS), waiting[3]]
    beside = (0, 1)
    views = [
        session(waiting, 0, beside),
        session(one, 0, beside),
        session(two, 2, ()),
        session(two, 2, ()),
        session(three, 3, ()),
    ]
    seen = [batch.take(old, new) for old, new in zip([None, *views], views, strict=False)]
    assert seen == [(), (0,), (0, 1), (0, 1), (2,)]


def test_a_visit_that_goes_on_tells_its_last_result() -> None:
    assert Batch().take(None, session([step(0, PASS), step(1)], 1, last=0)) == (0,)


def test_a_failed_one_leads_and_many_that_passed_are_counted() -> None:
    views = [step(k, FAIL if k == 5 else PASS) for k in range(8)]
    lines = [text for _, text in told(views)]
    assert lines == ["Button 5, contact: fail", "Button 0, contact: pass", "6 checks more: pass"]


def test_what_decided_is_told_with_it() -> None:
    readings = (Reading("offset", 10.2, "%", 0.3, 5, 10),)
    failed = replace(step(0), state="done", outcome=FAIL, assessment=Assessment(FAIL, readings))
    failed = replace(failed, step=replace(failed.step, check="rest", title="At rest"))
    assert [text for _, text in told([failed])] == ["Button 0, at rest: fail: 10.20\u00a0%"]


def test_the_result_stays_while_the_next_check_runs(visit: MainWindow, desk: Workbench) -> None:
    desk.rest_at("left_stick", 14.8)
    desk.settle(visit)
    if not desk.session().running:
        desk.desk.visit.do(Go())
    desk.advance(300)
    desk.settle(visit)
    QApplication.processEvents()
    card = visit.checklist.card
    assert desk.session().running, "the next one runs"
    assert card.before.isVisible()
    assert any(text.startswith("Left stick, at rest: fail") for text in card.before.texts())
