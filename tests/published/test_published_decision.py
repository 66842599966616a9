"""The decision rule against ILAC-G8 and JCGM 106, and the time resolution of a polled contact.

Marks: read = seen in a public copy; from memory = recalled, not looked up; computed = recomputed here.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from station.measure.contacts import poll_period_ns
from station.measure.decision import decide
from station.measure.uncertainty import duration, expanded

MS = 1_000_000

# Own example in the manner of ILAC-G8:09/2019 §4.2.3: limit 8 %, u 0.4, U 0.8, so the acceptance limit is 7.2.
# Conformance probabilities [computed]; ILAC calls the two middle zones conditional pass and conditional fail.
GUARD_BAND = {
    "6.9 is inside the acceptance limit: pass, p_c 0.99702": (6.9, "pass", 0.99702),
    "7.5 is inside by less than U: borderline, p_c 0.89435": (7.5, "borderline", 0.89435),
    "8.5 is outside by less than U: borderline, p_c 0.10565": (8.5, "borderline", 0.10565),
    "9.1 is outside by more than U: fail": (9.1, "fail", 1.0 - stats.norm.cdf(1.1 / 0.4)),
}


@pytest.mark.parametrize(("value", "outcome", "conforms"), GUARD_BAND.values(), ids=GUARD_BAND)
def test_guard_band_example(value, outcome, conforms):
    assert decide(value, 0.8, 8.0, 20.0, "<=") == outcome
    assert stats.norm.cdf((8.0 - value) / 0.4) == pytest.approx(conforms, abs=5e-6)


def test_a_pass_at_the_acceptance_limit_is_wrong_in_at_most_2_3_percent():
    """ILAC-G8 Table 1, w = U: ≤ 2.5 % [from memory]; Φ(−2) = 2.275 % [computed]. Simulated with the rule itself."""
    rng = np.random.default_rng(8)
    u, limit = 0.5, 5.0
    measured = limit - 2 * u
    true = measured + u * rng.standard_normal(200_000)
    assert decide(measured, 2 * u, limit, 10.0, "<=") == "pass"
    assert stats.norm.cdf(-2.0) == pytest.approx(0.02275, abs=5e-6)
    assert (true > limit).mean() == pytest.approx(0.02275, abs=0.0015)


@pytest.mark.parametrize(
    ("width", "risk"), [(0.0, 0.5), (0.83, 0.0485), (1.0, 0.02275), (1.5, 0.00135)], ids=lambda x: f"{x}"
)
def test_risks_for_other_guard_bands(width, risk):
    """w in units of U, k = 2: Φ(−2w) [computed]; ILAC-G8 Table 1 states ≤ 50, ≤ 5, ≤ 2.5, < 0.16 % [from memory]."""
    assert stats.norm.cdf(-2.0 * width) == pytest.approx(risk, abs=5e-5)


def test_conformance_probability_example_of_jcgm_106():
    """JCGM 106:2012 §7.4: y = 13.6, u = 1.8, interval 12.5…16.3 [inputs read: metrologyrules.com]; result [computed].
    Our rule, asked for each limit, finds it borderline at both."""
    below, above = stats.norm.cdf((12.5 - 13.6) / 1.8), 1.0 - stats.norm.cdf((16.3 - 13.6) / 1.8)
    assert (below, above, 1 - below - above) == pytest.approx((0.27056, 0.06681, 0.66263), abs=5e-6)
    assert decide(13.6, 3.6, 16.3, 99.0, "<=") == decide(13.6, 3.6, 12.5, 0.0, ">=") == "borderline"


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
def test_share_of_brief_dropouts_that_polling_sees(length_ms, period_ms, seen):
    """A dropout of length d is seen in one poll of period T with probability min(1, d/T) [computed]."""
    rng = np.random.default_rng(3)
    phase = rng.random(100_000) * period_ms  # from the dropout's start to the next poll
    assert (phase < length_ms).mean() == pytest.approx(seen, abs=0.006)


def test_23_dropouts_of_1_ms_are_needed_to_see_one_at_125_hz():
    """ln 0.05 / ln 0.875 = 22.4 [computed]."""
    assert math.ceil(math.log(0.05) / math.log(1 - 1 / 8)) == 23


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
    assert poll_period_ns(t_ns) == pytest.approx(period_ms * MS, rel=0.02)
