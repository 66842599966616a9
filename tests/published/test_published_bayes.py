"""Beta–binomial rates against published intervals, scipy, and values worked out from the rule (`recomputed`)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad
from scipy.special import betaln

from station.diagnosis.rates import interval
from station.diagnosis.types import Rate


@pytest.mark.parametrize(
    ("cured", "tried", "low", "high"),
    [(18, 20, 0.716147, 0.978628), (4, 20, 0.071520, 0.408226)],
    ids=["18 of 20", "4 of 20"],
)
def test_jeffreys_intervals_of_r(cured: int, tried: int, low: float, high: float):
    """R binom::binom.confint, in statsmodels' results_proportion.py [read]: 95 %, Jeffreys."""
    assert interval(Rate(cured, tried)) == pytest.approx((low, high), abs=5e-7)


@pytest.mark.recomputed
@pytest.mark.parametrize(
    ("cured", "tried", "mean", "low", "high"),
    [
        # [computed] with scipy 1.17.1, Jeffreys start a = b = 1/2
        pytest.param(3, 4, 0.70, 0.284, 0.972, id="3 of 4 cured: mean .70, 95 % .284 to .972"),
        pytest.param(2, 30, 0.0806452, 0.0141123, 0.1970943, id="2 of 30"),
        pytest.param(0, 29, 0.0166667, None, 0.0822865, id="0 of 29: mean 1/60"),
    ],
)
def test_worked_values_of_the_jeffreys_posterior(cured, tried, mean, low, high):
    rate = Rate(cured, tried)
    found = interval(rate)
    assert rate.mean == pytest.approx(mean, abs=5e-8 if mean < 0.1 else 1e-12)
    assert found[1] == pytest.approx(high, abs=5e-4 if high > 0.9 else 5e-8)
    if low is not None:
        assert found[0] == pytest.approx(low, abs=5e-4 if low > 0.1 else 5e-8)


@pytest.mark.recomputed
def test_one_sided_upper_bound_of_0_of_29():
    """.0635513 at one-sided 95 %, scipy.stats.beta(.5, 29.5) [computed]: the end of a central 90 % interval."""
    assert interval(Rate(0, 29), 0.90)[1] == pytest.approx(0.0635513, abs=5e-8)


@pytest.mark.recomputed
def test_the_chance_of_no_miss_in_the_next_ten_after_0_of_29():
    """B(a, b + m)/B(a, b) = .863270 [computed]; the same from our posterior by integration."""
    rate = Rate(0, 29)
    closed = np.exp(betaln(rate.a, rate.b + 10) - betaln(rate.a, rate.b))
    # b of the posterior of *misses* is 29.5; integrate over t = √x, since the density has a pole at 0
    integral, _ = quad(lambda t: (1 - t * t) ** 10 * stats.beta.pdf(t * t, rate.a, rate.b) * 2 * t, 0, 1)
    assert closed == pytest.approx(0.863270, abs=5e-7)
    assert integral == pytest.approx(closed, rel=1e-6)


@pytest.mark.parametrize("coverage", [0.5, 0.9, 0.95, 0.99])
@pytest.mark.parametrize(("cured", "tried"), [(0, 0), (0, 3), (1, 1), (3, 4), (17, 40), (250, 300), (2.4, 6.0)])
def test_intervals_are_those_of_scipy(cured: float, tried: float, coverage: float):
    expected = stats.beta(cured + 0.5, tried - cured + 0.5).interval(coverage)
    assert interval(Rate(cured, tried), coverage) == pytest.approx(expected, rel=1e-9)


def test_intervals_of_a_rate_drawn_from_its_start_cover_as_often_as_they_say():
    """Calibration of a Bayesian interval under its own prior, Beta(3.5, 1.5): exact over all outcomes of 20 tries."""
    a, b, n = 3.5, 1.5, 20
    covered = 0.0
    for k in range(n + 1):
        low, high = interval(Rate(3 + k, 4 + n))
        share = stats.betabinom.pmf(k, n, a, b)
        posterior = stats.beta(a + k, b + n - k)
        covered += share * (posterior.cdf(high) - posterior.cdf(low))
    assert covered == pytest.approx(0.95, abs=1e-9)
