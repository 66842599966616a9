"""Confidence of a proportion and the success run against published worked examples and reference libraries.

Marks: read = seen in a public copy or an installed package; computed = recomputed with SciPy and statsmodels.
"""

from __future__ import annotations

import math

import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from station.measure.binomial import (
    binomial_cdf,
    clopper_pearson,
    presses_needed,
    reliability_shown,
    wilson,
)

NIST = "NIST/SEMATECH e-Handbook §7.2.4.1 [read]"
R_BINOM = "R 3.6.2 binom.test, in SciPy's test_morestats.py [read]"
R_PROP = "R prop.test, in SciPy's test_morestats.py [read]"
R_CONFINT = "R binom::binom.confint, in statsmodels' results_proportion.py [read]"
SIX_SIGMA = "Six Sigma Demystified, p. 213 [read]"

# source, k, n, confidence, side, low, high, tolerance (half a unit of the last printed digit)
EXACT = [
    # The page goes on to round the upper end to "0.400": a misprint; its own 0.401029 is off by 1e-6.
    (NIST, 4, 20, 0.90, "two", 0.071354, 0.401029, 2e-6),
    (R_BINOM, 20, 100, 0.95, "two", 0.12665555, 0.29184269, 5e-9),
    (R_BINOM, 3, 50, 0.99, "two", 0.006872485, 0.202706269, 5e-10),
    (R_BINOM, 0, 10, 0.95, "two", 0.0, 0.3084971, 5e-8),
    (R_BINOM, 0, 10, 0.95, "upper", 0.0, 0.2588656, 5e-8),
    (R_BINOM, 10, 10, 0.95, "two", 0.6915029, 1.0, 5e-8),
    (R_BINOM, 10, 10, 0.95, "lower", 0.7411344, 1.0, 5e-8),
    (R_CONFINT, 18, 20, 0.95, "two", 0.683017, 0.987651, 5e-7),
    (R_CONFINT, 4, 20, 0.95, "two", 0.057334, 0.436614, 5e-7),
    (R_CONFINT, 4, 200, 0.95, "two", 0.005476, 0.050414, 5e-7),
    (SIX_SIGMA, 24, 100, 0.95, "two", 0.160225, 0.335735, 5e-7),
    (SIX_SIGMA, 24, 100, 0.95, "lower", 0.171348, 1.0, 5e-7),
]
SCORE = [
    (NIST, 26, 200, 0.95, "lower", 0.09577, 1.0, 5e-6),
    (R_PROP, 3, 10, 0.95, "two", 0.1077913, 0.6032219, 5e-8),
    (R_PROP, 0, 10, 0.95, "two", 0.0, 0.2775328, 5e-8),
    (R_CONFINT, 18, 20, 0.95, "two", 0.698966, 0.972134, 5e-7),
    (R_CONFINT, 4, 20, 0.95, "two", 0.080658, 0.416017, 5e-7),
    (R_CONFINT, 4, 200, 0.95, "two", 0.007804, 0.050287, 5e-7),
    ("statsmodels' test_proportion.py [read]", 19, 38, 0.95, "two", 0.348499283643951, 0.651500716356049, 1e-14),
]


def _named(rows: list[tuple[object, ...]]) -> list[str]:
    return [f"{source}, {k} of {n} at {c:g} {side}" for source, k, n, c, side, *_ in rows]


@pytest.mark.parametrize(("source", "k", "n", "confidence", "side", "low", "high", "tol"), EXACT, ids=_named(EXACT))
def test_clopper_pearson_gives_the_published_bounds(source, k, n, confidence, side, low, high, tol):
    assert clopper_pearson(k, n, confidence, side) == pytest.approx((low, high), abs=tol)


@pytest.mark.parametrize(("source", "k", "n", "confidence", "side", "low", "high", "tol"), SCORE, ids=_named(SCORE))
def test_wilson_gives_the_published_bounds(source, k, n, confidence, side, low, high, tol):
    assert wilson(k, n, confidence, side) == pytest.approx((low, high), abs=tol)


@pytest.mark.parametrize(("k", "n"), [(0, 77), (38, 38)], ids=["no hit of 77", "38 hits of 38"])
def test_wilson_stays_inside_zero_and_one_where_statsmodels_once_did_not(k, n):
    """statsmodels GH 7386 [read]."""
    low, high = wilson(k, n)
    assert 0.0 <= low < high <= 1.0


@pytest.mark.parametrize("n", [1, 7, 31, 60, 400])
def test_both_intervals_agree_with_scipy_and_statsmodels_for_every_count(n):
    for k in {0, 1, n // 3, n - 1, n}:
        scipy_exact = stats.binomtest(k, n).proportion_ci(0.95, "exact")
        scipy_wilson = stats.binomtest(k, n).proportion_ci(0.95, "wilson")
        assert clopper_pearson(k, n) == pytest.approx((scipy_exact.low, scipy_exact.high), abs=1e-9)
        assert clopper_pearson(k, n) == pytest.approx(proportion_confint(k, n, 0.05, "beta"), abs=1e-12)
        assert wilson(k, n) == pytest.approx((scipy_wilson.low, scipy_wilson.high), abs=1e-12)
        one_sided = stats.binomtest(k, n, alternative="less").proportion_ci(0.95, "exact")
        assert clopper_pearson(k, n, 0.95, "upper") == pytest.approx((one_sided.low, one_sided.high), abs=1e-9)


# S. S. Wilks, Ann. Math. Stat. 12 (1941) 91–96 gives 59 for 95/95 [citation and 59 read]; the formula ln(1 − C)/ln R
# stands in reliability guides [read: two]; all figures [computed] with scipy.stats.binom.
SUCCESS_RUN = {
    (0.80, 0.80): (8, 14, 21), (0.90, 0.80): (16, 29, 42), (0.95, 0.80): (32, 59, 85), (0.99, 0.80): (161, 299, 427),
    (0.80, 0.90): (11, 18, 25), (0.90, 0.90): (22, 38, 52), (0.95, 0.90): (45, 77, 105), (0.99, 0.90): (230, 388, 531),
    (0.80, 0.95): (14, 22, 30), (0.90, 0.95): (29, 46, 61), (0.95, 0.95): (59, 93, 124), (0.99, 0.95): (299, 473, 628),
    (0.80, 0.99): (21, 31, 39), (0.90, 0.99): (44, 64, 81), (0.95, 0.99): (90, 130, 165), (0.99, 0.99): (459, 662, 838),
}  # fmt: skip


@pytest.mark.parametrize(
    ("reliability", "confidence", "presses"),
    [(r, c, n) for (r, c), n in SUCCESS_RUN.items()],
    ids=[f"reliability {r:.0%} at confidence {c:.0%}" for r, c in SUCCESS_RUN],
)
def test_presses_needed_is_the_success_run_table_for_none_one_and_two_faults(reliability, confidence, presses):
    assert tuple(presses_needed(reliability, confidence, faults) for faults in range(3)) == presses


@pytest.mark.recomputed
def test_presses_needed_for_one_in_a_thousand_is_the_closed_formula():
    found = [presses_needed(0.999, c) for c in (0.80, 0.90, 0.95, 0.99)]
    assert found == [1609, 2302, 2995, 4603]
    assert found == [math.ceil(math.log(1 - c) / math.log(0.999)) for c in (0.80, 0.90, 0.95, 0.99)]


@pytest.mark.recomputed
@pytest.mark.parametrize(("rate", "presses"), [(0.01, 299), (0.02, 149), (0.05, 59), (0.10, 29), (0.20, 14), (0.50, 5)])
def test_presses_to_see_an_intermittent_miss_at_least_once_with_95_percent(rate, presses):
    """The same numbers from the other side: P(no miss in n) = (1 − q)^n ≤ 5 % [computed]."""
    assert presses_needed(1.0 - rate, 0.95) == presses
    assert binomial_cdf(0, presses, rate) <= 0.05 < binomial_cdf(0, presses - 1, rate)


@pytest.mark.recomputed
@pytest.mark.parametrize(
    ("clean", "shown"), [(10, 0.74113), (20, 0.86089), (30, 0.90497), (60, 0.95130), (100, 0.97049)]
)
def test_clean_presses_show_the_reliability_of_the_form_without_a_prior(clean, shown):
    """0.05^(1/n) [computed]. A second form with a uniform prior, 0.05^(1/(n + 1)), gives 0.90497 for 29 instead of
    0.90186 [read: codingace.net]: this is not it."""
    assert reliability_shown(clean, 0.95) == pytest.approx(shown, abs=5e-6)
    assert reliability_shown(29, 0.95) == pytest.approx(0.90186, abs=5e-6)


@pytest.mark.parametrize(("n", "three", "exact"), [(30, 0.1000, 0.0950), (60, 0.0500, 0.0487), (100, 0.0300, 0.0295)])
def test_rule_of_three_is_a_little_above_the_exact_bound(n, three, exact):
    """Rule of three 3/n [read: changkun.de, ch. 28]; exact 1 − 0.05^(1/n) [computed]."""
    upper = clopper_pearson(0, n, 0.95, "upper")[1]
    assert 3 / n == pytest.approx(three, abs=5e-5)
    assert upper == pytest.approx(exact, abs=5e-5)
    assert upper < 3 / n
