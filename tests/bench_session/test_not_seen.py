"""A first look in which a press does not come: pressing on must not heal it."""

from __future__ import annotations

import pytest

from station.bench.types import Go, Noticed, NotSeen, ReadAgain, Step
from station.checks.types import Outcome
from tests.bench_session.bench_fakes import Bench

LEFT = Step("glance", "left", "First look", "Left shoulder", "top")
RIGHT = Step("glance", "right", "First look", "Right shoulder", "top")
STICK = Step("glance", "stick", "First look", "Stick", "left hand")
LIT_LEFT, LIT_RIGHT = 1, 2


def looking() -> Bench:
    bench = Bench(steps=(LEFT, RIGHT, STICK), together=True, real=True)
    bench.do(Go())
    bench.run(0.3)
    return bench


def press(bench: Bench, buttons: int, times: int) -> None:
    for _ in range(times):
        bench.source.report(buttons)
        bench.run(0.1)
        bench.source.report(0)
        bench.run(0.3)


def stands(bench: Bench) -> dict[str, Outcome]:
    return {v.step.control: v.outcome for v in bench.session.view().steps if v.state == "done"}


def test_pressing_on_heals_no_press_that_did_not_come() -> None:
    bench = looking()
    press(bench, LIT_LEFT, 2)
    bench.do(NotSeen())
    press(bench, LIT_LEFT, 5)
    press(bench, LIT_RIGHT, 5)
    assert stands(bench) == {"left": Outcome.BORDERLINE, "right": Outcome.PASS}
    left = next(r for r in bench.results if r.control == "left")
    assert (left.by_hand, left.reason) == (True, "pressed, and it did not come")
    assert [(f.code, f.params["checks"]) for f in left.assessment.findings] == [("unclear", ("light",))]
    assert left.capture_sha256, "what the presses that came looked like is kept"


@pytest.mark.parametrize("times", [0, 5], ids=["before it came at all", "after it had ticked itself"])
def test_without_a_button_under_the_hand_it_is_the_next_one_that_comes(times: int) -> None:
    bench = looking()
    press(bench, LIT_LEFT, times)
    bench.do(NotSeen())
    assert [e.message for e in bench.of(Noticed)] == [
        "Press it until it comes: the next button that answers needs its full check."
    ]
    press(bench, LIT_RIGHT if not times else LIT_LEFT, 1)
    assert stands(bench)["right" if not times else "left"] is Outcome.BORDERLINE
    press(bench, LIT_LEFT, 5)
    press(bench, LIT_RIGHT, 5)
    others = {k: o for k, o in stands(bench).items() if k != ("right" if not times else "left")}
    assert set(others.values()) == {Outcome.PASS}, "of one of them it was said"


def test_taken_back_the_button_is_looked_at_again() -> None:
    bench = looking()
    press(bench, LIT_LEFT, 2)
    bench.do(NotSeen())
    assert "left" in stands(bench)
    bench.recorder.results.clear()
    bench.do(ReadAgain())
    assert "left" not in stands(bench)


def test_where_no_first_look_runs_there_is_nothing_to_say_it_of() -> None:
    bench = Bench(steps=(LEFT, RIGHT), together=True, real=True)
    bench.do(NotSeen())
    assert "Nothing was asked here" in bench.session.view().message
    assert bench.results == []
