"""Wald's sequential test against published plans, a published chart, and exact calculation.

Marks: read = seen in a public copy; from memory = recalled, not looked up; computed = worked out from the formula, so
such a row finds slips and is no outside check (`recomputed`).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from station.measure.binomial import binomial_cdf
from station.measure.sequential import Plan, characteristic, run

NIST = Plan(0.01, 0.10, 0.05, 0.10, stop_at=10_000)
SUGGESTED = Plan(0.02, 0.15, 0.05, 0.10, stop_at=10_000)
OURS = Plan()

# plan, h_accept, h_reject, slope, and half a unit of the last digit of the two h and of the slope
LINES = {
    "NIST e-Handbook §6.2.6 [constants from memory]": (NIST, 0.939, 1.205, 0.0397, 5e-4, 5e-5),
    "NIST e-Handbook §6.2.6 [computed]": (NIST, 0.93886, 1.20538, 0.039747, 5e-6, 5e-7),
    "Montgomery, Introduction to SQC [from memory]": (Plan(0.01, 0.06, 0.05, 0.10), 1.22, 1.57, 0.028, 5e-3, 5e-4),
    "Montgomery, SQC [computed]": (Plan(0.01, 0.06, 0.05, 0.10), 1.22115, 1.56780, 0.028111, 5e-6, 5e-7),
    "Wald 1947 [inputs from memory, computed]": (Plan(0.10, 0.30, 0.02, 0.03), 2.583, 2.875, 0.1862, 5e-4, 5e-5),
    "CRAN Dodge, SeqDesignBinomial [inputs read, computed]": (
        Plan(0.01, 0.04, 0.05, 0.05), 2.07784, 2.07784, 0.021715, 5e-6, 5e-7,
    ),
    "two and fifteen percent [computed]": (SUGGESTED, 1.04361, 1.33986, 0.065972, 5e-6, 5e-7),
    "the light press: one and ten percent [computed]": (OURS, 1.227926, 1.227926, 0.039747, 5e-7, 5e-7),
}  # fmt: skip


@pytest.mark.parametrize(
    ("plan", "accept", "reject", "slope", "h_tol", "slope_tol"),
    [pytest.param(*row, id=i, marks=[pytest.mark.recomputed] if "computed]" in i else []) for i, row in LINES.items()],
)
def test_lines_of_published_plans(plan, accept, reject, slope, h_tol, slope_tol):
    assert (plan.h_accept, plan.h_reject) == pytest.approx((accept, reject), abs=h_tol)
    assert plan.slope == pytest.approx(slope, abs=slope_tol)


def test_nist_table_of_acceptance_and_rejection_numbers():
    """Table n = 0…100 of the `reliability` documentation, "Sequential sampling chart", after NIST §6.2.6 [read]."""
    n = range(1, 101)
    reject = [NIST.reject_at(i) if NIST.reject_at(i) <= i else 10**6 for i in n]
    accept = [NIST.accept_at(i) for i in n]
    first_accept = {number: i for i, number in reversed(list(zip(n, accept, strict=True)))}
    first_reject = {number: i for i, number in reversed(list(zip(n, reject, strict=True)))}
    assert first_reject == {10**6: 1, 2: 2, 3: 20, 4: 46, 5: 71, 6: 96}
    assert first_accept == {-1: 1, 0: 24, 1: 49, 2: 74, 3: 100}


@pytest.mark.recomputed
def test_two_and_fifteen_percent_table():
    """[computed]: reject ≥ 2 for n = 2–10, ≥ 3 for 11–25, ≥ 4 from 26; accept 0 from 16, 1 from 31."""
    assert [SUGGESTED.reject_at(n) for n in (2, 10, 11, 25, 26)] == [2, 2, 3, 3, 4]
    assert [SUGGESTED.accept_at(n) for n in (15, 16, 30, 31)] == [-1, 0, 0, 1]


def test_published_sequence_ends_in_rejection_at_the_38th():
    """Faults at samples 14, 32 and 38 of the same documentation [read]: at 24 there is one fault, so no acceptance."""
    faults = [i in (14, 32, 38) for i in range(1, 101)]
    assert run(NIST, faults) == ("reject", 38)
    assert run(NIST, faults[:37]) == ("undecided", 37)


# true share, P(accept), P(reject), mean number of presses: exact, without truncation [computed]
EXACT = [
    (NIST, 0.001, 0.99982, 0.00018, 24.604),
    (NIST, 0.01, 0.97795, 0.02205, 30.213),
    (NIST, 0.03, 0.76869, 0.23131, 38.766),
    (NIST, 0.05, 0.46886, 0.53114, 37.123),
    (NIST, 0.10, 0.09958, 0.90042, 22.369),
    (NIST, 0.20, 0.00483, 0.99517, 10.352),
    (SUGGESTED, 0.02, 0.97237, 0.02763, 21.408),
    (SUGGESTED, 0.15, 0.09953, 0.90047, 16.575),
]


@pytest.mark.recomputed
@pytest.mark.parametrize(
    ("plan", "p", "accept", "reject", "mean"), EXACT, ids=[f"p0 {e[0].p0}, true share {e[1]}" for e in EXACT]
)
def test_exact_operating_characteristic(plan, p, accept, reject, mean):
    found = characteristic(plan, p, truncated=False)
    assert (found.accept, found.reject) == pytest.approx((accept, reject), abs=5e-6)
    assert found.mean_presses == pytest.approx(mean, abs=5e-4)
    assert found.undecided < 1e-11


def test_exact_characteristic_against_every_possible_sequence_of_twelve():
    """An oracle that shares no code with the dynamic programme: all 2¹² sequences, weighted."""
    plan, p = Plan(0.05, 0.40, 0.10, 0.10, stop_at=12), 0.17
    totals = {"accept": 0.0, "reject": 0.0, "undecided": 0.0}
    mean = 0.0
    for number in range(2**12):
        faults = [bool(number >> i & 1) for i in range(12)]
        m, verdict, at = 0, "undecided", 12
        for n, fault in enumerate(faults, 1):
            m += fault
            if m >= math.ceil(plan.slope * n + plan.h_reject):
                verdict, at = "reject", n
                break
            if m <= math.floor(plan.slope * n - plan.h_accept):
                verdict, at = "accept", n
                break
        weight = p ** sum(faults) * (1 - p) ** (12 - sum(faults))
        totals[verdict] += weight
        mean += weight * at
    found = characteristic(plan, p)
    assert {"accept": found.accept, "reject": found.reject, "undecided": found.undecided} == pytest.approx(totals)
    assert found.mean_presses == pytest.approx(mean)


@pytest.mark.recomputed
def test_light_press_plan_accepts_first_at_31_clean_presses():
    """[computed] from Wald's formulas; 31 clean presses are also what the median sound button needs."""
    assert OURS.accept_at(30) == -1
    assert OURS.accept_at(31) == 0
    assert OURS.presses_to_accept(0) == 31
    assert run(OURS, [False] * 40) == ("accept", 31)
    assert characteristic(OURS, 0.01).median_presses == 31


@pytest.mark.recomputed
@pytest.mark.parametrize(
    ("plan", "p", "approximately"),
    [(NIST, 0.01, 27.96), (NIST, 0.10, 16.45), (SUGGESTED, 0.02, 20.11), (SUGGESTED, 0.15, 13.11),
     (OURS, 0.01, 37.15), (OURS, 0.10, 18.34)],
)  # fmt: skip
def test_walds_approximation_of_the_mean_lies_below_the_exact_one(plan, p, approximately):
    """Wald's approximation neglects the excess over the line [computed from his formula, 1947]."""
    k = math.log(plan.p1 * (1 - plan.p0) / (plan.p0 * (1 - plan.p1)))
    up, down = plan.h_reject * k, -plan.h_accept * k
    accepted = 1 - plan.alpha if p == plan.p0 else plan.beta
    z = p * math.log(plan.p1 / plan.p0) + (1 - p) * math.log((1 - plan.p1) / (1 - plan.p0))
    walds = (accepted * down + (1 - accepted) * up) / z
    assert walds == pytest.approx(approximately, abs=5e-3)
    assert characteristic(plan, p, truncated=False).mean_presses > walds


@pytest.mark.parametrize("plan", [NIST, SUGGESTED, OURS, Plan(0.05, 0.2, 0.01, 0.1), Plan(0.001, 0.02, 0.1, 0.02)])
def test_realised_risks_keep_walds_bounds(plan):
    """α′ ≤ α/(1 − β), β′ ≤ β/(1 − α), α′ + β′ ≤ α + β [Wald 1947, from memory]."""
    alpha = characteristic(plan, plan.p0, truncated=False).reject
    beta = characteristic(plan, plan.p1, truncated=False).accept
    assert alpha <= plan.alpha / (1 - plan.beta)
    assert beta <= plan.beta / (1 - plan.alpha)
    assert alpha + beta <= plan.alpha + plan.beta


def test_realised_risks_of_the_light_press_are_five_percent_at_most():
    assert characteristic(OURS, OURS.p0).reject <= 0.05
    assert characteristic(OURS, OURS.p1).accept <= 0.05


def test_simulated_presses_agree_with_the_exact_characteristic():
    """Monte Carlo with the program's own rule; five standard errors."""
    rng, n = np.random.default_rng(20), 4000
    expected = characteristic(OURS, 0.03)
    verdicts = [run(OURS, rng.random(60) < 0.03)[0] for _ in range(n)]
    # run() may turn an acceptance into a rejection when more presses follow; here that is rare but counted for
    accepted = verdicts.count("accept") / n
    assert accepted == pytest.approx(expected.accept, abs=5 * math.sqrt(0.25 / n))


@pytest.mark.parametrize(
    ("c", "n", "p", "accepted"),
    [
        (0, 5, 0.05, 0.77378),
        (0, 8, 0.10, 0.43047),
        (1, 13, 0.05, 0.86458),
        (1, 20, 0.10, 0.39175),
        (2, 32, 0.05, 0.78611),
    ],
)
def test_single_sampling_plans_as_a_cross_check_of_the_binomial(c, n, p, accepted):
    """Operating characteristic of MIL-STD-105E single plans, binom.cdf(c; n, p) [computed]."""
    assert binomial_cdf(c, n, p) == pytest.approx(accepted, abs=5e-6)
