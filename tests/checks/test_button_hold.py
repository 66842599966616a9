"""Steady hold: five seconds of light pressure, the second half rocked."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from station.checks.hold import HoldCheck
from station.checks.said import sentence
from station.checks.types import Outcome
from tests.checks.button_moves import LEFT, LIMITS, SHEET, STICK, contact, take

CHECK = HoldCheck()


def _take(stretches, end_ms=6500.0, period_ms=1.0):
    return take(LEFT, {LEFT.id: contact(stretches, end_ms, period_ms)}, end_ms, period_ms=period_ms)


def _assess(stretches, end_ms=6500.0, period_ms=1.0):
    return CHECK.assess(_take(stretches, end_ms, period_ms), LIMITS)


def _values(assessment):
    return {r.name: r.value for r in assessment.readings}


STEADY = {
    "held through to the end": [(500, 6500)],
    "held and let go": [(500, 6100)],
    "held a little less than five seconds": [(500, 5200)],
    "a first go that was too short, then a long one": [(200, 700), (1900, 6500)],
    "bounce on closing": [(500, 502), (504, 6000)],
    "bounce on letting go": [(500, 5900), (5904, 5906)],
    "chatter while letting go": [(500, 4900), (4915, 4930)],
    "closed again within a second but after the five": [(300, 5400), (5700, 5900)],
}


@pytest.mark.parametrize("stretches", STEADY.values(), ids=STEADY)
def test_a_steady_hold_passes(stretches):
    found = _assess(stretches)
    assert (found.outcome, found.findings, found.again) == (Outcome.PASS, (), "")
    assert _values(found)["dropouts"] == 0
    assert _values(found)["longest_dropout"] == 0


def test_dropouts_fail_with_their_number_and_the_longest():
    found = _assess([(500, 1000), (1035, 2000), (2120, 2700), (2708, 6000)])
    assert found.outcome is Outcome.FAIL
    assert [(f.code, sentence("hold", f)) for f in found.findings] == [
        ("dropouts", "left shoulder: contact lost while held, three times, longest 120.00 ms")
    ]
    assert (_values(found)["dropouts"], _values(found)["longest_dropout"]) == (3, 120)
    assert (_values(found)["rocking_dropouts"], _values(found)["longest_rocking"]) == (0, 0)


ROCKED = {
    "a finger may let up once": ([(500, 4000), (4120, 6000)], Outcome.BORDERLINE, 1, "once, longest 120.00 ms"),
    "two fail": ([(500, 3500), (3520, 4000), (4030, 6000)], Outcome.FAIL, 2, "twice, longest 30.00 ms"),
}


@pytest.mark.parametrize(("stretches", "outcome", "times", "says"), ROCKED.values(), ids=ROCKED)
def test_dropouts_of_the_second_half_are_those_of_rocking_and_counted_apart(stretches, outcome, times, says):
    found = _assess(stretches)
    assert (found.outcome, _values(found)["dropouts"], _values(found)["rocking_dropouts"]) == (outcome, 0, times)
    assert [(f.code, sentence("hold", f)) for f in found.findings] == [
        ("rocking_dropouts", f"left shoulder: contact lost while rocked, {says}")
    ]


def test_one_dropout_is_enough():
    found = _assess([(500, 2000), (2020, 6000)])
    assert sentence("hold", found.findings[0]) == "left shoulder: contact lost while held, once, longest 20.00 ms"


def test_the_length_of_a_dropout_carries_the_links_resolution():
    found = _assess([(504, 2000), (2040, 6000)], period_ms=8.0)
    longest = {r.name: r for r in found.readings}["longest_dropout"]
    assert longest.value == 40
    assert longest.uncertainty == pytest.approx(2 * 8 / math.sqrt(6))
    assert {r.name: r.reason for r in found.readings}["dropouts"] == "a dropout shorter than 8 ms can go unseen"


def test_a_link_whose_period_does_not_show_gives_an_uncertainty_too():
    """Reports of 1 kHz that are held up by more than a period; before, U was 0."""
    one = _take([(504, 2000), (2040, 6000)])
    late = np.abs(np.random.default_rng(1).normal(0.0, 1.2e6, len(one.report_t_ns))).astype(np.int64)
    one = replace(one, report_t_ns=np.maximum.accumulate(one.report_t_ns + late))
    found = {r.name: r for r in HoldCheck().assess(one, LIMITS).readings}
    assert found["dropouts"].reason == "the reports do not show how finely the link looks"
    assert found["longest_dropout"].uncertainty > 1.0
    assert 0.001 < found["held"].uncertainty < 0.005


HOLD_IT = "again, please: hold left shoulder for five seconds"
NOT_HELD = {
    "closed before it began and never opened": (
        [(0, 9000)],
        "again, please: let go of left shoulder first, then hold it",
    ),
    "never closed": ([], "again, please: no press of left shoulder seen"),
    "let go after two seconds": ([(500, 2500)], HOLD_IT),
    "tapped instead of held": ([(500, 800), (1000, 1300), (1500, 1800)], HOLD_IT),
}


@pytest.mark.parametrize(("stretches", "again"), NOT_HELD.values(), ids=NOT_HELD)
def test_what_was_not_held_is_asked_again_and_never_failed(stretches, again):
    found = _assess(stretches)
    assert (found.outcome, found.again) == (Outcome.NOT_DONE, again)
    assert not found.findings


def test_dropouts_too_brief_for_a_finger_fail_even_in_a_short_go():
    """A weak contact may never stay closed for four seconds."""
    found = _assess([(500, 800), (820, 1500), (1900, 2000), (3500, 3900)])
    assert found.outcome is Outcome.FAIL
    assert sentence("hold", found.findings[0]) == "left shoulder: contact lost while held, twice, longest 400.00 ms"


LET_GO_FIRST = {f"pressed again after {gap} ms": gap for gap in (80, 200, 336, 600, 900, 1100)}


@pytest.mark.parametrize("gap", LET_GO_FIRST.values(), ids=LET_GO_FIRST)
def test_letting_go_first_as_asked_is_no_dropout(gap):
    """The contact was closed when the try began, and the card said "let go first"."""
    stretches = [(0, 700), (700 + gap, 9000)]
    assert CHECK.progress(_take(stretches, 500.0), LIMITS).missing == "closed already: let go first"
    assert CHECK.progress(_take(stretches, 700.0 + gap + 10), LIMITS).missing == "five seconds to go"
    assert CHECK.progress(_take(stretches, 700.0 + gap + 5001), LIMITS).complete
    found = _assess(stretches, 700.0 + gap + 5200)
    assert (found.outcome, found.findings, found.again) == (Outcome.PASS, (), "")


def test_what_is_lost_after_letting_go_first_still_fails():
    found = _assess([(0, 700), (900, 3000), (3200, 6500)])
    assert (found.outcome, _values(found)["dropouts"], _values(found)["longest_dropout"]) == (Outcome.FAIL, 1, 200)


def test_a_dropout_too_brief_for_a_finger_counts_where_it_was_closed_already():
    found = _assess([(0, 2000), (2020, 6000)])
    assert (found.outcome, _values(found)["dropouts"]) == (Outcome.FAIL, 1)


RUNNING = {
    "closed from the beginning": ([(0, 9000)], 6000.0, False, "closed already: let go first"),
    "nothing yet": ([], 1000.0, False, "no press seen yet"),
    "just closed": ([(500, 9000)], 1000.0, False, "five seconds to go"),
    "half way": ([(500, 9000)], 3100.0, False, "rock it, three seconds to go"),
    "nearly": ([(500, 9000)], 5400.0, False, "rock it, one second to go"),
    "five seconds held": ([(500, 9000)], 5501.0, True, ""),
    "open at five seconds, may close again": (
        [(500, 5400)],
        5600.0,
        False,
        "rock it, one second to go",
    ),
    "open for good": ([(500, 2500)], 3600.0, False, "let go too early: hold it again"),
    "held again after letting go": ([(500, 2500), (4000, 9000)], 9001.0, True, ""),
}


@pytest.mark.parametrize(("stretches", "end_ms", "complete", "missing"), RUNNING.values(), ids=RUNNING)
def test_what_it_says_while_it_runs(stretches, end_ms, complete, missing):
    found = CHECK.progress(_take(stretches, end_ms), LIMITS)
    assert (found.complete, found.missing) == (complete, missing)


def test_it_applies_to_buttons():
    assert CHECK.applies(LEFT, SHEET)
    assert not CHECK.applies(STICK, SHEET)
    assert not CHECK.applies(None, SHEET)
    assert CHECK.prompt(LEFT, SHEET).do == "Hold left shoulder down lightly for five seconds; rock it from half way on."


def test_a_button_that_never_reported_has_no_press():
    assert CHECK.assess(take(LEFT, {}, 6000.0), LIMITS).again == "again, please: no press of left shoulder seen"
