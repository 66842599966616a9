"""When a value arrives at a level through noise, against drawn returns whose moment is known by formula."""

from __future__ import annotations

import math

import numpy as np
import pytest

from station.measure.arrival import Noise, arrival, movement_noise, noise_of

TAU_MS, LEVEL = 40.0, 3.0
ARRIVES_MS = TAU_MS * math.log(100.0 / LEVEL)
"""an exponential return from 100 %"""


def drawn(rng: np.random.Generator, period_ms: float, noise: float, step: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """One return as it is looked at from a random moment on: times in ns, values in %."""
    t_ms = np.arange(0.0, 12.0 * TAU_MS, period_ms) + period_ms * rng.random()
    values = 100.0 * np.exp(-t_ms / TAU_MS) + noise * rng.standard_normal(len(t_ms))
    return (t_ms * 1e6).astype(np.int64), np.round(values / step) * step if step else values


def still(rng: np.random.Generator, noise: float, period_ms: float = 1.0) -> np.ndarray:
    """Seen once a millisecond, whatever the period."""
    looked = np.floor(np.arange(400) / max(period_ms, 1.0)).astype(int)
    values = noise * rng.standard_normal(400)[looked]
    return np.asarray(values - values.mean())


@pytest.mark.parametrize(("period_ms", "noise"), [(1.0, 0.3), (1.0, 0.1), (0.25, 0.3), (4.0, 0.3)])
def test_a_noisy_arrival_is_neither_early_nor_late(period_ms: float, noise: float) -> None:
    """Seen late by half a period on the mean, and by τσ²/2L² since the way is curved (Taylor), and the scatter is what
    `u_ns` and the even part of a look say. The first report at the level is early by a good part of the noise over the
    speed."""
    rng = np.random.default_rng(11)
    errors, first, stated = [], [], []
    for _ in range(400):
        t_ns, values = drawn(rng, period_ms, noise)
        known = noise_of([still(rng, noise, period_ms)], np.zeros(1), 0.0)
        found = arrival(t_ns, values, LEVEL, 0, known, 0.0)
        assert found is not None
        errors.append(found.ns / 1e6 - period_ms / 2.0 - ARRIVES_MS)
        first.append(t_ns[found.index] / 1e6 - period_ms / 2.0 - ARRIVES_MS)
        stated.append(math.hypot(found.u_ns / 1e6, period_ms / math.sqrt(12.0)))
    scatter, u = float(np.std(errors)), float(np.sqrt(np.mean(np.square(stated))))
    by_curve = TAU_MS * noise**2 / (2.0 * LEVEL**2)
    assert abs(float(np.mean(errors)) - by_curve) < 0.2 * scatter
    faster = max(1.0 / period_ms, 1.0)  # than noise is looked at, which then seems to last longer than it does
    assert 0.85 * scatter < u < 1.5 * scatter * math.sqrt(faster)
    if period_ms <= 1.0 and noise >= 0.3:
        assert np.mean(first) < -1.0 * scatter


def test_the_edge_of_a_code_is_no_level() -> None:
    """Codes of 0.4 %, no noise: the value is seen at 2.8 % once it is below 3.0 ± 0.2, and 3 % is still to be met."""
    rng = np.random.default_rng(12)
    for step in (0.4, 0.7, 1.1):
        errors = []
        for _ in range(60):
            t_ns, values = drawn(rng, 0.25, 0.0, step)
            found = arrival(t_ns, values, LEVEL, 0, Noise(0.0), step)
            assert found is not None
            errors.append(found.ns / 1e6 - 0.125 - ARRIVES_MS)
        assert abs(float(np.mean(errors))) < 0.12 * TAU_MS * step / LEVEL + 0.1


def test_means_of_noise_scatter_as_its_slow_part_lets_them() -> None:
    rng = np.random.default_rng(13)
    white = noise_of([still(rng, 0.2) for _ in range(20)], np.zeros(20), 0.0)
    assert white.over(9e6) == pytest.approx(0.2 / 3.0, rel=0.1)
    assert white.over(0.5e6) == pytest.approx(0.2, rel=0.05)
    assert noise_of([np.empty(0)], np.zeros(1), 0.3) == Noise(0.3)


def test_noise_on_a_movement() -> None:
    rng = np.random.default_rng(14)
    even = np.linspace(-20.0, 120.0, 2000)
    values = np.clip(even + 0.25 * rng.standard_normal(2000), 0.0, 100.0)
    assert movement_noise(values, 0.0, 100.0) == pytest.approx(0.25, rel=0.1)
    assert movement_noise(np.clip(even, 0.0, 100.0), 0.0, 100.0) < 1e-6


def test_a_value_that_never_comes_down_arrives_nowhere() -> None:
    t_ns = np.arange(50, dtype=np.int64) * 1_000_000
    assert arrival(t_ns, np.full(50, 20.0), LEVEL, 0, Noise(0.1), 0.0) is None
