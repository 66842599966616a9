"""What the person answers."""

from __future__ import annotations

import pytest

from station.checks.ask import CHARGE, LOOK, RUMBLE, AskCheck
from station.checks.said import sentence
from station.checks.types import Outcome
from station.sheets.model import Ask, Sheet
from tests.checks.button_moves import LEFT, LIMITS, take

SHEET = Sheet(
    "Plover T2",
    asks=(
        Ask("rumble", "Both motors turn"),
        Ask("charge", "Charge light on, and the meter's reading", ("V", "A")),
        Ask("smell", "No burnt smell"),
    ),
)


def _assess(check, answer, **meter):
    return check.assess(take(None, {}, 1000.0, sheet=SHEET, answer=answer, meter=meter), LIMITS)


@pytest.mark.parametrize("word", ["pass", "fail"])
def test_the_persons_word_is_the_outcome(word):
    assert _assess(RUMBLE, word).outcome.value == word


def test_a_fail_is_told_in_words():
    assert [(f.code, sentence("rumble", f)) for f in _assess(RUMBLE, "fail").findings] == [
        ("rumble", "rumble: not right, by the person's word")
    ]


def test_no_answer_is_no_outcome():
    found = _assess(RUMBLE, None)
    assert (found.outcome, found.again) == (Outcome.NOT_DONE, "again, please: say pass or fail")
    assert not RUMBLE.progress(take(None, {}, 1.0, sheet=SHEET), LIMITS).complete
    assert RUMBLE.progress(take(None, {}, 1.0, sheet=SHEET, answer="pass"), LIMITS).complete


METER = {
    "in the middle of the range": (5.0, Outcome.PASS),
    "just above the lower limit": (4.42, Outcome.BORDERLINE),
    "below the lower limit": (4.30, Outcome.FAIL),
    "high, as USB 3.1 allows": (5.40, Outcome.PASS),
    "just below the upper limit": (5.48, Outcome.BORDERLINE),
    "above the upper limit": (5.60, Outcome.FAIL),
}


@pytest.mark.parametrize(("volts", "outcome"), METER.values(), ids=METER)
def test_vbus_is_judged_against_both_ends(volts, outcome):
    found = _assess(CHARGE, "pass", V=volts, A=0.42)
    assert found.outcome is outcome
    assert bool(found.findings) is (outcome is not Outcome.PASS)
    readings = {r.name: r for r in found.readings}
    assert list(readings) == ["vbus_low", "vbus_high", "current"]
    assert (readings["vbus_low"].rule, readings["vbus_high"].rule) == (">=", "<=")
    assert (readings["vbus_low"].unit, readings["current"].unit) == ("V", "A")
    assert readings["current"].limit is None


def test_the_word_fail_stands_whatever_the_meter_shows():
    assert _assess(CHARGE, "fail", V=5.0).outcome is Outcome.FAIL


def test_good_without_a_figure_of_the_meter_is_no_passing_measurement():
    found = _assess(CHARGE, "pass")
    assert (found.outcome, found.again) == (Outcome.NOT_DONE, "")
    assert {r.reason for r in found.readings} == {"no meter reading was typed in"}
    assert _assess(CHARGE, "pass", A=0.42).outcome is Outcome.PASS, "what the meter showed was read"


def test_a_fault_that_is_seen_needs_no_meter():
    assert _assess(CHARGE, "fail").outcome is Outcome.FAIL


def test_asks_apply_where_the_sheet_lists_them_and_to_the_whole_unit():
    assert [c.name for c in (RUMBLE, CHARGE, LOOK, AskCheck("smell")) if c.applies(None, SHEET)] == [
        "rumble",
        "charge",
        "smell",
    ]
    assert not RUMBLE.applies(LEFT, SHEET)


def test_the_prompt_is_the_sheets_text():
    prompt = CHARGE.prompt(None, SHEET)
    assert (prompt.title, prompt.do) == ("Charge", "Charge light on, and the meter's reading")
    assert prompt.hint == "Type in the meter's reading (V, A); without one, Y says looked at, not measured."
    assert AskCheck("smell").prompt(None, SHEET).title == "Smell"
    assert LOOK.prompt(None, SHEET).do
