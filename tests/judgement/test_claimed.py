"""What the seller claimed, held against what was found."""

from __future__ import annotations

import pytest

from station.checks.types import Assessment, Outcome
from station.judgement.claimed import judged, lengthened, short_names_of, state_of, understood
from station.records.types import Result, Treatment, Unit, UnitHistory, Visit
from station.sheets.model import Control, Sheet

SHEET = Sheet(
    "Plover T2",
    controls=(
        Control("left_stick", "stick", "Left stick"),
        Control("right_stick", "stick", "Right stick"),
        Control("left_trigger", "trigger", "Left trigger"),
        Control("south", "button", "South button"),
        Control("left_stick_press", "button", "Left stick press"),
    ),
)


@pytest.mark.parametrize(
    ("claim", "controls", "complaint"),
    [
        ("left stick drifts", ("left_stick",), "drift"),
        ("Left-Stick: DRIFT!", ("left_stick",), "drift"),
        ("LS drift", ("left_stick",), "drift"),
        ("left stick press does not react", ("left_stick_press",), "dead"),
        ("both sticks drift", ("left_stick", "right_stick"), "drift"),
        ("left and right stick jump", ("left_stick", "right_stick"), "jitter"),
        ("left/right stick: drift", ("left_stick", "right_stick"), "drift"),
        ("button presses twice", ("south", "left_stick_press"), "double"),
        ("south button sticks", ("south",), "stuck"),
        ("a button sticks", ("south", "left_stick_press"), "stuck"),
        ("left trigger: rattles", ("left_trigger",), ""),
        ("does not turn on", (), "power"),
        ("untested", (), "any"),
        ("smells of smoke", (), ""),
        ("", (), ""),
    ],
)
def test_a_claim_is_bound_to_controls_and_to_a_kind_of_complaint(
    claim: str, controls: tuple[str, ...], complaint: str
) -> None:
    found = understood(claim, SHEET)
    assert (set(found.controls), found.complaint) == (set(controls), complaint)


def test_without_a_sheet_the_words_of_the_trade_bind() -> None:
    assert understood("Left stick drifts", Sheet("")).controls == ("left_stick",)


@pytest.mark.parametrize(
    ("typed", "full"),
    [
        ("ls dr", "Left stick drifts"), ("lt de", "Left trigger does not react"),
        ("sb pr", "South button presses twice"), ("ls", "ls"), ("ls do", "ls do"),
        ("ls drifts a bit", "ls drifts a bit"), ("drifts", "drifts"), ("", ""),
    ],
)  # fmt: skip
def test_a_claim_that_was_typed_short_is_written_in_full_where_it_can_only_mean_one(typed: str, full: str) -> None:
    assert lengthened(typed, SHEET) == full
    assert lengthened(lengthened(typed, SHEET), SHEET) == full


def test_initials_of_two_controls_bind_to_neither() -> None:
    twins = Sheet("T", controls=(Control("a", "button", "South button"), Control("b", "button", "Side button")))
    assert "sb" not in {name for called in short_names_of(twins).values() for name in called}


# --- judged -----------------------------------------------------------------------------------------------------

FAIL, PASS, NEAR = Outcome.FAIL, Outcome.PASS, Outcome.BORDERLINE


TWO = "left stick drifts, left trigger sticks"


def history(claim: str, *found: tuple[str, str, Outcome], treated_at: str = "", state: str = "open") -> UnitHistory:
    """A unit of which this was found, one after the other a minute apart."""
    results = tuple(
        Result(f"r{k}", "v", check, control, 1, f"2026-11-28T10:{k:02}:00.000Z", Assessment(outcome))
        for k, (check, control, outcome) in enumerate(found)
    )
    treatments = (Treatment("t", "u", "clean the sensor", treated_at),) if treated_at else ()
    unit = Unit("u", "A-1", "Plover T2", claim=claim, claim_state=state)
    visit = Visit("v", "u", "intake", 1, "2026-11-28T10:00:00.000Z")
    return UnitHistory(unit, None, (visit,), results, treatments)


@pytest.mark.parametrize(
    ("claim", "found", "state"),
    [
        ("left stick drifts", [("rest", "left_stick", FAIL)], "confirmed"),
        ("left stick drifts", [("rest", "left_stick", PASS)], "not found"),
        ("left stick drifts", [("rest", "left_stick", NEAR)], "open"),
        ("left stick drifts", [("rest", "left_stick", PASS), ("travel", "left_stick", FAIL)], "something else"),
        ("left stick drifts", [("rest", "right_stick", FAIL)], "something else"),
        ("left stick drifts", [("rest", "right_stick", PASS)], "open"),
        ("left stick drifts", [], "open"),
        ("left trigger: rattles", [("trigger", "left_trigger", FAIL)], "confirmed"),
        ("left trigger: rattles", [("trigger", "left_trigger", PASS)], "not found"),
        ("both sticks drift", [("rest", "left_stick", PASS)], "open"),
        ("both sticks drift", [("rest", "left_stick", PASS), ("rest", "right_stick", PASS)], "not found"),
        ("does not turn on", [("contact", "south", PASS)], "not found"),
        ("does not turn on", [("contact", "south", FAIL)], "something else"),
        ("broken", [("contact", "south", FAIL)], "confirmed"),
        ("broken", [("contact", "south", PASS)], "not found"),
        ("smells of smoke", [("contact", "south", FAIL)], "open"),
        (TWO, [("rest", "left_stick", PASS), ("trigger", "left_trigger", FAIL)], "confirmed"),
        (TWO, [("rest", "left_stick", FAIL), ("trigger", "left_trigger", PASS)], "confirmed"),
        (TWO, [("rest", "left_stick", PASS), ("trigger", "left_trigger", PASS)], "not found"),
        (TWO, [("rest", "left_stick", PASS)], "open"),
        (TWO, [("rest", "left_stick", PASS), ("trigger", "left_trigger", PASS), ("contact", "south", FAIL)],
         "something else"),
        ("left and right stick drift", [("rest", "left_stick", PASS)], "open"),
        ("left stick drifts and twitches", [("rest", "left_stick", FAIL)], "confirmed"),
        ("", [("contact", "south", FAIL)], "open"),
    ],
)  # fmt: skip
def test_a_claim_is_judged_by_what_was_found(claim: str, found: list[tuple[str, str, Outcome]], state: str) -> None:
    assert judged(history(claim, *found), SHEET) == state


def test_what_it_was_before_the_first_treatment_is_judged() -> None:
    found = (("rest", "left_stick", FAIL), ("rest", "left_stick", PASS))
    assert judged(history("left stick drifts", *found), SHEET) == "not found", "the last try counts"
    treated = history("left stick drifts", *found, treated_at="2026-11-28T10:00:30.000Z")
    assert judged(treated, SHEET) == "confirmed", "what passes since was cured"


def test_a_look_alone_and_a_sloppy_try_judge_nothing() -> None:
    assert judged(history("left stick drifts", ("glance", "left_stick", FAIL)), SHEET) == "open"
    sloppy = history("left stick drifts")
    tried = Result("r", "v", "rest", "left_stick", 1, "2026-11-28T10:00:00.000Z", Assessment(FAIL, (), (), "moved"))
    assert judged(UnitHistory(sloppy.unit, None, sloppy.visits, (tried,)), SHEET) == "open"


def test_what_a_person_set_stands() -> None:
    found = history("left stick drifts", ("rest", "left_stick", FAIL), state="something else")
    assert (judged(found, SHEET), state_of(found, SHEET)) == ("confirmed", "something else")
