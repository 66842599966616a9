"""Short low spikes on a fast movement: found by their two edges, where a median is drawn along."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from station.measure.arrays import F64, I64
from station.measure.placement import greatest_of
from station.measure.spikes import departures, robust_line, sharp, usual_interval
from tests.measure.test_spikes_and_reversals import sweep

RATES = [125, 250, 1000]


def _found(t: I64, v: F64, least: float = 1.0) -> list[float]:
    every_ns = usual_interval(t)
    path, _ = departures(v, every_ns)
    counted = np.abs(v) < 90.0
    return [one.height for one in sharp(t, v, path, least, counted, every_ns)]


@pytest.mark.parametrize("rate_hz", RATES)
def test_low_spots_of_a_worn_track_are_measured_where_a_median_misses_them(rate_hz: int) -> None:
    """Drawn tracks: spots of 0.9 % every 2.5 %, 2.3 % high with either sign, passed at 100 % a second."""
    rng = np.random.default_rng(rate_hz)
    heights = []
    for _ in range(60):
        t, v = sweep(rate_hz)
        places, signs = 20.0 + 2.5 * np.arange(5), rng.choice([-1.0, 1.0], 5)
        for at, sign in zip(places, signs, strict=True):
            v = v + np.where(np.abs(v - at) < 0.45, 2.3 * sign, 0.0)
        heights += _found(t, v + 0.05 * rng.standard_normal(len(v)))
    assert len(heights) > 0.35 * 60 * 5 * min(1.0, 0.009 * rate_hz)  # spots beside hide some, polls pass over others
    assert np.median(heights) == pytest.approx(2.3, abs=0.1)


@pytest.mark.parametrize("rate_hz", RATES)
def test_neither_steps_nor_noise_nor_a_trembling_hand_are_sharp(rate_hz: int) -> None:
    rng = np.random.default_rng(5)
    t, v = sweep(rate_hz)
    noisy = v + 0.2 * rng.standard_normal(len(v))
    assert _found(t, np.where((noisy > 10.0) & (noisy < 22.0), 10.0, noisy), 2.0) == []
    assert _found(t, v + rng.uniform(-0.9, 0.9, len(v))) == []
    assert _found(t, v + 1.5 * np.sin(2 * np.pi * 9.0 * t / 1e9)) == []


def test_a_line_that_a_third_of_the_entries_do_not_follow() -> None:
    """Slope against SciPy's own Theil–Sen, level against what was drawn."""
    rng = np.random.default_rng(8)
    for _ in range(200):
        t = np.arange(30.0)
        v = 4.0 + 0.7 * t + 0.1 * rng.standard_normal(30)
        v[rng.choice(30, 9, replace=False)] += 15.0
        slope, level = robust_line(t, v)
        assert slope == pytest.approx(stats.theilslopes(v, t)[0], rel=1e-9)
        assert level + 14.5 * slope == pytest.approx(4.0 + 0.7 * 14.5, abs=1.0)


@pytest.mark.parametrize("count", [2, 3, 5, 8, 20, 60])
def test_the_greatest_of_alike_values_lies_as_far_above_their_mean(count: int) -> None:
    """Monte Carlo of what Blom's formula says."""
    drawn = np.random.default_rng(count).standard_normal((40_000, count)).max(axis=1)
    assert greatest_of(count) == pytest.approx(float(drawn.mean()), abs=0.03)
    assert greatest_of(1) == 0.0
