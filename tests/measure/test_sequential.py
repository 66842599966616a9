"""The sequential test: stopping, and what happens beyond a decision (values: tests/published)."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from station.measure.sequential import Plan, characteristic, run

PLAN = Plan()


@pytest.mark.parametrize(
    "wrong", [{"p0": 0.1, "p1": 0.1}, {"p0": 0.0}, {"p1": 1.0}, {"alpha": 0.0}, {"beta": 1.0}, {"stop_at": 0}]
)
def test_a_plan_that_cannot_tell_anything_apart_is_refused(wrong):
    with pytest.raises(ValueError, match="p0 < p1"):
        Plan(**wrong)


CASES = {
    "two faults at once reject": ([True, True], ("reject", 2)),
    "30 clean presses are not enough": ([False] * 30, ("undecided", 30)),
    "31 clean presses accept": ([False] * 31, ("accept", 31)),
    "one fault is accepted after 57": ([True] + [False] * 56, ("accept", 57)),
    "two faults far apart leave it undecided at 60": (
        [i in (25, 50) for i in range(60)],
        ("undecided", 60),
    ),
    "an acceptance after the stop does not count": ([i in (25, 50) for i in range(90)], ("undecided", 90)),
    "faults after an acceptance still reject": ([False] * 31 + [True] * 4, ("reject", 34)),
    "one more miss after an acceptance changes nothing": ([False] * 31 + [True] + [False] * 9, ("accept", 31)),
    "no press decides nothing": ([], ("undecided", 0)),
}


@pytest.mark.parametrize(("faulty", "verdict"), CASES.values(), ids=CASES)
def test_verdict(faulty, verdict):
    assert run(PLAN, faulty) == verdict


@given(st.lists(st.booleans(), max_size=60))
def test_the_verdict_follows_the_two_lines(faulty):
    verdict, at = run(PLAN, faulty)
    m = np.cumsum(faulty)
    n = np.arange(1, len(faulty) + 1)
    rejects = [i for i in n if m[i - 1] >= PLAN.reject_at(int(i))]
    accepts = [i for i in n if m[i - 1] <= PLAN.accept_at(int(i))]
    if rejects:
        assert (verdict, at) == ("reject", rejects[0])
    elif accepts:
        assert (verdict, at) == ("accept", accepts[0])
    else:
        assert (verdict, at) == ("undecided", len(faulty))


@pytest.mark.parametrize("p", [0.0, 0.01, 0.05, 0.1, 0.3, 1.0])
def test_what_a_plan_does_adds_up_to_one(p):
    found = characteristic(PLAN, p)
    assert found.accept + found.reject + found.undecided == pytest.approx(1.0)
    assert 1 <= found.median_presses <= PLAN.stop_at
    assert found.mean_presses <= PLAN.stop_at


def test_a_higher_share_is_never_accepted_more_often():
    accepted = [characteristic(PLAN, p).accept for p in np.linspace(0, 0.4, 41)]
    assert all(a >= b - 1e-12 for a, b in pairwise(accepted))


def test_a_share_outside_zero_to_one_is_refused():
    with pytest.raises(ValueError, match="between 0 and 1"):
        characteristic(PLAN, 1.2)
