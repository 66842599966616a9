"""Time-weighted moments, against statsmodels' weighted statistics and against the same signal sampled evenly."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.stats.weightstats import DescrStatsW

from station.measure import held

END_NS = 10_000_000


def signal(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Forty values at whole microseconds, each held until the next."""
    rng = np.random.default_rng(seed)
    t_ns = np.sort(rng.choice(np.arange(1_000, END_NS, 1_000), 40, replace=False)).astype(np.int64)
    t_ns[0] = 0
    return t_ns, rng.normal(3.0, 5.0, 40)


@pytest.mark.parametrize("seed", range(5))
def test_agrees_with_weighted_statistics_of_statsmodels(seed: int) -> None:
    """DescrStatsW with the holding times as weights (ddof 0); its quantile uses the same inverse of the weighted
    distribution except where it averages at a jump."""
    t_ns, values = signal(seed)
    hold = held.hold_s(t_ns, 0, END_NS)
    oracle = DescrStatsW(values, weights=hold, ddof=0)
    assert held.mean(values, hold) == pytest.approx(float(oracle.mean), rel=1e-12)
    assert held.std(values, hold) == pytest.approx(float(oracle.std), rel=1e-12)
    for share in (0.1, 0.5, 0.93):
        expected = float(oracle.quantile(share, return_pandas=False)[0])
        assert held.quantile(values, hold, share) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_agrees_with_the_plain_statistics_of_an_even_sampling(seed: int) -> None:
    t_ns, values = signal(seed)
    even = held.held_at(t_ns, values, held.grid_ns(0, END_NS, 1_000))
    hold = held.hold_s(t_ns, 0, END_NS)
    assert held.mean(values, hold) == pytest.approx(even.mean(), rel=1e-12)
    assert held.std(values, hold) == pytest.approx(even.std(), rel=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_greatest_window_mean_agrees_with_trying_every_window(seed: int) -> None:
    t_ns, values = signal(seed)
    even = held.held_at(t_ns, values, held.grid_ns(0, END_NS, 1_000))
    sums = np.convolve(even, np.ones(2_000), mode="valid") / 2_000
    best, begin_ns = held.best_mean(t_ns, values, 0, END_NS, 2_000_000)
    assert best == pytest.approx(sums.max(), rel=1e-9)
    assert held.window_mean(t_ns, values, begin_ns, begin_ns + 2_000_000) == pytest.approx(best, rel=1e-9)
