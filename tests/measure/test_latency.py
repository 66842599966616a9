"""What a movement waits: against the wait of drawn moments on long made-up links, counted one by one."""

from __future__ import annotations

import numpy as np
import pytest

from station.measure.arrays import F64
from station.measure.latency import latency, quantile, wait_mean, wait_most

Rng = np.random.Generator


def regular(rng: Rng, n: int) -> F64:
    return 4.0 + rng.uniform(-0.2, 0.2, n)


def dropped(rng: Rng, n: int) -> F64:
    return 4.0 * rng.geometric(0.95, n)


def by_chance(rng: Rng, n: int) -> F64:
    return rng.exponential(4.0, n)


def stalling(rng: Rng, n: int) -> F64:
    return np.where(rng.random(n) < 0.02, 40.0, 4.0)


def dropped_in_runs(rng: Rng, n: int) -> F64:
    return 4.0 * np.where(rng.random(n) < 0.02, 1.0 + rng.geometric(0.25, n), 1.0)


def counted(intervals: F64, rng: Rng) -> tuple[float, float]:
    """Mean and 99th percentile of the wait of moments drawn on the time line."""
    reports = np.cumsum(intervals)
    moments = rng.uniform(0.0, reports[-1], 1_000_000)
    waits = reports[np.searchsorted(reports, moments)] - moments
    return float(waits.mean()), float(np.quantile(waits, 0.99))


LINKS = (regular, dropped, by_chance, stalling, dropped_in_runs)


@pytest.mark.parametrize("link", LINKS)
def test_the_wait_is_that_of_drawn_moments(link) -> None:
    rng = np.random.default_rng(1)
    intervals = link(rng, 200_000)
    mean, most = counted(intervals, rng)
    assert wait_mean(intervals).value == pytest.approx(mean, rel=0.01)
    assert wait_most(intervals).value == pytest.approx(most, rel=0.01)


@pytest.mark.parametrize("link", LINKS)
def test_the_uncertainty_holds_the_truth_of_the_link(link) -> None:
    """300 tries of 2,000 reports each: at least 90 % (simulation error 1.3 %)."""
    rng = np.random.default_rng(2)
    long = link(rng, 400_000)
    mean, most = counted(long, rng)
    truth = (float(np.quantile(long, 0.99)), mean, most)
    held = np.zeros(3)
    for _ in range(300):
        found = latency(link(rng, 2000))
        assert found is not None
        for k, one in enumerate((found.p99, found.wait_mean, found.wait_most)):
            held[k] += abs(one.value - truth[k]) <= one.uncertainty + 0.005  # and what the drawn truth is off by
    assert (held / 300 >= 0.88).all(), held / 300


@pytest.mark.parametrize(
    ("intervals", "mean", "most"),
    [
        pytest.param([8.0] * 100, 4.0, 7.92, id="alike: half of one, and all but a hundredth of it"),
        pytest.param([2.0, 14.0] * 100, 6.25, 13.84, id="(4 + 196)/2 over 2 · 8; (14 − w)/2 = 0.08"),
        pytest.param([1.0, 1.0, 8.0] * 100, 3.3, 7.9, id="66/3 over 2 · 10/3; (8 − w)/3 = 0.1/3"),
    ],
)
def test_worked_by_hand(intervals: list[float], mean: float, most: float) -> None:
    """E[I²]/2E[I] and E[(I − w)⁺] = 0.01 E[I] (computed by hand)."""
    assert wait_mean(np.array(intervals)).value == pytest.approx(mean)
    assert wait_most(np.array(intervals)).value == pytest.approx(most)


def test_by_chance_the_wait_is_a_whole_interval_on_the_average() -> None:
    """A Poisson process has no memory: the mean wait is the mean interval, not half of it (Feller 2, I.4)."""
    assert wait_mean(np.random.default_rng(3).exponential(5.0, 100_000)).value == pytest.approx(5.0, rel=0.02)


def test_a_quantile_between_two_ranks() -> None:
    """Of 0…99 the median is 49.5; 50 ± 2·5 are the ranks 40 and 60."""
    found = quantile(np.random.default_rng(4).permutation(100).astype(float), 0.5)
    assert found.value == 49.5
    assert found.uncertainty == pytest.approx(10.5, abs=5.0)


def test_of_fewer_than_two_intervals_nothing_is_known() -> None:
    assert latency(np.empty(0)) is None
    assert latency(np.array([4.0])) is None
