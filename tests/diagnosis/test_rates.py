"""Learning from the shop's own histories."""

from __future__ import annotations

import pytest

from station.checks.types import Outcome
from station.diagnosis.guide import load_guide
from station.diagnosis.learn import Repair, Tried, learn, trials_from
from station.diagnosis.rates import FAR_WORTH, Trial, interval, rate_of
from station.records.types import UnitHistory
from tests.diagnosis.diagnosis_kit import SHEET, Story, noisy

GUIDE = load_guide()
SENSOR = "Left stick sensor, horizontal"
CLEAN = next(m for m in GUIDE.treatments if m.kind == "clean the sensor")
SPIKES = frozenset({"spikes", "reversal"})


def trials(story: Story) -> list[tuple[str, str, bool, int]]:
    found = trials_from([story.history], GUIDE, lambda history: SHEET)
    return [(t.kind, t.role, t.cured, t.attempt) for t in found]


def broken() -> Story:
    return Story().check("sweep", "left_stick", *noisy()).check("rest", "left_stick")


@pytest.mark.parametrize(
    ("story", "expected"),
    [
        pytest.param(
            broken().treat("clean the sensor", SENSOR).check("sweep", "left_stick"),
            [("clean the sensor", "sensor", True, 1)],
            id="cured",
        ),
        pytest.param(
            broken().treat("clean the sensor", SENSOR).check("sweep", "left_stick", *noisy()),
            [("clean the sensor", "sensor", False, 1)],
            id="not cured",
        ),
        pytest.param(
            broken().treat("clean the sensor", SENSOR).check("rest", "left_stick"),
            [],
            id="the failed check not done again",
        ),
        pytest.param(broken().treat("clean the sensor", SENSOR), [], id="nothing done again"),
        pytest.param(
            broken()
            .treat("clean the sensor", SENSOR)
            .check("sweep", "left_stick", *noisy())
            .treat("clean the sensor", SENSOR)
            .check("sweep", "left_stick"),
            [("clean the sensor", "sensor", False, 1), ("clean the sensor", "sensor", True, 2)],
            id="cured at the second try",
        ),
        pytest.param(
            broken()
            .treat("clean the sensor", SENSOR)
            .check("sweep", "left_stick")
            .check("sweep", "left_stick", *noisy()),
            [("clean the sensor", "sensor", False, 1)],
            id="came back after the rest",
        ),
        pytest.param(
            broken().treat("clean the sensor").check("sweep", "left_stick"),
            [("clean the sensor", "sensor", True, 1)],
            id="part not named: the likeliest it can cure",
        ),
        pytest.param(
            broken().treat("clean the sensor", "left_stick_x_sensor").check("sweep", "left_stick"),
            [("clean the sensor", "sensor", True, 1)],
            id="part named by its id",
        ),
        pytest.param(
            broken().treat("clean the sensor", SENSOR).check("sweep", "left_stick", outcome=Outcome.BORDERLINE),
            [("clean the sensor", "sensor", False, 1)],
            id="borderline is not cured",
        ),
        pytest.param(Story().check("sweep", "left_stick").treat("clean the sensor"), [], id="nothing was wrong"),
    ],
)
def test_a_treatment_counts_when_its_failed_checks_were_done_again(story: Story, expected: list[object]):
    assert trials(story) == expected


def test_a_trial_knows_what_was_found_on_the_treated_control_only():
    story = (
        broken()
        .check("light", "left_shoulder", "misses")
        .treat("clean the sensor", SENSOR)
        .check("sweep", "left_stick")
    )
    (trial,) = trials_from([story.history], GUIDE, lambda history: SHEET)
    assert trial.codes == SPIKES
    assert trial.model == "Plover T2"


def some(cured: int, tried: int, *, model: str = "Plover T2", attempt: int = 1, codes=SPIKES) -> list[Trial]:
    return [Trial(model, "clean the sensor", "sensor", codes, i < cured, attempt) for i in range(tried)]


def test_the_guide_is_where_a_rate_starts():
    rate = rate_of(CLEAN, "sensor", "Plover T2", SPIKES, [])
    assert (rate.cured, rate.tried, rate.own) == (3, 4, 0)
    assert interval(rate) == pytest.approx((0.284, 0.972), abs=5e-4)


def test_own_tries_on_the_model_with_the_finding_count_in_full():
    rate = rate_of(CLEAN, "sensor", "Plover T2", SPIKES, some(12, 15))
    assert (rate.cured, rate.tried, rate.own) == (15, 19, 15)


def test_other_models_and_other_findings_count_for_a_few_tries_at_most():
    elsewhere = some(50, 100, model="Heron 4") + some(50, 100, codes=frozenset({"offset"}))
    rate = rate_of(CLEAN, "sensor", "Plover T2", SPIKES, elsewhere)
    assert (rate.cured, rate.tried) == pytest.approx((3 + FAR_WORTH / 2, 4 + FAR_WORTH))
    few = rate_of(CLEAN, "sensor", "Plover T2", SPIKES, some(1, 2, model="Heron 4"))
    assert (few.cured, few.tried) == (4, 6)


def test_second_tries_do_not_count_as_first_ones():
    assert rate_of(CLEAN, "sensor", "Plover T2", SPIKES, some(0, 9, attempt=2)).tried == 4


def test_histories_are_taken_one_by_one_with_their_own_sheet():
    asked: list[UnitHistory] = []

    def sheet_of(history: UnitHistory):
        asked.append(history)
        return SHEET

    stories = [broken().treat("clean the sensor", SENSOR).check("sweep", "left_stick") for _ in range(3)]
    assert len(trials_from([s.history for s in stories], GUIDE, sheet_of)) == 3
    assert len(asked) == 3


# --- learning with doubt about which part was bad -------------------------------------------------------------------


def test_two_treatments_with_one_test_between_them_teach_nothing():
    story = broken().treat("clean from outside", SENSOR).treat("clean the sensor", SENSOR).check("sweep", "left_stick")
    assert trials(story) == []


def test_a_treatment_of_another_control_in_the_same_round_does_not_matter():
    story = broken().check("light", "left_shoulder", "misses").check("contact", "left_shoulder")
    story.treat("clean the sensor", SENSOR).treat("open and clean", "Left shoulder contact")
    story.check("sweep", "left_stick").check("light", "left_shoulder")
    assert ("open and clean", "contact", True, 1) in trials(story)


def test_what_cured_in_the_end_says_which_part_the_failures_were_tries_on():
    """Sensor or spring, evenly: cleaning the sensor failed, then a new spring cured, so the sensor was not bad."""
    repairs = [
        Repair("Plover T2", SPIKES, {"sensor": 0.5, "spring": 0.5},
               (Tried("clean the sensor", 1, False), Tried("swap with donor part", 1, True)))
    ]  # fmt: skip
    by_key = {(t.kind, t.role): t.weight for t in learn(repairs, GUIDE)}
    assert by_key["swap with donor part", "spring"] == 1.0
    assert ("clean the sensor", "sensor") not in by_key


def test_failures_on_a_doubtful_part_count_in_part():
    repairs = [Repair("Plover T2", SPIKES, {"sensor": 0.5, "spring": 0.5}, (Tried("clean the sensor", 1, False),))]
    (trial,) = (t for t in learn(repairs, GUIDE) if t.role == "sensor")
    assert 0.1 < trial.weight < 0.3  # Bayes: .5 · (1 − .7) against .5 · 1


def test_the_true_rate_is_found_although_half_the_tries_went_for_the_wrong_part():
    """Expected counts: the sensor bad in half of 400 units, cleaning cures 60 % of those; springs cured afterwards."""
    tried = {
        (True, "sensor"): (120, (Tried("clean the sensor", 1, True),)),
        (False, "sensor"): (80, (Tried("clean the sensor", 1, False), Tried("replace sensor", 1, True))),
        (False, "spring"): (200, (Tried("clean the sensor", 1, False), Tried("swap with donor part", 1, True))),
    }
    repairs = [
        Repair("Plover T2", SPIKES, {"sensor": 0.5, "spring": 0.5}, steps)
        for n, steps in tried.values()
        for _ in range(n)
    ]
    rate = rate_of(CLEAN, "sensor", "Plover T2", SPIKES, learn(repairs, GUIDE))
    assert rate.mean == pytest.approx(0.60, abs=0.01)
    assert rate.tried == pytest.approx(204, abs=1)
