"""What a visit does without a key: it begins with the one that asked for it, and ends where everything passed."""

from __future__ import annotations

import pytest

from station.bench.types import Answer, BeginSoon, Choose, Command, Go, Hold, ReadAgain, Skip, Step, VisitFinished
from station.checks.ask import SIGNS
from station.checks.types import Outcome
from tests.bench_session.bench_fakes import Bench, FailingRecorder

ONE = (Step("contact", "left", "Contact", "Left shoulder", "top"),)
ASKED = (Step("smell", "", "Smell", "Whole unit", "whole unit", person_answers=True), *ONE)
A_WHILE_S = 1.5


def test_the_key_that_asked_for_the_visit_begins_its_first_step() -> None:
    bench = Bench(steps=ONE, auto_go=True)
    bench.run(A_WHILE_S)
    assert not bench.session.view().running, "a visit that nobody asked for waits"
    bench.do(BeginSoon())
    bench.run(A_WHILE_S)
    assert bench.session.view().running


def test_a_key_out_of_habit_begins_it_at_once_and_ends_nothing() -> None:
    bench = Bench(steps=ONE, auto_go=True)
    bench.do(BeginSoon(), Go())
    assert bench.session.view().running, "it begins with the key"
    late = Bench(steps=ONE, auto_go=True)
    late.do(BeginSoon())
    late.run(0.6)
    late.do(Go())
    assert late.session.view().running, "it had just begun, and nothing is ended"
    assert not late.results


@pytest.mark.parametrize(
    ("steps", "auto_go"),
    [pytest.param(ONE, False, id="steps wait for the key"), pytest.param(ASKED, True, id="a question stands first")],
)
def test_it_does_not_begin_where(steps: tuple[Step, ...], auto_go: bool) -> None:
    bench = Bench(steps=steps, auto_go=auto_go)
    bench.do(BeginSoon())
    bench.run(A_WHILE_S)
    assert bench.session.view().steps[-1].state == "waiting"


def passed(*, hold: bool = False, recorder: FailingRecorder | None = None) -> Bench:
    """A visit of one check that has passed."""
    bench = Bench(steps=ONE, auto_go=True, recorder=recorder)
    bench.do(Go())
    bench.press(1, 2)
    bench.run(0.2)
    assert bench.results[-1].assessment.outcome is Outcome.PASS
    if hold:
        bench.do(Hold(True))
    return bench


def test_a_visit_of_which_everything_passed_ends_by_itself() -> None:
    bench = passed()
    assert (bench.session.view().begins, bench.session.finished) == (True, False), "there is time for a key"
    bench.run(A_WHILE_S)
    assert bench.session.finished
    assert len(bench.of(VisitFinished)) == 1


def test_one_key_makes_it_wait_and_the_next_ends_it() -> None:
    bench = passed()
    bench.do(Go())
    bench.run(5.0)
    assert not bench.session.finished
    bench.do(Go())
    assert bench.session.finished


def test_it_does_not_end_while_something_stands_in_front() -> None:
    bench = passed(hold=True)
    bench.run(5.0)
    assert not bench.session.finished
    bench.do(Hold(False))
    bench.run(A_WHILE_S)
    assert bench.session.finished


@pytest.mark.parametrize("command", [pytest.param(Skip("no time"), id="skipped"), pytest.param(None, id="failed")])
def test_what_did_not_pass_is_looked_at_first(command: Command | None) -> None:
    bench = Bench(steps=ONE, auto_go=True)
    bench.do(command or Go())
    if command is None:
        bench.run(0.3)
        bench.do(Go())
    bench.run(5.0)
    assert bench.session.view().steps[0].state == "done"
    assert not bench.session.finished


def test_an_end_that_the_records_refuse_is_tried_once_and_waits_for_the_key() -> None:
    recorder = FailingRecorder()
    bench = passed(recorder=recorder)
    recorder.broken = "The records are closed; open them again."
    bench.run(5.0)
    assert not bench.session.finished
    assert "The records are closed" in bench.session.view().message
    recorder.broken = ""
    bench.do(Go())
    assert bench.session.finished


LOOK_FIRST = (
    Step("look", "", "Look", "Whole unit", "whole unit", person_answers=True),
    *ONE,
    Step("smell", "", "Smell", "Whole unit", "whole unit", person_answers=True),
)
SIGN = SIGNS[0]


@pytest.mark.parametrize(
    "commands",
    [
        pytest.param((), id="by itself"),
        pytest.param((Go(),), id="by the one key"),
        pytest.param((Choose(1), Go()), id="by another step"),
        pytest.param((Choose(2),), id="by a question"),
        pytest.param((Skip("seen"), Go(), Go()), id="by leaving the look out"),
    ],
)
def test_a_unit_that_was_stopped_is_not_worked_at_any_further(commands: tuple[Command, ...]) -> None:
    bench = Bench(steps=LOOK_FIRST, auto_go=True)
    bench.do(Answer("fail", sign=SIGN))
    bench.do(*commands)
    bench.press(1, 2)
    bench.run(3.0)
    assert {r.check for r in bench.results} == {"look"}
    assert all(view.state == "waiting" for view in bench.session.view().steps[1:])


def test_another_look_lifts_the_stop() -> None:
    bench = Bench(steps=LOOK_FIRST, auto_go=True)
    bench.do(Answer("fail", sign=SIGN), Go())
    bench.do(Answer("pass"))
    bench.run(A_WHILE_S)
    assert bench.session.view().together == ()
    assert (bench.session.view().current, bench.session.view().running) == (1, True)


ASKED_LAST = (*ONE, Step("smell", "", "Smell", "Whole unit", "whole unit", person_answers=True))
TWO_ASKED = (ASKED[0], Step("sound", "", "Sound", "Whole unit", "whole unit", person_answers=True), *ONE)


def test_after_a_key_the_visit_waits_longer_before_it_ends_by_itself() -> None:
    bench = Bench(steps=ASKED_LAST, auto_go=True)
    bench.do(Go())
    bench.press(1, 2)
    bench.run(0.2)
    bench.do(Answer("pass"))
    bench.run(1.7)
    assert not bench.session.finished, "who struck the wrong key takes it back meanwhile"
    bench.run(1.5)
    assert bench.session.finished


def test_an_answer_that_comes_late_is_no_answer_to_the_next_question() -> None:
    bench = Bench(steps=TWO_ASKED)
    bench.do(Answer("pass", of="smell"), Answer("fail", of="smell"))
    assert [(r.check, r.assessment.outcome) for r in bench.results] == [("smell", Outcome.PASS)]
    assert bench.session.view().steps[1].state == "running"


@pytest.mark.parametrize(
    ("after_s", "current"), [pytest.param(2.0, 0, id="it gives way"), pytest.param(20.0, 1, id="it goes on")]
)
def test_what_began_since_an_answer_gives_way_when_that_is_taken_back(after_s: float, current: int) -> None:
    bench = Bench(steps=ASKED, auto_go=True)
    bench.do(Answer("pass"))
    bench.run(1.0)
    assert bench.session.view().current == 1
    bench.press(1, 1)
    bench.run(after_s)
    bench.recorder.results[:] = [r for r in bench.results if r.check != "smell"]
    bench.do(ReadAgain())
    assert (bench.session.view().current, bench.session.view().running) == (current, True)


def test_what_gives_way_before_anything_was_done_leaves_no_trace() -> None:
    bench = Bench(steps=ASKED, auto_go=True)
    bench.do(Answer("pass"))
    bench.run(1.0)
    bench.recorder.results.clear()
    bench.do(ReadAgain())
    assert bench.results == []
    assert bench.session.view().steps[1].state == "waiting"


def test_a_try_that_a_key_ended_too_soon_is_not_begun_again_by_itself() -> None:
    bench = Bench(steps=ONE, auto_go=True, real=True)
    bench.do(Go())
    bench.press(1, 1)
    bench.run(0.2)
    bench.do(Go())
    assert bench.session.view().again, "one press is too few"
    bench.run(A_WHILE_S)
    assert not bench.session.view().running, "the hands are elsewhere"
    bench.do(Go())
    assert bench.session.view().running
