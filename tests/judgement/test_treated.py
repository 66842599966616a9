"""Whether a result still holds after a treatment, and what to test again: one rule."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.bench.recheck import plan_after
from station.checks.registry import CHECKS
from station.checks.types import Assessment, Outcome
from station.diagnosis.guide import load_guide
from station.judgement.treated import controls_of_part, due_again, makes_due, older, opens_housing, unrepeated, untested
from station.judgement.tries import Key
from station.records.types import TREATMENT_KINDS, Result, Treatment
from tests.diagnosis.diagnosis_kit import SHEET, Story, noisy

SENSOR = "Left stick sensor, horizontal"


def a_noisy_stick() -> Story:
    return Story().check("sweep", "left_stick", *noisy())


def test_rechecks_are_what_was_treated_and_what_opening_may_have_disturbed():
    story = (
        a_noisy_stick().check("rest", "left_stick").check("light", "left_shoulder").treat("clean the sensor", SENSOR)
    )
    history = story.history
    assert untested(history, SHEET) == history.treatments[-1]
    wanted = due_again(history, history.treatments, SHEET)
    assert wanted[("sweep", "left_stick")] == "failed"
    assert wanted[("rest", "left_stick")] == "treated"
    assert wanted[("contact", "left_shoulder")] == "besides"
    assert ("light", "left_shoulder") not in wanted


def test_rechecks_of_a_cleaning_from_outside_are_only_the_treated_control():
    story = a_noisy_stick().check("light", "left_shoulder").treat("clean from outside", SENSOR)
    history = story.history
    assert due_again(history, history.treatments, SHEET) == {("sweep", "left_stick"): "failed"}


def test_rechecks_of_an_unknown_treatment_are_everything_done_before():
    story = Story().check("sweep", "left_stick").check("light", "left_shoulder").treat("other", "sticker")
    history = story.history
    assert {("sweep", "left_stick"), ("light", "left_shoulder")} <= set(due_again(history, history.treatments, SHEET))


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
    for key in due_again(story.history, story.history.treatments, SHEET):
        story.check(*key)
    assert older(story.history, SHEET) == {}


def failed_there(*then: tuple[str, str]) -> Story:
    """Noise on the left stick and a button that misses; the stick is treated, then something passes."""
    story = a_noisy_stick().check("rest", "left_stick").check("light", "left_shoulder", "misses")
    story.treat("clean the sensor", SENSOR)
    for check, control in then:
        story.check(check, control)
    return story


@pytest.mark.parametrize(
    ("then", "known"),
    [
        pytest.param([], False, id="nothing"),
        pytest.param([("light", "left_shoulder")], False, id="another control"),
        pytest.param([("contact", "left_shoulder")], False, id="a quick check elsewhere"),
        pytest.param([("rest", "left_stick")], False, id="another check of what was treated"),
        pytest.param([("sweep", "left_stick")], True, id="what had failed"),
        pytest.param([("rest", "left_stick"), ("sweep", "left_stick")], True, id="that and more"),
    ],
)
def test_what_a_treatment_did_is_known_once_what_had_failed_on_it_was_repeated(then: list[Key], known: bool):
    history = failed_there(*then).history
    assert (untested(history, SHEET) is None) == known
    assert set(unrepeated(history, SHEET)) == (set() if known else {("sweep", "left_stick")})


@pytest.mark.parametrize(
    ("kind", "part", "then", "known"),
    [
        pytest.param("adjust", "Right stick", ("light", "left_shoulder"), False, id="elsewhere"),
        pytest.param("adjust", "Right stick", ("rest", "right_stick"), True, id="what was treated"),
        pytest.param("adjust", "Right stick", ("contact", "left_shoulder"), True, id="what opening may have disturbed"),
        pytest.param("other", "sticker", ("light", "left_shoulder"), False, id="nobody can tell: all that failed"),
        pytest.param("other", "sticker", ("sweep", "left_stick"), True, id="nobody can tell: repeated"),
        pytest.param("replace battery", "Battery", ("link", ""), True, id="the whole unit's own"),
    ],
)
def test_a_treatment_where_nothing_had_failed_is_known_by_what_it_made_due(
    kind: str, part: str, then: Key, known: bool
):
    story = a_noisy_stick().treat(kind, part).check(*then)
    assert (untested(story.history, SHEET) is None) == known


def test_a_check_that_was_left_out_since_is_not_asked_for_for_ever():
    story = failed_there()
    skip = Result("s", "v", "sweep", "left_stick", 2, "2026-03-06T11:00:00.000Z", Assessment(Outcome.NOT_DONE))
    story.results.append(replace(skip, by_hand=True, reason="no time now"))
    assert unrepeated(story.history, SHEET) == {}


def test_the_visit_after_a_treatment_begins_with_what_had_failed_on_what_was_treated():
    """The stick that is treated stands last in the order of the hand."""
    story = (
        Story().check("contact", "left_shoulder").check("rest", "right_stick").check("sweep", "right_stick", *noisy())
    )
    story.check("light", "left_shoulder", "misses").treat("clean the sensor", "Right stick sensor, vertical")
    steps = plan_after(due_again(story.history, story.history.treatments, SHEET), SHEET)
    keys = [(step.check, step.control) for step in steps]
    assert keys[:2] == [("sweep", "right_stick"), ("rest", "right_stick")]
    assert ("contact", "left_shoulder") in keys[2:]
    assert ("light", "left_shoulder") not in keys


def test_after_several_treatments_each_begins_with_its_own():
    story = Story().check("sweep", "right_stick", *noisy()).check("light", "left_shoulder", "misses")
    story.treat("clean the sensor", "Right stick").treat("open and clean", "Left shoulder")
    due = due_again(story.history, story.history.treatments, SHEET)
    assert [key for key, place in due.items() if place == "failed"] == [
        ("sweep", "right_stick"),
        ("light", "left_shoulder"),
    ]
    assert due[("contact", "left_shoulder")] == "treated"


@pytest.mark.parametrize(
    ("before", "waited"),
    [pytest.param((), False, id="passed"), pytest.param(("by_itself",), True, id="failed")],
)
def test_the_watch_of_a_minute_is_waited_for_only_where_it_had_failed(before: tuple[str, ...], waited: bool):
    story = Story().check("light", "left_shoulder", "misses").check("quiet", "", *before).treat("other", "")
    steps = plan_after(due_again(story.history, story.history.treatments, SHEET), SHEET)
    assert (steps[-1].check, steps[-1].offered) == ("quiet", not waited)


def test_a_long_press_that_had_failed_is_asked_for_again():
    story = Story().check("long_press", "left_shoulder", "misses").treat("open and clean", "Left shoulder")
    steps = plan_after(due_again(story.history, story.history.treatments, SHEET), SHEET)
    assert [s.check for s in steps if s.control == "left_shoulder" and not s.offered][:1] == ["long_press"]


def test_the_guide_that_ships_opens_what_the_rule_says_is_opened():
    assert {m.kind: m.needs_open for m in load_guide().treatments} == {k: opens_housing(k) for k in TREATMENT_KINDS}


def test_the_quick_checks_are_one_or_two_for_each_kind_of_control():
    quick = {
        kind: [c.name for c in CHECKS.values() if c.about.due_after == "any opening" and c.applies(control, SHEET)]
        for kind, control in {c.kind: c for c in SHEET.controls}.items()
    }
    assert quick == {"button": ["contact"], "stick": ["rest", "travel"], "trigger": ["trigger"], "hat": ["hat"]}


@pytest.mark.parametrize(
    ("kind", "part", "check", "control", "holds"),
    [
        pytest.param("clean the sensor", "Left stick sensor", "sweep", "left_stick", False, id="what was treated"),
        pytest.param("clean the sensor", "Left stick sensor", "contact", "left_shoulder", False, id="a quick check"),
        pytest.param(
            "clean the sensor", "Left stick sensor", "light", "left_shoulder", True, id="another button's force"
        ),
        pytest.param("clean the sensor", "Left stick sensor", "rumble", "", False, id="a motor's plug"),
        pytest.param("clean the sensor", "Left stick sensor", "charge", "", False, id="a cell's plug"),
        pytest.param("clean the sensor", "Left stick sensor", "look", "", False, id="how the housing is closed"),
        pytest.param("clean the sensor", "Left stick sensor", "link", "", True, id="how it reports"),
        pytest.param("clean from outside", "Left stick", "rumble", "", True, id="from outside: a motor's plug"),
        pytest.param("clean from outside", "Left stick", "contact", "left_shoulder", True, id="from outside: a button"),
        pytest.param("replace battery", "", "charge", "", False, id="the cell itself"),
    ],
)
def test_what_holds_from_before_a_treatment(kind: str, part: str, check: str, control: str, holds: bool) -> None:
    treatment = Treatment("t1", "u1", kind, "2026-03-06T10:30:00.000Z", part)
    assert makes_due(treatment, (check, control), SHEET) is not holds
