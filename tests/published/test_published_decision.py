"""The decision rule against ILAC-G8 and JCGM 106, and the time resolution of a polled contact.

Marks: read = seen in a public copy; from memory = recalled, not looked up; computed = recomputed here.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from station.measure.binomial import presses_needed
from station.measure.contacts import closures
from station.measure.decision import decide
from station.measure.period import link_period_ns
from station.measure.uncertainty import duration, expanded

MS = 1_000_000

U, LIMIT = 0.5, 5.0
"""a standard uncertainty and a limit to try the rule with"""


def acceptance_limit(expanded_uncertainty: float) -> float:
    """The greatest value that our rule lets pass, by halving."""
    low, high = 0.0, LIMIT
    for _ in range(60):
        middle = (low + high) / 2
        passes = decide(middle, expanded_uncertainty, LIMIT, 99.0, "<=") == "pass"
        low, high = (middle, high) if passes else (low, middle)
    return low


@pytest.mark.parametrize(
    ("width", "most"),
    [(0.0, 0.50), (0.83, 0.05), (1.0, 0.025), (1.5, 0.0016)],
    ids=["w = 0: ≤ 50 %", "w = 0.83 U: ≤ 5 %", "w = U: ≤ 2.5 %", "w = 1.5 U: < 0.16 %"],
)
def test_risks_of_guard_bands(width, most):
    """ILAC-G8:09/2019, Table 1 [w = U: read in laboratories' published decision rules; the others from memory]. The
    guard band of our rule is the uncertainty it is given: here w, with a true error of standard deviation U/2."""
    risk = stats.norm.cdf((acceptance_limit(width * 2 * U) - LIMIT) / U)
    assert 0.6 * most < risk <= most


def test_a_pass_at_the_acceptance_limit_is_wrong_in_at_most_2_5_percent():
    """ILAC-G8:09/2019, Table 1, w = U [read: a laboratory's published decision rule]; drawn errors."""
    rng = np.random.default_rng(8)
    measured = acceptance_limit(2 * U)
    true = measured + U * rng.standard_normal(200_000)
    assert decide(measured, 2 * U, LIMIT, 10.0, "<=") == "pass"
    assert 0.02 < (true > LIMIT).mean() < 0.025


def test_what_jcgm_106_finds_conforming_with_66_percent_is_borderline():
    """JCGM 106:2012 §7.4: y = 13.6, u = 1.8, tolerance 12.5…16.3 [read: metrologyrules.com]: a probability of
    conformity of 0.66, far from the 0.977 that a pass of ours claims and from the 0.023 of a fail."""
    expanded_u = 2 * 1.8
    assert decide(13.6, expanded_u, 16.3, 99.0, "<=") == decide(13.6, expanded_u, 12.5, 0.0, ">=") == "borderline"


@pytest.mark.parametrize(
    ("value", "outcome"), [(5.30, "borderline"), (5.29, "borderline"), (5.00, "pass"), (4.38, "borderline")]
)
def test_vbus_is_judged_within_usb_2_0(value, outcome):
    """4.40 V is the least at a low-power port, 5.25 V the most (USB 2.0 §7.2) [read: ibex.tech, digest of §7.2]."""
    u = 0.06
    verdicts = {decide(value, u, 4.40, 4.20, ">="), decide(value, u, 5.25, 5.50, "<=")}
    assert outcome in verdicts
    assert "fail" not in verdicts


@pytest.mark.parametrize(("length_ms", "period_ms", "seen"), [(1, 8, 0.125), (4, 8, 0.5), (8, 8, 1.0), (12, 8, 1.0)])
def test_share_of_brief_dropouts_that_are_found_in_a_polled_contact(length_ms, period_ms, seen):
    """A dropout of length d falls on a poll of period T with probability min(1, d/T) [analytic]: then the contact has
    two closures, else one."""
    polls = np.arange(0, 400 * MS, period_ms * MS, dtype=np.int64)
    phases = (np.arange(400) + 0.5) / 400 * period_ms * MS
    found = [
        len(closures(polls, (polls < 200 * MS + phase) | (polls >= 200 * MS + phase + length_ms * MS), 400 * MS)) == 2
        for phase in phases
    ]
    assert np.mean(found) == pytest.approx(seen, abs=0.003)


def test_23_dropouts_of_1_ms_are_needed_to_see_one_at_125_hz():
    """A dropout that polling sees one time in eight: ln 0.05 / ln 0.875 = 22.4 [worked by hand], so 23."""
    assert presses_needed(1 - 1 / 8, 0.95) == 23


@pytest.mark.parametrize("period_ms", [1.0, 8.0])
def test_a_polled_duration_has_a_triangular_error_of_u_t_over_root_6(period_ms):
    """JCGM 100:2008 4.3.9: half-width a gives a/√6 = 0.408248 a [from memory, computed]."""
    rng = np.random.default_rng(4)
    start, length = rng.random(200_000) * period_ms, 37.3
    polled = (np.ceil((start + length) / period_ms) - np.ceil(start / period_ms)) * period_ms
    both_random = rng.random(200_000) * period_ms - rng.random(200_000) * period_ms
    assert duration(period_ms) == pytest.approx(0.408248 * period_ms, rel=1e-5)
    assert both_random.std() == pytest.approx(duration(period_ms), rel=0.01)
    assert np.mean(np.abs(polled - length) <= expanded(duration(period_ms))) > 0.8


# USB 2.0 §9.6.6, Table 9-13: full speed n ms, high speed 2^(n − 1) · 125 µs [read: Microchip 9.3.6.22, mailing lists]
POLLING = {
    "full speed, n = 8": 8.0,
    "full speed, n = 10": 10.0,
    "full speed, n = 1": 1.0,
    "high speed, n = 6": 2 ** (6 - 1) * 0.125,
    "high speed, n = 4": 2 ** (4 - 1) * 0.125,
    "high speed, n = 1": 2 ** (1 - 1) * 0.125,
}


@pytest.mark.parametrize("on_change", [False, True], ids=["reports all the time", "reports on change"])
@pytest.mark.parametrize("period_ms", POLLING.values(), ids=POLLING)
def test_polling_periods_of_usb_are_found_again(period_ms, on_change):
    rng = np.random.default_rng(5)
    polls = np.arange(1, 40_000)
    if on_change:
        gaps = rng.integers(round(40 / period_ms), round(300 / period_ms), 80)
        polls = np.cumsum(gaps)
    t_ns = (polls * period_ms * MS + rng.normal(0, 0.01 * MS, len(polls))).astype(np.int64)
    assert link_period_ns(t_ns) == pytest.approx(period_ms * MS, rel=0.02)
