"""A question with a meter is a measurement: a word alone does not pass it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.checks.types import Assessment, Outcome, Reading
from station.judgement.standing import Standing, standing_of
from station.records.types import Result, Unit, UnitHistory, Visit
from station.sheets.model import Ask, Sheet

SHEET = Sheet("Plover T2", asks=(Ask("charge", "Charge light on, and the meter", ("V",)), Ask("look", "Look at it")))
WANTED = (("charge", ""), ("look", ""))
NO_FIGURE = Reading("vbus_low", None, "V", reason="no meter reading was typed in")
FIVE = Reading("vbus_low", 5.0, "V", 0.03, 4.4, 4.2, ">=", 1)


def said(check: str, outcome: Outcome, *readings: Reading, by_hand: bool = False) -> Result:
    done = Assessment(outcome, readings)
    return Result(f"{check}{by_hand}", "v", check, "", 1, "2026-11-20T10:00:00Z", done, by_hand=by_hand, reason="so")


def stands(*results: Result) -> Standing:
    visit = Visit("v", "u", "intake", 1, "2026-11-20T09:00:00Z", "2026-11-20T11:00:00Z")
    history = UnitHistory(Unit("u", "A-1", "Plover T2"), None, (visit,), results)
    return standing_of(history, WANTED, SHEET)


GOOD_LOOK = said("look", Outcome.PASS)
MEASURED = said("charge", Outcome.PASS, FIVE)


@pytest.mark.parametrize(
    ("results", "kind", "missing", "left_out", "by_hand"),
    [
        ((MEASURED,), "passed", (), (), ()),
        ((said("charge", Outcome.NOT_DONE, NO_FIGURE, by_hand=True),), "passed", (), (("charge", ""),), ()),
        ((said("charge", Outcome.PASS, by_hand=True),), "incomplete", (("charge", ""),), (), (("charge", ""),)),
        ((MEASURED, said("charge", Outcome.PASS, by_hand=True)), "passed", (), (), (("charge", ""),)),
        ((said("charge", Outcome.FAIL),), "faults", (), (), ()),
    ],
    ids=["measured", "looked at", "marked by hand", "measured, then marked", "seen to be wrong"],
)
def test_what_a_charge_check_comes_to(results, kind, missing, left_out, by_hand):
    found = stands(GOOD_LOOK, *results)
    assert (found.kind, found.missing, found.left_out, found.by_hand) == (kind, missing, left_out, by_hand)


def test_a_question_without_a_meter_is_answered_by_a_word() -> None:
    marked = replace(said("look", Outcome.PASS, by_hand=True), id="m")
    found = stands(MEASURED, marked)
    assert (found.kind, found.by_hand) == ("passed", ())
