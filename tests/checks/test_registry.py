"""All checks, their order, and where they apply."""

from __future__ import annotations

import pytest

from station.checks.registry import CHECKS, check_named, checks_of
from station.checks.types import Outcome
from station.sheets.model import Ask, Sheet
from tests.checks.button_moves import HAT, LEFT, LIMITS, SHEET, STICK, TRIGGER, take


def test_the_order_of_a_visit():
    assert " ".join(CHECKS) == ("contact light hold rest letgo travel rim sweep trigger hat link rumble charge look")
    assert all(check.name == name for name, check in CHECKS.items())


@pytest.mark.parametrize(
    ("control", "names"),
    [
        (LEFT, "contact light hold"),
        (STICK, "rest letgo travel rim sweep"),
        (TRIGGER, "trigger"),
        (HAT, "hat"),
        (None, "link"),
    ],
    ids=["a button", "a stick", "a trigger", "a hat", "the whole unit"],
)
def test_which_checks_apply(control, names):
    assert " ".join(c.name for c in CHECKS.values() if c.applies(control, SHEET)) == names


def test_checks_of_a_sheet_come_in_the_order_of_a_visit_with_its_own_asks_last():
    sheet = Sheet("x", controls=(STICK, LEFT), asks=(Ask("smell", "No burnt smell"), Ask("charge", "Light on")))
    assert [(c.name, "" if control is None else control.id) for c, control in checks_of(sheet)] == [
        ("contact", "left_shoulder"), ("light", "left_shoulder"), ("hold", "left_shoulder"),
        ("rest", "left_stick"), ("letgo", "left_stick"), ("travel", "left_stick"), ("rim", "left_stick"),
        ("sweep", "left_stick"), ("link", ""), ("charge", ""), ("smell", ""),
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
