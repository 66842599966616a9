"""Drift between the ends of a long stretch, against made-up series whose drift and noise are known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from station.measure.drift import drift, level

S = 1_000_000_000
T = np.arange(600, dtype=np.int64) * S
FIRST, LAST = T[:60], T[-60:]


def test_two_levels_by_hand() -> None:
    x, y = np.where(T < 300 * S, 1.0, 4.0), np.where(T < 300 * S, 0.0, 4.0)
    found = drift(T, (x, y), (0.012, 0.012), FIRST, LAST)
    assert found.distance == pytest.approx(5.0)
    assert found.farthest == pytest.approx(5.0)
    assert found.farthest_ns == 300 * S
    # JCGM 100, F.2.2.1: δ/√12 for each of the two levels, k = 2
    assert found.u_expanded == pytest.approx(2 * math.sqrt(2) * 0.012 / math.sqrt(12))


def test_a_trigger_has_one_axis() -> None:
    found = drift(T, (np.linspace(0.0, 10.0, 600),), (0.4,), FIRST, LAST)
    assert found.distance == pytest.approx(10.0 * 540 / 599)


def test_the_level_of_white_noise_scatters_as_its_uncertainty_says() -> None:
    rng = np.random.default_rng(7)
    means = [level(FIRST, rng.normal(0.0, 1.0, 60), FIRST, 0.0) for _ in range(400)]
    assert np.std([m.mean for m in means]) == pytest.approx(1.0 / math.sqrt(60), rel=0.12)
    assert np.mean([m.u for m in means]) == pytest.approx(1.0 / math.sqrt(60), rel=0.25)


@pytest.mark.parametrize("true", [0.0, 0.3, 3.0])
@pytest.mark.parametrize("phi", [0.0, 0.8], ids=["white", "slow"])
def test_the_true_drift_lies_within_u(true: float, phi: float) -> None:
    """400 sticks with noise of 0.25 %, white or with autocorrelation φ^k; the error of 400 trials is about 1 %."""
    rng = np.random.default_rng([11, int(10 * true), int(10 * phi)])
    held = 0
    for _ in range(400):
        noise = rng.normal(0.0, 0.25, (2, 600))
        for k in range(1, 600):
            noise[:, k] = phi * noise[:, k - 1] + math.sqrt(1 - phi * phi) * noise[:, k]
        bearing = rng.uniform(0.0, 2 * math.pi)
        moved = np.where(T >= 300 * S, true, 0.0)
        found = drift(T, (noise[0] + moved * math.cos(bearing), noise[1] + moved * math.sin(bearing)), (0.0, 0.0),
                      FIRST, LAST)  # fmt: skip
        held += abs(found.distance - true) <= found.u_expanded
    assert held / 400 >= 0.90
