"""Hat: eight directions and the null state."""

from __future__ import annotations

import pytest

from station.checks.hat import HatCheck
from station.checks.said import sentence
from station.checks.types import Outcome
from tests.checks.button_moves import HAT, LEFT, LIMITS, SHEET, hat, take

CHECK = HatCheck()


def _rolled(directions, step_ms=120.0, begin_ms=500.0, end=-1):
    steps = [(0.0, -1), *((begin_ms + i * step_ms, d) for i, d in enumerate(directions))]
    return [*steps, (begin_ms + len(directions) * step_ms, end)]


def _take(steps, end_ms=4000.0):
    return take(HAT, {HAT.id: hat(steps)}, end_ms)


def _assess(steps, end_ms=4000.0):
    return CHECK.assess(_take(steps, end_ms), LIMITS)


ROUND = [0, 1, 2, 3, 4, 5, 6, 7]


@pytest.mark.parametrize("roll", [ROUND, ROUND[::-1], ROUND * 2, [4, 5, 6, 7, 0, 1, 2, 3]])
def test_a_full_roll_passes(roll):
    found = _assess(_rolled(roll))
    assert (found.outcome, found.findings) == (Outcome.PASS, ())
    assert {r.name: r.value for r in found.readings} == {"directions": 8, "null_returns": 1}


def test_a_dead_main_direction_is_one_finding_although_its_diagonals_are_gone_too():
    found = _assess(_rolled([-1, 2, 3, 4, 5, 6, -1]))
    assert found.outcome is Outcome.FAIL
    assert [(f.code, f.direction, sentence("hat", f)) for f in found.findings] == [
        ("missing_direction", 0.0, "D-pad: no up"),
    ]


DIAGONAL_FAULTS = {
    "the hat falls to null in its place": [0, 1, 2, -1, 4, 5, 6, 7],
    "passed over in each of two rolls": [0, 1, 2, 4, 5, 6, 7, 0, 1, 2, 4, 5, 6, 7],
}


@pytest.mark.parametrize("roll", DIAGONAL_FAULTS.values(), ids=DIAGONAL_FAULTS)
def test_a_missing_diagonal_fails(roll):
    found = _assess(_rolled(roll))
    assert [(f.code, f.direction) for f in found.findings] == [("missing_direction", 135.0)]


def test_a_diagonal_passed_over_once_is_asked_again():
    found = _assess(_rolled([0, 1, 2, 4, 5, 6, 7]))
    assert (found.outcome, found.again) == (
        Outcome.NOT_DONE,
        "again, please: roll D-pad slowly through down-right",
    )


def test_too_little_movement_is_asked_again():
    assert _assess(_rolled([0, 1, 2, 3])).again == "again, please: roll D-pad through all eight directions"


def test_a_hat_that_says_nothing_at_all_fails_once_the_person_ends_the_try():
    found = _assess([(0.0, -1)])
    assert [sentence("hat", f) for f in found.findings] == ["D-pad: no direction at all"]
    assert found.outcome is Outcome.FAIL
    assert _assess([(0.0, -1)], end_ms=1000.0).again


def test_a_hat_without_a_null_state_fails():
    found = _assess(_rolled(ROUND, end=7))
    assert [(f.code, sentence("hat", f)) for f in found.findings] == [
        ("no_null", "D-pad: does not return to its middle")
    ]
    assert found.outcome is Outcome.FAIL


RUNNING = {
    "nothing yet": ([], "8 directions to go"),
    "half round": ([0, 1, 2, 3], "4 directions to go"),
    "three to go": ([0, 1, 2, 3, 4], "down-left, left and up-left to go"),
    "round, not let go": (ROUND, "let go"),
}


@pytest.mark.parametrize(("roll", "missing"), RUNNING.values(), ids=RUNNING)
def test_what_it_says_while_it_runs(roll, missing):
    found = CHECK.progress(_take(_rolled(roll)[:-1]), LIMITS)
    assert (found.complete, found.missing) == (False, missing)


def test_it_is_complete_when_let_go():
    found = CHECK.progress(_take(_rolled(ROUND)), LIMITS)
    assert (found.complete, found.share) == (True, 1.0)
    assert found.marks["directions"] == (True,) * 8


def test_it_applies_to_hats():
    assert CHECK.applies(HAT, SHEET)
    assert not CHECK.applies(LEFT, SHEET)
    assert "let go" in CHECK.prompt(HAT, SHEET).do


def test_a_hat_that_never_reported_says_so():
    found = CHECK.assess(take(HAT, {}, 4000.0), LIMITS)
    assert found.readings[0].reason == "the hat has not reported yet"
