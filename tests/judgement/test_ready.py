"""When a unit is ready, and what a certificate and the lots say of one that was called so too early."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from station.app.certify import certificate_of, steps_of
from station.app.shop import Shop
from station.certificate.types import Certificate
from station.diagnosis.guide import load_guide
from station.diagnosis.treatments import propose
from station.errors import InputError
from station.judgement.limits import standard
from station.lots.outlook import NextStep, outlook_of
from tests.judgement.story import CONTACT, FIRM, KEYS, LIGHT, REASON, REST, SHEET, SWEEP, Event, Telling

GUIDE = load_guide()
INTAKE: Event = ("visit", "intake")
RESTED: Event = ("visit", "after rest")
CLEAN: Event = ("treat", "clean the sensor", "Stick sensor, horizontal")
BOARD: Event = ("treat", "replace board", "Board")


@pytest.fixture
def unit(tmp_path: Path):
    telling = Telling(tmp_path)
    with telling.store:
        yield telling


def certificate(t: Telling) -> Certificate:
    steps = steps_of(t.history, SHEET)
    return certificate_of(
        t.store,
        t.unit_id,
        SHEET,
        steps,
        standard(),
        number="B-00001",
        now=t.store.now(),
        shop=Shop("bench", "", "Ines"),
    )


def next_step(t: Telling) -> NextStep:
    step = outlook_of(t.history, SHEET, GUIDE, today=t.today).step
    assert step is not None
    return step


# --- a treatment opens again what was ready ---------------------------------------------------------


def test_a_treatment_of_a_ready_unit_opens_it_again_in_one_commit_and_in_the_log(unit: Telling):
    """It stayed ready, with an empty due list."""
    unit.tell(INTAKE, ("fail", *SWEEP), ("finish",), CLEAN, ("days", 3), RESTED, ("pass", *SWEEP), ("pass", *REST))
    unit.tell(("finish",), ("ready",), ("days", 1), CLEAN)
    assert (unit.store.unit(unit.unit_id).becomes, unit.store.unit(unit.unit_id).rest_until) == ("open", "2026-03-13")
    assert [u.id for u, _, _ in unit.store.due(unit.today)] == [unit.unit_id]
    assert certificate(unit).becomes == "open"
    with unit.store._connections.reading() as db:
        rows = db.execute("SELECT at, event FROM log ORDER BY entry DESC LIMIT 2").fetchall()
    (at, changed), (before, treated) = ((at, json.loads(event)) for at, event in rows)
    assert at == before
    assert (treated["what"], changed["what"]) == ("treatment added", "unit changed")
    assert (changed["now"]["becomes"], changed["now"]["rest_until"]) == ("open", "2026-03-13")
    assert unit.store.verify_log().sound


@pytest.mark.parametrize("state", ["sold", "donor", "sell as is", "scrap"])
def test_a_treatment_changes_nothing_else_that_a_unit_became(unit: Telling, state: str):
    unit.store.change_unit(replace(unit.store.unit(unit.unit_id), becomes=state))
    unit.tell(CLEAN)
    assert unit.store.unit(unit.unit_id).becomes == state


# --- what a treatment made due again ----------------------------------------------------------------


def all_but_one_older_than_the_board(t: Telling) -> None:
    t.tell(INTAKE, *(("pass", *key) for key in KEYS), ("finish",), BOARD, ("days", 3), RESTED, ("pass", *SWEEP))
    t.tell(("finish",))


def test_a_unit_is_not_called_ready_while_checks_are_older_than_a_treatment(unit: Telling):
    """The records and the lots called it ready, beside "4 older" in the headline of its certificate."""
    all_but_one_older_than_the_board(unit)
    assert not unit.may_become_ready()
    assert unit.refused == (
        "After “replace board” of 2026-03-06 these checks of SM-07-04 have to be done again: left stick, at rest; "
        "left shoulder, contact; left shoulder, light press; left shoulder, firm press; 1 more; do them, or give a "
        "reason to call it ready without them."
    )
    step = next_step(unit)
    assert (step.title, step.reason) == (
        "Test it again",
        "5 checks from before “replace board” of 2026-03-06, not tested since",
    )


def test_once_they_are_done_it_is_ready(unit: Telling):
    all_but_one_older_than_the_board(unit)
    unit.tell(("visit", "final"), *(("pass", *key) for key in KEYS if key != SWEEP), ("finish",))
    assert next_step(unit).title == "Call it ready"
    assert unit.may_become_ready()


def test_the_reason_for_going_without_them_is_printed_and_says_for_what(unit: Telling):
    all_but_one_older_than_the_board(unit)
    unit.tell(("ready",))
    page = certificate(unit)
    assert page.rest.startswith("Tested again 3 days after")
    assert f"Declared ready with checks older than a treatment: {REASON}." in page.deviations


# --- a reason holds only for as long as it is needed ------------------------------------------------


def too_early(t: Telling) -> None:
    t.tell(INTAKE, ("fail", *SWEEP), ("finish",), CLEAN, ("ready",))


def test_a_reason_for_no_rest_is_printed_while_there_was_none(unit: Telling):
    too_early(unit)
    page = certificate(unit)
    assert page.rest == f"Declared ready without the rest: {REASON}."
    assert page.deviations == (f"Declared ready before the rest was over: {REASON}.",)


@pytest.mark.parametrize("opened", [True, False], ids=["opened again", "still called ready"])
def test_it_is_not_printed_once_the_second_test_is_done(unit: Telling, opened: bool):
    """The certificate said both "Tested again 4 days after" and "Declared ready before the rest was over"."""
    too_early(unit)
    unit.tell(*[("open",)] * opened, ("days", 4), RESTED, ("pass", *SWEEP), ("finish",), ("ready",))
    page = certificate(unit)
    assert page.rest == "Tested again 4 days after the last work on it (2026-03-10)."
    assert page.deviations == ()


def test_it_does_not_come_back_when_the_unit_is_opened_again_and_sold(unit: Telling):
    too_early(unit)
    unit.tell(("open",))
    unit.store.change_unit(replace(unit.store.unit(unit.unit_id), becomes="sold"))
    page = certificate(unit)
    assert page.rest == "Not tested after a rest yet; due from 2026-03-09."
    assert page.deviations == ()
    assert unit.store.verify_log().sound


def test_why_the_rest_was_cut_short_is_printed_beside_the_second_test(unit: Telling):
    """That it came early stays true, however often the unit is opened again."""
    unit.tell(INTAKE, ("fail", *SWEEP), ("finish",), CLEAN, ("days", 1))
    early = replace(unit.store.unit(unit.unit_id), rest_until="2026-03-07")
    unit.store.change_unit(early, reason="only dust on the cap")
    unit.tell(RESTED, ("pass", *SWEEP), ("finish",), ("ready",), ("open",), ("ready",))
    page = certificate(unit)
    assert page.rest.startswith("Tested again 1 day after")
    assert page.deviations == ("The rest was cut short: only dust on the cap.",)


# --- what is left out, doubtful or not there --------------------------------------------------------


def test_a_harder_press_that_was_skipped_is_named_with_its_reason(unit: Telling):
    """It was named nowhere."""
    unit.tell(INTAKE, ("fail", *LIGHT), ("skip", *FIRM))
    assert "Left shoulder, firm press (skipped: no time)" in certificate(unit).not_tested


def test_what_is_borderline_by_hand_is_said_by_lots_and_diagnosis(unit: Telling):
    """The lots said "Call it ready: nothing was found", the certificate "No check failed, 1 borderline"."""
    unit.tell(INTAKE, ("by hand borderline", *SWEEP), ("pass", *CONTACT), ("finish",))
    step, found = next_step(unit), propose(unit.history, SHEET, GUIDE)
    assert found is not None
    assert step.title == found.title
    for reason in (step.reason, found.reason):
        assert reason.startswith("borderline: left stick, slow sweep; ")


def test_a_firm_press_that_is_borderline_is_said_too(unit: Telling):
    unit.tell(INTAKE, ("pass", *LIGHT), ("by hand borderline", *FIRM), ("finish",))
    step = next_step(unit)
    assert (step.title, step.reason) == ("Call it ready", "nothing failed; borderline: left shoulder, firm press")


@pytest.mark.parametrize(
    ("tries", "said", "reason"),
    [
        ([], "has no test results yet", "nothing was tested yet"),
        (["interrupted", "again"], "has come to a verdict yet", "no check has come to a verdict yet"),
        (["skip"], "has come to a verdict yet", "no check has come to a verdict yet"),
        (["fail", "skip"], "that had a verdict was skipped since", "what had a verdict was skipped since"),
    ],
)  # fmt: skip
def test_a_unit_of_which_nothing_stands_is_told_why(unit: Telling, tries: list[str], said: str, reason: str):
    """One whose only verdict was skipped since had "no test results yet"."""
    unit.store.change_unit(replace(unit.store.unit(unit.unit_id), claim=""))
    unit.tell(INTAKE, *((word, *SWEEP) for word in tries), ("finish",))
    with pytest.raises(InputError, match=said):
        certificate(unit)
    assert (next_step(unit).title, next_step(unit).reason) == ("Test it: intake", reason)
