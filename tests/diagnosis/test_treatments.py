"""The next treatment, its reason, and when to stop."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from station.checks.ask import SIGNS, looked_over
from station.checks.types import Outcome
from station.diagnosis.guide import Values, load_guide
from station.diagnosis.rates import Trial
from station.diagnosis.treatments import propose
from station.diagnosis.types import Proposal
from station.judgement.treated import untested
from station.records.types import ShelfPart
from tests.diagnosis.diagnosis_kit import SHEET, Story, noisy

GUIDE = load_guide()
SENSOR = "Left stick sensor, horizontal"
DEAR = Values(12_000, 1_000, 500)


def proposal(story: Story, **other) -> Proposal:
    found = propose(story.history, SHEET, GUIDE, **other)
    assert found is not None
    return found


def a_noisy_stick() -> Story:
    return Story().check("sweep", "left_stick", *noisy())


def shop(kind: str, cured: int, tried: int, role: str = "sensor", model: str = "Plover T2") -> list[Trial]:
    return [Trial(model, kind, role, frozenset({"spikes"}), i < cured) for i in range(tried)]


def test_a_noisy_track_is_cleaned_first_and_the_reason_is_in_words_and_figures():
    found = proposal(a_noisy_stick())
    assert found.title == f"{SENSOR}: clean the sensor, housing open"
    assert found.reason == "cures 3 of 4 like it (28–97 %), 9 min and 6 to open, €\u00a00.40"
    assert found.then == "if it stays: replace the sensor, 25 min and 6 to open, €\u00a02.10"
    assert (found.kind, found.part, found.minutes, found.cost_minor) == ("clean the sensor", SENSOR, 9, 40)
    assert found.cure_interval == pytest.approx((0.284, 0.972), abs=5e-4)
    assert [h.name for h in found.hazards] == ["cell", "static", "sharp", "solvent"]
    assert found.gain_minor > 0


@pytest.mark.usefixtures("german_screen")
def test_its_figures_are_written_as_the_system_writes_them():
    found = proposal(a_noisy_stick())
    assert found.reason == "cures 3 of 4 like it (28–97 %), 9 min and 6 to open, 0,40\u00a0€"


def test_work_without_parts_says_nothing_of_money():
    """It said "9 min and 6 to open, € 0.00", as if the work were free."""
    free = replace(GUIDE, treatments=tuple(replace(method, cost_minor=0) for method in GUIDE.treatments))
    found = propose(a_noisy_stick().history, SHEET, free)
    assert found is not None
    assert found.reason.endswith("9 min and 6 to open")
    assert "€" not in found.then


def test_nothing_found_nothing_proposed():
    assert propose(Story().check("sweep", "left_stick").history, SHEET, GUIDE) is None


def test_after_a_treatment_the_unit_is_tested_first():
    found = proposal(a_noisy_stick().treat("clean the sensor", SENSOR))
    assert (found.title, found.kind) == ("Test it again", "")
    assert f"({SENSOR}: clean the sensor)" in found.reason


def test_what_failed_once_is_not_simply_proposed_again():
    story = a_noisy_stick().treat("clean the sensor", SENSOR).check("sweep", "left_stick", *noisy())
    found = proposal(story)
    assert found.kind == "replace sensor"
    assert "iron" in [h.name for h in found.hazards]


def test_a_further_try_is_said_to_be_one():
    """Where only cleaning is to be had, the second try is worth the guide's `again` of the first."""
    cleaning = tuple(m for m in GUIDE.treatments if m.kind == "clean the sensor")
    story = a_noisy_stick().treat("clean the sensor", SENSOR).check("sweep", "left_stick", *noisy())
    found = propose(story.history, SHEET, replace(GUIDE, treatments=cleaning), values=DEAR)
    assert found is not None
    assert found.reason.startswith("cures about 28 % on a further try")
    assert found.cure_mean == pytest.approx(0.7 * 0.4)


def test_what_a_greater_treatment_includes_is_not_proposed_after_it():
    story = a_noisy_stick().treat("replace module", SENSOR).check("sweep", "left_stick", *noisy())
    found = proposal(story, values=DEAR)
    assert found.kind in ("replace module", "")


def test_the_shops_own_record_overrules_the_guide():
    found = proposal(a_noisy_stick(), trials=shop("clean the sensor", 1, 30))
    assert found.kind == "clean from outside"
    assert found.then.startswith("if it stays: replace the sensor")
    assert proposal(a_noisy_stick(), trials=shop("clean the sensor", 28, 30)).reason.startswith(
        "cures 31 of 34 like it"
    )


def test_the_record_of_other_models_counts_less():
    found = proposal(a_noisy_stick(), trials=shop("clean the sensor", 28, 30, model="Heron 4"))
    assert found.reason.startswith("cures 9 of 10 like it")


def test_a_part_on_the_shelf_makes_its_replacement_cheaper():
    trials = shop("clean the sensor", 0, 30) + shop("clean from outside", 0, 30)
    bought = proposal(a_noisy_stick(), trials=trials)
    shelf = (ShelfPart("p", SENSOR, "Plover T2", 1, cost_minor=30),)
    at_hand = proposal(a_noisy_stick(), trials=trials, shelf=shelf)
    gone = proposal(a_noisy_stick(), trials=trials, shelf=(replace(shelf[0], count=0),))
    other = proposal(a_noisy_stick(), trials=trials, shelf=(replace(shelf[0], model="Heron 4"),))
    assert (bought.cost_minor, at_hand.cost_minor, gone.cost_minor, other.cost_minor) == (210, 30, 210, 210)


def test_it_stops_with_the_figures_when_going_on_does_not_pay():
    found = proposal(a_noisy_stick(), values=Values(1500, 1100, 700))
    assert (found.title, found.kind) == ("Stop: sell as is, with its faults named", "")
    amounts = re.fullmatch(
        r"failed: left stick, slow sweep; going on is expected to bring €\u00a0(\S+) after its costs, "
        r"stopping brings €\u00a011.00",
        found.reason,
    )
    assert amounts is not None
    assert float(amounts[1]) < 11
    assert found.gain_minor == pytest.approx(100 * float(amounts[1]) - 1100, abs=1)


def test_the_reason_to_stop_names_what_failed_and_not_what_is_borderline():
    """A person's word that names no finding stood in place of the faults that the unit is sold with."""
    story = a_noisy_stick().check("hat", "pad", "missing_direction").check("trigger", "left_trigger", "spikes")
    story.check("rest", "left_stick", outcome=Outcome.BORDERLINE).check("light", "left_shoulder", "misses")
    reason = proposal(story, values=Values(1200, 1100, 700)).reason
    assert reason.startswith("failed: left stick, slow sweep; direction pad, hat; left trigger, trigger pull; 1 more; ")
    assert "borderline" not in reason


def test_a_treatment_says_borderline_only_of_what_did_not_fail():
    story = a_noisy_stick().check("rest", "left_stick", outcome=Outcome.BORDERLINE)
    found = proposal(story)
    assert (found.kind, "borderline" in found.reason) == ("clean the sensor", False)


def test_it_says_donor_when_parts_bring_more():
    assert "donor of parts" in proposal(a_noisy_stick(), values=Values(1500, 600, 1100)).title


def test_it_stops_when_the_guide_knows_nothing():
    found = proposal(Story().check("novelty", "left_stick", "never_heard_of"), values=Values(1200, 1100, 700))
    assert found.title.startswith("Stop")


def test_two_faults_are_only_worth_mending_together():
    """Each alone pays; with both, each must be cured for the unit to be ready, so the gain is smaller."""
    one = proposal(a_noisy_stick())
    both = proposal(a_noisy_stick().check("light", "left_shoulder", "misses").check("contact", "left_shoulder"))
    assert 0 < both.gain_minor < one.gain_minor


def test_the_more_doubtful_of_two_faults_goes_first():
    story = a_noisy_stick().check("light", "left_shoulder", "misses").check("contact", "left_shoulder")
    certain = shop("clean the sensor", 60, 60)
    assert proposal(story, trials=certain).part.startswith("Left shoulder")


def test_many_faults_at_once_are_answered_too():
    story = a_noisy_stick()
    for control in ("left_shoulder", "right_shoulder"):
        story.check("light", control, "misses")
    story.check("trigger", "left_trigger", "spikes").check("hat", "pad", "missing_direction")
    assert proposal(story, values=Values(30_000, 1000, 500)).kind


def test_treatments_that_share_the_opened_housing_are_done_before_one_test():
    story = Story().check("rest", "left_stick", "offset")
    found = proposal(story)
    assert found.then.startswith("before testing, while it is open: ")
    assert "to open" not in found.then


def test_nothing_is_untested_when_it_was_tested_since():
    assert untested(a_noisy_stick().treat("adjust").check("sweep", "left_stick").history, SHEET) is None
    assert untested(a_noisy_stick().history, SHEET) is None


@pytest.mark.parametrize("sign", SIGNS)
def test_what_the_look_stopped_is_set_aside_and_not_opened(sign: str) -> None:
    """It proposed to replace the battery of a cell that bulges, which is not to be opened."""
    story = a_noisy_stick().check("look", "", *looked_over(sign).findings)
    found = proposal(story)
    assert (found.kind, found.minutes, found.then) == ("", 0, "")
    assert found.title.startswith("Stop: set it aside")
    assert "another look" in found.reason
    assert "cell" in [h.name for h in found.hazards]
    assert proposal(story.check("look", "")).kind == "clean the sensor"
