"""What a first look says of the seller's claim."""

from __future__ import annotations

import pytest

from station.checks.types import Assessment, Finding, Outcome
from station.judgement.claimed import at_first_look
from station.records.types import Result
from tests.judgement.test_claimed import SHEET

PASS = Assessment(Outcome.PASS)
OFFSET = Assessment(Outcome.FAIL, (), (Finding("offset", "rests off centre"),))
SHORT = Assessment(Outcome.FAIL, (), (Finding("out_of_reach", "does not reach"),))
UNCLEAR = Assessment(Outcome.BORDERLINE, (), (Finding("unclear", "not clear", params={"checks": ("rest",)}),))
PRESS_UNCLEAR = Assessment(Outcome.BORDERLINE, (), (Finding("unclear", "not clear", params={"checks": ("light",)}),))
NOT_DONE = Assessment(Outcome.NOT_DONE, again="again, please: push it")


@pytest.mark.parametrize(
    ("claim", "seen", "says"),
    [
        ("left stick drifts", {"left_stick": OFFSET}, "found"),
        ("left stick drifts", {"left_stick": UNCLEAR}, "unclear"),
        ("left stick drifts", {"left_stick": PASS}, "not found"),
        ("left stick drifts", {"left_stick": SHORT}, "something else"),
        ("left stick drifts", {"left_stick": PASS, "right_stick": OFFSET}, "something else"),
        ("left stick drifts", {"left_stick": NOT_DONE}, "unclear"),
        ("left stick drifts", {"right_stick": PASS}, "unclear"),
        ("both sticks drift", {"left_stick": PASS, "right_stick": PASS}, "not found"),
        ("both sticks drift", {"left_stick": PASS}, "unclear"),
        ("south button presses twice", {"south": PRESS_UNCLEAR}, "unclear"),
        ("left stick reacts late", {"left_stick": PASS}, "not found"),
        ("does not charge", {"left_stick": PASS}, "unclear"),
        ("does not turn on", {"left_stick": PASS}, "not found"),
        ("smells of smoke", {"left_stick": PASS}, "unclear"),
        ("", {"left_stick": OFFSET}, ""),
        ("left trigger is stuck + left stick drifts", {"left_trigger": PASS, "left_stick": OFFSET}, "found"),
        ("left trigger is stuck + left stick drifts", {"left_trigger": PASS}, "unclear"),
    ],
)
def test_the_claim_is_answered(claim: str, seen: dict[str, Assessment], says: str) -> None:
    results = [Result(c, "v", "glance", c, 1, "2026-11-20T10:00:00Z", one) for c, one in seen.items()]
    assert at_first_look(claim, results, SHEET) == says


def test_what_the_visit_asked_besides_answers_too() -> None:
    asked = Result("r", "v", "rumble", "", 1, "2026-11-20T10:00:00Z", Assessment(Outcome.FAIL))
    assert at_first_look("vibration weak", [asked], SHEET) == "found"
