"""The shortest of several presses: against presses drawn tick by tick with a bouncing contact."""

from __future__ import annotations

import numpy as np
import pytest

from station.measure.shortest import shortest_uncertainty


def polled(rng: np.random.Generator, begin_ms: float, length_ms: float, period_ms: float) -> float:
    """Length that polls see of a contact that is open in every other fifth of a millisecond while it bounces."""
    bounce = min(rng.exponential(0.9), 5.0)
    polls = np.arange(0.0, begin_ms + length_ms + 2 * period_ms, period_ms)
    since = polls - begin_ms
    slot = (since / 0.2).astype(int)
    opened = rng.random(4000) < 0.5
    closed = (since >= 0.0) & (since < length_ms) & ~((since < bounce) & opened[np.clip(slot, 0, 3999)])
    first, last = np.flatnonzero(closed)[[0, -1]]
    return float(polls[last] + period_ms - polls[first])


@pytest.mark.parametrize("period_ms", [1.0, 4.0, 8.0])
@pytest.mark.parametrize("spread_ms", [2.0, 12.0])
def test_the_true_shortest_lies_within_u(period_ms: float, spread_ms: float) -> None:
    rng = np.random.default_rng(8)
    held = 0
    for _ in range(200):
        lengths = rng.normal(110.0, spread_ms, 31)
        seen = np.array([polled(rng, rng.uniform(10.0, 20.0), length, period_ms) for length in lengths])
        held += abs(seen.min() - lengths.min()) <= shortest_uncertainty(seen, period_ms)
    assert held >= 180


def test_one_press_has_the_uncertainty_of_its_two_ends() -> None:
    assert 8.0 * 0.75 <= shortest_uncertainty(np.array([90.0]), 8.0) <= 8.0
