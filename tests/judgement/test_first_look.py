"""A first look is no test: whatever it says, nothing that is asked of a unit is answered by it."""

from __future__ import annotations

import pytest

from station.checks.house import shipped_house
from station.checks.types import Assessment, Outcome
from station.judgement.claims import claim_of, lack_of
from station.judgement.grade import grading_of
from station.judgement.rest import second_test
from station.judgement.totals import Totals, unit_totals
from station.judgement.tries import standing, suspicions, verdicts, was_tested
from station.records.types import Result, Unit, UnitHistory, Visit
from tests.judgement.story import SHEET

LOOK = ("glance", "left_stick")
OUTCOMES = (Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL)


def looked(outcome: Outcome, kind: str = "first look") -> UnitHistory:
    visit = Visit("v1", "u", kind, 1, "2026-11-20T10:00:00Z", "2026-11-20T10:01:00Z")
    result = Result("r1", "v1", *LOOK, 1, "2026-11-20T10:00:30Z", Assessment(outcome))
    return UnitHistory(Unit("u", "A-1", "Plover T2", rest_until="2026-11-20"), None, (visit,), (result,))


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_look_answers_nothing_that_is_asked(outcome: Outcome) -> None:
    told = looked(outcome)
    wanted = [("rim", "left_stick"), LOOK]
    claim = claim_of(told, wanted, SHEET)
    assert not claim.verdicts
    assert not claim.unlisted
    assert claim.totals == Totals()
    assert unit_totals(told.results) == Totals()
    assert standing(told.results) == {}
    assert verdicts(told.results) == {}
    assert lack_of(told.results) == "untested"
    assert grading_of(told, wanted, SHEET, shipped_house()).why == "untested"
    assert not was_tested(told.results, "2026-11-01")


@pytest.mark.parametrize("kind", ["first look", "after rest", "final"])
def test_a_look_is_no_second_test(kind: str) -> None:
    told = looked(Outcome.PASS, kind)
    assert second_test(told.unit, told.visits, lambda _: told.results) is None


@pytest.mark.parametrize(
    ("outcome", "tested", "suspected"),
    [
        (Outcome.FAIL, "", True),
        (Outcome.BORDERLINE, "", True),
        (Outcome.PASS, "", False),
        (Outcome.FAIL, "left_stick", False),
        (Outcome.FAIL, "left_shoulder", True),
    ],
    ids=["failed", "unclear", "passed", "tested since", "another control tested since"],
)
def test_what_it_found_is_a_suspicion_until_the_control_was_tested(
    outcome: Outcome, tested: str, suspected: bool
) -> None:
    results = looked(outcome).results
    if tested:
        test = Result("r2", "v2", "rim", tested, 1, "2026-11-21T10:00:00Z", Assessment(Outcome.PASS))
        results = (*results, test)
    assert set(suspicions(results)) == ({LOOK} if suspected else set())
