"""The decision rule in all its corners."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from station.measure.decision import decide, rule_of

CASES = {
    "inside by exactly U passes": (4.5, 0.5, 5.0, 10.0, "<=", "pass"),
    "inside by less than U is borderline": (4.6, 0.5, 5.0, 10.0, "<=", "borderline"),
    "on the limit is borderline": (5.0, 0.5, 5.0, 10.0, "<=", "borderline"),
    "outside by exactly U is borderline": (5.5, 0.5, 5.0, 10.0, "<=", "borderline"),
    "outside by more than U fails": (5.6, 0.5, 5.0, 10.0, "<=", "fail"),
    "beyond the fail limit fails however large U is": (10.1, 50.0, 5.0, 10.0, "<=", "fail"),
    "on the fail limit with a large U is borderline": (10.0, 50.0, 5.0, 10.0, "<=", "borderline"),
    "more is better: inside by U passes": (96.0, 1.0, 95.0, 88.0, ">=", "pass"),
    "more is better: outside by less than U is borderline": (94.5, 1.0, 95.0, 88.0, ">=", "borderline"),
    "more is better: outside by more than U fails": (93.5, 1.0, 95.0, 88.0, ">=", "fail"),
    "more is better: beyond the fail limit fails": (87.0, 30.0, 95.0, 88.0, ">=", "fail"),
    "a count on its limit passes": (0.0, 0.0, 0.0, 2.0, "<=", "pass"),
    "a count between its two limits is borderline": (2.0, 0.0, 0.0, 2.0, "<=", "borderline"),
    "a count beyond its fail limit fails": (3.0, 0.0, 0.0, 2.0, "<=", "fail"),
    "two of three closures fail": (2.0, 0.0, 3.0, 2.5, ">=", "fail"),
    "three of three pass": (3.0, 0.0, 3.0, 2.5, ">=", "pass"),
}


@pytest.mark.parametrize(("value", "u", "limit", "fail", "rule", "outcome"), CASES.values(), ids=CASES)
def test_decision(value, u, limit, fail, rule, outcome):
    assert decide(value, u, limit, fail, rule) == outcome


# Our own example in the manner of ILAC-G8:09/2019, 4.2.3: limit 8 %, U 0.8, so what passes ends at 7.2. ILAC calls the
# two middle zones conditional pass and conditional fail.
GUARD_BAND = {
    "6.9 is inside the acceptance limit: pass": (6.9, "pass"),
    "7.5 is inside by less than U: borderline": (7.5, "borderline"),
    "8.5 is outside by less than U: borderline": (8.5, "borderline"),
    "9.1 is outside by more than U: fail": (9.1, "fail"),
}


@pytest.mark.parametrize(("value", "outcome"), GUARD_BAND.values(), ids=GUARD_BAND)
def test_the_zones_of_a_guard_band(value, outcome):
    assert decide(value, 0.8, 8.0, 20.0, "<=") == outcome


@pytest.mark.parametrize("numbers", [(float("nan"), 0, 1, 2), (1, float("inf"), 1, 2), (1, -0.1, 1, 2)])
def test_a_number_that_is_none_is_refused(numbers):
    with pytest.raises(ValueError, match="finite"):
        decide(*numbers, "<=")


RANK = {"pass": 0, "borderline": 1, "fail": 2}
NUMBER = st.floats(-200, 200)


@given(NUMBER, NUMBER, st.floats(0, 50), NUMBER, st.floats(0, 50))
def test_a_worse_value_never_gets_a_better_decision(a, b, u, limit, more):
    low, high = sorted((a, b))
    assert RANK[decide(low, u, limit, limit + more, "<=")] <= RANK[decide(high, u, limit, limit + more, "<=")]


@given(NUMBER, st.floats(0, 50), NUMBER, st.floats(0, 50))
def test_both_rules_mirror_each_other(value, u, limit, more):
    assert decide(value, u, limit, limit + more, "<=") == decide(-value, u, -limit, -limit - more, ">=")


def test_the_rule_follows_from_which_limit_is_greater():
    assert [rule_of(5, 10), rule_of(95, 88), rule_of(0, 0)] == ["<=", ">=", "<="]
