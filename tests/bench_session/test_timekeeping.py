"""The computer sleeps in mid-check, or its clock is set: said in one line, nothing lost, the unit not blamed."""

from __future__ import annotations

import time

import pytest

from station.bench.timekeeping import Clocks, Noticed, Timekeeper, system_clocks
from station.bench.types import Fault, Go
from tests.bench_session.bench_fakes import Bench, S
from tests.bench_session.test_session import LEFT, LINK, RIGHT, outcomes


@pytest.mark.parametrize("step", [LEFT, LINK], ids=["contact", "link"])
def test_a_check_that_the_computer_slept_through_is_interrupted_and_can_be_done_again(step) -> None:  # type: ignore[no-untyped-def]
    bench = Bench(steps=(step, RIGHT))
    bench.do(Go())
    bench.press(1)
    bench.slept_ns += 600 * S
    bench.tick()
    assert [(r.assessment.outcome.value, r.reason) for r in bench.results] == [("interrupted", "The computer slept.")]
    said = bench.of(Fault)[0].message  # type: ignore[attr-defined]
    assert said == "The computer slept for 10 min; what was recorded is kept, start the check again."
    bench.run(1.0)
    assert len(bench.of(Fault)) == 1
    assert outcomes(bench)[0] == ("waiting", "interrupted")
    bench.do(Go())
    bench.press(1, 4)
    bench.run(0.2)
    assert outcomes(bench)[0] == ("done", "pass")


@pytest.mark.parametrize(
    ("set_ns", "words"),
    [
        (3600 * S, "set forward by 60 min"),
        (-2 * 86400 * S, "set back by 2 days"),
        (-30 * S, "set back by 30 s"),
    ],
)
def test_a_clock_that_was_set_is_told_once_and_the_check_goes_on(set_ns: int, words: str) -> None:
    bench = Bench(steps=(LEFT, RIGHT))
    bench.do(Go())
    bench.set_ns += set_ns
    bench.run(0.1)
    assert [words in e.message for e in bench.of(Fault)] == [True]  # type: ignore[attr-defined]
    bench.press(1, 2)
    bench.run(0.2)
    assert outcomes(bench)[0] == ("done", "pass")


def test_small_steps_of_the_clock_are_not_worth_a_word() -> None:
    bench = Bench(steps=(LEFT,))
    bench.set_ns += 1 * S
    bench.slept_ns += 1 * S
    bench.tick()
    assert bench.of(Fault) == []


def test_sleep_and_a_set_clock_are_told_apart() -> None:
    now = {"awake": 0, "always": 0, "wall": 0}
    keeper = Timekeeper(Clocks(lambda: now["awake"], lambda: now["always"], lambda: now["wall"]))
    now.update(awake=5 * S, always=65 * S, wall=65 * S)
    assert keeper.look() == Noticed(slept_ns=60 * S)
    now.update(awake=6 * S, always=66 * S, wall=26 * S)
    assert keeper.look() == Noticed(set_ns=-40 * S)
    assert keeper.look() == Noticed()
    assert Noticed().sentence() == ""


def test_the_clocks_of_this_machine_run_alike_while_it_is_awake() -> None:
    clocks = system_clocks()
    before = clocks.awake(), clocks.always(), clocks.wall()
    time.sleep(0.05)
    passed = [b - a for a, b in zip(before, (clocks.awake(), clocks.always(), clocks.wall()), strict=True)]
    assert all(abs(p - passed[0]) < 20_000_000 for p in passed)
    assert passed[0] >= 45_000_000
