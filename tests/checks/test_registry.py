"""All checks, their order, and where they apply."""

from __future__ import annotations

import pytest

from station import SAMPLE_UNITS
from station.checks.looks import LOOKS
from station.checks.registry import (
    CHECKS,
    check_named,
    checks_of,
    describe,
    described,
    finding_kind,
    known,
    reading_kind,
)
from station.checks.said import sentence
from station.checks.strengths import CHECK_OF
from station.checks.types import Outcome
from station.evidence.assess import assess_file
from station.sheets.model import Ask, Sheet
from tests.checks.button_moves import HAT, LEFT, LIMITS, SHEET, STICK, TRIGGER, take


def test_the_order_of_a_visit():
    assert " ".join(CHECKS) == (
        "glance contact light hold rest letgo travel rim sweep trigger hat together still sides untouched swipe link "
        "quiet alone cell_under_load rumble charge look"
    )
    assert all(check.name == name for name, check in CHECKS.items())


@pytest.mark.parametrize(
    ("control", "names"),
    [
        (LEFT, "glance contact light hold"),
        (STICK, "glance rest letgo travel rim sweep"),
        (TRIGGER, "glance trigger"),
        (HAT, "glance hat"),
        (None, "together link quiet alone cell_under_load"),
    ],
    ids=["a button", "a stick", "a trigger", "a hat", "the whole unit"],
)
def test_which_checks_apply(control, names):
    assert " ".join(c.name for c in CHECKS.values() if c.applies(control, SHEET)) == names


def test_checks_of_a_sheet_come_in_the_order_of_a_visit_with_its_own_asks_last():
    sheet = Sheet("x", controls=(STICK, LEFT), asks=(Ask("smell", "No burnt smell"), Ask("charge", "Light on")))
    assert [(c.name, "" if control is None else control.id) for c, control in checks_of(sheet)] == [
        ("glance", "left_stick"), ("glance", "left_shoulder"),
        ("contact", "left_shoulder"), ("light", "left_shoulder"), ("hold", "left_shoulder"),
        ("rest", "left_stick"), ("letgo", "left_stick"), ("travel", "left_stick"), ("rim", "left_stick"),
        ("sweep", "left_stick"), ("link", ""), ("quiet", ""), ("alone", ""), ("cell_under_load", ""),
        ("charge", ""), ("smell", ""),
    ]  # fmt: skip


def test_a_check_is_found_by_name_also_an_ask_of_the_sheets_own():
    sheet = Sheet("x", asks=(Ask("smell", "No burnt smell"),))
    assert check_named("rim", sheet) is CHECKS["rim"]
    found = check_named("smell", sheet)
    assert found is not None
    assert found.title == "Smell"
    assert check_named("nonsense", sheet) is None


@pytest.mark.parametrize(("check", "control"), checks_of(SHEET), ids=lambda x: getattr(x, "name", "unit"))
def test_every_check_bears_a_control_that_has_never_reported(check, control):
    """Unknown is not centred and not open: no crash, no pass."""
    empty = take(control, {}, 400.0)
    assert not check.progress(empty, LIMITS).complete
    assert check.progress(empty, LIMITS).missing
    found = check.assess(empty, LIMITS)
    assert found.outcome is Outcome.NOT_DONE
    assert found.again.startswith("again, please: ")
    prompt = check.prompt(control, SHEET)
    assert prompt.title == check.title
    assert prompt.do.endswith(".")


# --- what they say of themselves ------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "about"), described().items(), ids=list(described()))
def test_a_check_applies_to_the_kinds_it_names(name, about):
    check = known(name)
    for control in (LEFT, STICK, TRIGGER, HAT):
        assert check.applies(control, SHEET) is (control.kind in about.kinds)
    assert bool(about.kinds) is not check.applies(None, SHEET) or about.person_answers


def test_the_limits_that_ship_are_those_that_the_checks_name():
    assert {name: set(about.limits) for name, about in described().items() if about.limits} == {
        check: set(table) for check, table in LIMITS.items()
    }


def test_a_code_has_one_sentence_wherever_it_is_found():
    kinds = {}
    for name, about in described().items():
        for kind in about.findings:
            if not about.person_answers:
                assert kinds.setdefault(kind.code, kind) is kind, f"{name}: {kind.code}"


def test_what_is_drawn_on_a_dial_is_drawn_by_one_check():
    shown = [about.dial.shows for about in described().values() if about.dial is not None]
    assert sorted(shown) == ["rest", "sectors", "settled"]


def test_the_strengths_are_those_of_the_checks():
    assert {about.strength: name for name, about in described().items() if about.strength} == dict(CHECK_OF)


def test_the_quick_checks_are_due_again_once_the_housing_was_opened():
    due = {name: about.kinds for name, about in described().items() if about.due_after == "any opening"}
    assert due == {
        "contact": ("button",), "rest": ("stick",), "travel": ("stick",), "trigger": ("trigger",), "hat": ("hat",),
        "look": (), "charge": (), "rumble": (),
    }  # fmt: skip


def test_a_check_that_is_not_known_is_described_as_an_ask():
    about = describe("smell")
    assert (about.person_answers, [f.code for f in about.findings]) == (True, ["smell"])


@pytest.mark.parametrize("unit", sorted(SAMPLE_UNITS.glob("*.npz")), ids=lambda path: path.stem)
def test_every_reading_and_finding_that_is_made_is_described(unit):
    """The recordings that ship: every check, with and without faults."""
    for c in assess_file(unit).checks:
        about = describe(c.check)
        for reading in c.assessment.readings:
            kind, part = reading_kind(c.check, reading.name)
            assert kind in about.readings, f"{c.check}.{reading.name}"
            assert part in ("", *kind.parts), f"{c.check}.{reading.name}"
            assert reading.unit == kind.unit, f"{c.check}.{reading.name}"
            alone = not any(r.name == kind.name for r in c.assessment.readings)
            assert (reading.limit is not None) is bool(kind.limit and (alone or not part)), f"{c.check}.{reading.name}"
        for finding in c.assessment.findings:
            assert finding_kind(c.check, finding.code) is not None, f"{c.check}: {finding.code}"
            assert "{" not in sentence(c.check, finding)
            assert sentence(c.check, finding) != finding.code


def test_the_looks_are_those_that_say_so():
    assert {name for name, about in described().items() if about.first_look} == LOOKS
