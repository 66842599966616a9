"""Whether a result still holds after a treatment, and what to test again: one rule."""

from __future__ import annotations

import pytest

from station.checks.registry import CHECKS
from station.diagnosis.guide import load_guide
from station.diagnosis.recheck import untested
from station.judgement.treated import controls_of_part, due_again, older, opens_housing
from station.records.types import TREATMENT_KINDS
from tests.diagnosis.diagnosis_kit import SHEET, Story, noisy

SENSOR = "Left stick sensor, horizontal"


def a_noisy_stick() -> Story:
    return Story().check("sweep", "left_stick", *noisy())


def test_rechecks_are_what_was_treated_and_what_opening_may_have_disturbed():
    story = (
        a_noisy_stick().check("rest", "left_stick").check("light", "left_shoulder").treat("clean the sensor", SENSOR)
    )
    history = story.history
    assert untested(history) == history.treatments[-1]
    wanted = due_again(history, history.treatments[-1], SHEET)
    assert {("sweep", "left_stick"), ("rest", "left_stick"), ("contact", "left_shoulder")} <= set(wanted)
    assert ("light", "left_shoulder") not in wanted
    assert len(set(wanted)) == len(wanted)
    assert [c for _, c in wanted] == sorted((c for _, c in wanted), key=[c.id for c in SHEET.controls].index)


def test_rechecks_of_a_cleaning_from_outside_are_only_the_treated_control():
    story = a_noisy_stick().check("light", "left_shoulder").treat("clean from outside", SENSOR)
    history = story.history
    assert due_again(history, history.treatments[-1], SHEET) == (("sweep", "left_stick"),)


def test_rechecks_of_an_unknown_treatment_are_everything_done_before():
    story = Story().check("sweep", "left_stick").check("light", "left_shoulder").treat("other", "sticker")
    history = story.history
    assert {("sweep", "left_stick"), ("light", "left_shoulder")} <= set(
        due_again(history, history.treatments[-1], SHEET)
    )


@pytest.mark.parametrize(
    ("part", "controls"),
    [
        pytest.param(SENSOR, {"left_stick"}, id="a part of the sheet, by name"),
        pytest.param("left_stick_x_sensor", {"left_stick"}, id="by its id"),
        pytest.param("Left stick spring", {"left_stick"}, id="a part that the guide names after its control"),
        pytest.param("left shoulder", {"left_shoulder"}, id="a control, however it is written"),
        pytest.param("right_trigger pad", set(), id="a control that the model has not"),
        pytest.param("Left sticker", set(), id="a word that only begins alike"),
        pytest.param("Board", set(), id="the whole unit"),
        pytest.param("", set(), id="nothing written down"),
    ],
)
def test_which_controls_a_treated_part_belongs_to(part: str, controls: set[str]):
    assert controls_of_part(part, SHEET) == controls


@pytest.mark.parametrize(
    ("kind", "part", "stale"),
    [
        pytest.param("clean from outside", SENSOR, {"sweep", "rest"}, id="from outside: its control alone"),
        pytest.param("clean the sensor", SENSOR, {"sweep", "rest", "contact"}, id="opened: the quick checks too"),
        pytest.param("replace board", "Board", {"sweep", "rest", "contact", "light", "link"}, id="the board: all"),
        pytest.param("adjust", "Left trigger", {"rest", "contact"}, id="another control: the quick checks alone"),
    ],
)
def test_what_a_treatment_makes_older(kind: str, part: str, stale: set[str]):
    story = Story()
    for check, control in (
        ("sweep", "left_stick"), ("rest", "left_stick"), ("contact", "left_shoulder"), ("light", "left_shoulder"),
        ("link", ""),
    ):  # fmt: skip
        story.check(check, control)
    story.treat(kind, part)
    assert {check for check, _ in older(story.history, SHEET)} == stale
    story.check("contact", "left_shoulder")
    assert {check for check, _ in older(story.history, SHEET)} == stale - {"contact"}


def test_what_was_done_again_when_due_holds_again():
    story = a_noisy_stick().check("light", "left_shoulder").treat("clean the sensor", SENSOR)
    for key in due_again(story.history, story.history.treatments[-1], SHEET):
        story.check(*key)
    assert older(story.history, SHEET) == {}


def test_the_guide_that_ships_opens_what_the_rule_says_is_opened():
    assert {m.kind: m.needs_open for m in load_guide().treatments} == {k: opens_housing(k) for k in TREATMENT_KINDS}


def test_the_quick_checks_are_one_or_two_for_each_kind_of_control():
    quick = {
        kind: [c.name for c in CHECKS.values() if c.about.due_after == "any opening" and c.applies(control, SHEET)]
        for kind, control in {c.kind: c for c in SHEET.controls}.items()
    }
    assert quick == {"button": ["contact"], "stick": ["rest", "travel"], "trigger": ["trigger"], "hat": ["hat"]}
