"""The link's period, found again from drawn arrival times: on change, in bursts, at periods of other links."""

from __future__ import annotations

import numpy as np
import pytest

from station.measure.arrays import F64
from station.measure.period import link_period_ns, period_ns, time_weighted_median

MS = 1_000_000
PERIODS = (1.0, 2.0, 4.0, 7.5, 8.0, 10.0, 11.25, 12.5, 15.0, 16.0, 20.0, 30.0)


def _found(rng: np.random.Generator, times_ms: F64) -> float | None:
    """Period in ms of arrivals by a clock that is wrong by some 30 ppm, each late by some 40 µs."""
    late = np.abs(rng.normal(0.0, 0.04, len(times_ms)))
    t_ns = np.sort((times_ms * (1.0 + rng.normal(0.0, 30e-6)) + late) * MS).astype(np.int64)
    found = link_period_ns(t_ns)
    return None if found is None else found / MS


@pytest.mark.parametrize("period_ms", PERIODS)
def test_while_something_moves_a_device_on_change_leaves_out_reports(period_ms: float) -> None:
    rng = np.random.default_rng(1)
    for moving in (0.4, 0.6, 0.9):
        times = period_ms * np.cumsum(rng.geometric(moving, 300))
        assert _found(rng, times) == pytest.approx(period_ms, rel=0.02)


@pytest.mark.parametrize("period_ms", PERIODS)
def test_presses_alone_show_the_period(period_ms: float) -> None:
    rng = np.random.default_rng(2)
    times = period_ms * np.cumsum(rng.integers(round(40 / period_ms), round(300 / period_ms) + 2, 80))
    assert _found(rng, times) == pytest.approx(period_ms, rel=0.02)


@pytest.mark.parametrize("on_change", [False, True], ids=["all the time", "on change"])
@pytest.mark.parametrize("period_ms", [p for p in PERIODS if p >= 4.0])
def test_the_reports_of_a_burst_share_one_moment(period_ms: float, on_change: bool) -> None:
    rng = np.random.default_rng(3)
    bursts = period_ms * (np.cumsum(rng.geometric(0.5, 300)) if on_change else np.arange(300))
    times = (bursts[:, None] + np.array([0.0, 0.3, 0.6])).ravel()
    assert _found(rng, times) == pytest.approx(period_ms, rel=0.02)


def test_the_gap_of_a_random_moment() -> None:
    """Gaps of 1, 1 and 8: eight tenths of all moments lie in the long one."""
    assert time_weighted_median(np.array([1.0, 1.0, 8.0])) == 8.0
    assert time_weighted_median(np.array([4.0, 4.0, 4.0])) == 4.0


def test_without_a_period_the_closest_reports_stand_in() -> None:
    t_ns = (np.cumsum(np.random.default_rng(4).uniform(40, 400, 60)) * MS).astype(np.int64)
    assert link_period_ns(t_ns) is None
    assert 40 * MS < period_ns(t_ns) < 200 * MS
    assert period_ns(t_ns[:1]) == 0.0
