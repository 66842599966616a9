"""From readings to outcomes."""

from __future__ import annotations

from itertools import permutations

import pytest

from station.checks.decide import base_name, judged, outcome_of, reading_outcome, worst
from station.checks.types import Outcome, Reading

LIMITS = {"rest": {"offset": (5.0, 10.0), "noise_pp": (1.5, 4.0)}, "travel": {"reach": (95.0, 88.0)}}


@pytest.mark.parametrize(
    ("name", "base"),
    [("offset", "offset"), ("noise_pp_x", "noise_pp"), ("reach_up", "reach"), ("reach_left", "reach"),
     ("gap_y", "gap"), ("least_reach_bearing", "least_reach_bearing"), ("setup", "setup")],
)  # fmt: skip
def test_base_name_is_the_name_without_axis_or_direction(name, base):
    assert base_name(name) == base


def test_readings_get_the_limits_of_their_base_name():
    found = judged("travel", [Reading(f"reach_{d}", 96.0, "%") for d in ("up", "right")], LIMITS)
    assert {(r.limit, r.fail_beyond, r.rule) for r in found} == {(95.0, 88.0, ">=")}


def test_parts_of_a_judged_value_are_only_reported():
    readings = [Reading("offset", 3.0, "%"), Reading("offset_x", -9.0, "%"), Reading("noise_pp_x", 1.0, "%")]
    assert [r.limit for r in judged("rest", readings, LIMITS)] == [5.0, None, 1.5]


def test_a_reading_or_a_check_without_limits_stays_as_it_is():
    reading = Reading("offset_angle", 12.0, "°")
    assert judged("rest", [reading], LIMITS) == (reading,)
    assert judged("nothing", [reading], LIMITS) == (reading,)


VERDICTS = {
    "only reported": (Reading("angle", 12.0, "°"), None),
    "not to be had": (Reading("offset", None, "%", limit=5.0, fail_beyond=10.0), Outcome.NOT_DONE),
    "inside": (Reading("offset", 4.0, "%", 0.2, limit=5.0, fail_beyond=10.0), Outcome.PASS),
    "around the limit": (Reading("offset", 5.1, "%", 0.2, limit=5.0, fail_beyond=10.0), Outcome.BORDERLINE),
    "outside": (Reading("offset", 5.3, "%", 0.2, limit=5.0, fail_beyond=10.0), Outcome.FAIL),
    "without a fail limit": (Reading("offset", 5.1, "%", 0.2, limit=5.0), Outcome.FAIL),
}


@pytest.mark.parametrize(("reading", "verdict"), VERDICTS.values(), ids=VERDICTS)
def test_verdict_on_one_reading(reading, verdict):
    assert reading_outcome(reading) is verdict


ORDER = [Outcome.FAIL, Outcome.INTERRUPTED, Outcome.NOT_DONE, Outcome.BORDERLINE, Outcome.PASS]


def test_the_worst_outcome_decides_in_whatever_order():
    for mixed in permutations(ORDER):
        for k in range(1, 6):
            assert worst(mixed[:k]) is min(mixed[:k], key=ORDER.index)


def test_nothing_judged_is_not_done():
    assert worst([]) is Outcome.NOT_DONE
    assert outcome_of([Reading("angle", 1.0, "°")]) is Outcome.NOT_DONE


def test_outcome_of_readings_is_the_worst_of_those_with_limits():
    good = Reading("offset", 1.0, "%", 0.1, limit=5.0, fail_beyond=10.0)
    bad = Reading("noise_pp_x", 9.0, "%", 0.1, limit=1.5, fail_beyond=4.0)
    assert outcome_of([good, Reading("angle", 1.0, "°")]) is Outcome.PASS
    assert outcome_of([good, bad]) is Outcome.FAIL
