"""A unit of which only a first look was made is neither called ready nor said to have passed as it came."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.checks.types import Assessment, Outcome
from station.diagnosis.guide import load_guide
from station.lots.outlook import outlook_of
from station.lots.shop.facts import facts_of
from station.records.types import FIRST_LOOK, Result, Treatment, Unit, UnitHistory, Visit
from tests.diagnosis.diagnosis_kit import SHEET

GUIDE = load_guide()
PASS, FAIL, BORDERLINE = Outcome.PASS, Outcome.FAIL, Outcome.BORDERLINE


def history(*visits: tuple[str, dict[tuple[str, str], Outcome]]) -> UnitHistory:
    """A unit with these visits, each of which asked what its results say."""
    made, results = [], []
    for n, (kind, outcomes) in enumerate(visits):
        at = f"2026-11-{20 + n}T10:00:00.000Z"
        made.append(Visit(f"v{n}", "u", kind, n, at, at, ordered=f"{n}-0"))
        for k, ((check, control), outcome) in enumerate(outcomes.items(), 1):
            one = Assessment(outcome)
            results.append(Result(f"r{n}-{k}", f"v{n}", check, control, k, at, one, ordered=f"{n}-{k}"))
    return UnitHistory(Unit("u", "A-1", "Plover T2"), None, tuple(made), tuple(results))


def asked(stick: Outcome) -> tuple[str, dict[tuple[str, str], Outcome]]:
    """A first look as it is made: the look over and the questions are checks that give verdicts."""
    found = {("look", ""): PASS, ("glance", "left_stick"): stick, ("link", ""): PASS, ("rumble", ""): PASS}
    return FIRST_LOOK, found


@pytest.mark.parametrize(
    ("visits", "stage", "said"),
    [
        pytest.param((asked(PASS),), "test", "first look", id="passed a first look"),
        pytest.param((asked(FAIL),), "test", "left stick, first look", id="failed it"),
        pytest.param((asked(BORDERLINE),), "test", "left stick, first look", id="needs the full check"),
        pytest.param(
            (asked(FAIL), ("intake", {("rim", "right_stick"): PASS})),
            "test",
            "left stick, first look",
            id="another was tested",
        ),
        pytest.param((asked(FAIL), ("intake", {("rest", "left_stick"): PASS})), "sound", "", id="it was tested since"),
        pytest.param((asked(PASS), ("intake", {("rest", "left_stick"): PASS})), "sound", "", id="both"),
    ],
)
def test_what_a_first_look_saw_makes_no_unit_ready(
    visits: tuple[tuple[str, dict[tuple[str, str], Outcome]], ...], stage: str, said: str
) -> None:
    found = outlook_of(history(*visits), SHEET, GUIDE, today="2026-11-25")
    assert found.stage == stage
    assert found.step is not None
    assert said in found.step.reason


@pytest.mark.parametrize(
    ("told", "came_as"),
    [
        pytest.param(history(asked(PASS)), Outcome.NOT_DONE, id="passed a first look"),
        pytest.param(history(asked(FAIL)), Outcome.NOT_DONE, id="failed it"),
        pytest.param(
            history((FIRST_LOOK, {("look", ""): PASS, ("charge", ""): FAIL})), FAIL, id="a question was answered by no"
        ),
        pytest.param(history(asked(PASS), ("intake", {("rest", "left_stick"): PASS})), PASS, id="tested since"),
        pytest.param(
            replace(
                history(asked(FAIL), ("after treatment", {("rest", "left_stick"): PASS})),
                treatments=(Treatment("t", "u", "clean the sensor", "2026-11-20T12:00:00.000Z", "Left stick sensor"),),
            ),
            Outcome.NOT_DONE,
            id="cleaned after it",
        ),
    ],
)
def test_a_unit_came_as_its_tests_said_and_not_as_a_first_look_did(told: UnitHistory, came_as: Outcome) -> None:
    assert facts_of(told, SHEET, GUIDE).came_as is came_as
