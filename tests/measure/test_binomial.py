"""Arguments and ends of the binomial bounds (values: tests/published)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from station.measure.binomial import binomial_cdf, clopper_pearson, presses_needed, wilson


@pytest.mark.parametrize(("k", "n", "c"), [(-1, 5, 0.95), (6, 5, 0.95), (0, 0, 0.95), (1, 5, 0.0), (1, 5, 1.0)])
@pytest.mark.parametrize("bounds", [clopper_pearson, wilson])
def test_impossible_arguments_are_refused(bounds, k, n, c):
    with pytest.raises(ValueError, match="needed"):
        bounds(k, n, c)


@pytest.mark.parametrize(("r", "c", "f"), [(1.0, 0.9, 0), (0.0, 0.9, 0), (0.9, 1.0, 0), (0.9, 0.9, -1)])
def test_a_reliability_that_no_number_of_presses_shows_is_refused(r, c, f):
    with pytest.raises(ValueError, match="between 0 and 1"):
        presses_needed(r, c, f)


@given(st.integers(1, 300).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), st.floats(0.5, 0.999))
def test_bounds_enclose_the_share_and_one_sided_ones_are_tighter(kn, confidence):
    k, n = kn
    low, high = clopper_pearson(k, n, confidence)
    assert 0.0 <= low <= k / n <= high <= 1.0
    assert clopper_pearson(k, n, confidence, "upper")[1] <= high
    assert clopper_pearson(k, n, confidence, "lower")[0] >= low


@given(st.integers(0, 40), st.integers(1, 40))
def test_the_upper_bound_is_where_so_few_hits_become_improbable(k, n):
    if k < n:
        upper = clopper_pearson(k, n, 0.95, "upper")[1]
        assert binomial_cdf(k, n, upper) == pytest.approx(0.05, abs=1e-9)


@given(st.floats(0.5, 0.995), st.floats(0.5, 0.99), st.integers(0, 4))
def test_presses_needed_is_the_smallest_number(r, c, f):
    n = presses_needed(r, c, f)
    assert binomial_cdf(f, n, 1 - r) <= 1 - c
    assert n == f + 1 or binomial_cdf(f, n - 1, 1 - r) > 1 - c
