"""Noise: peak to peak without single flickers; tremor told from noise; the effective resolution."""

from __future__ import annotations

import numpy as np
import pytest

from station.measure.means import effective_step, measured_mean
from station.measure.noise import peak_to_peak, visits
from station.measure.tremor import hand_share

MS = 1_000_000


@pytest.mark.parametrize(
    ("values", "hold_ms", "expected"),
    [
        ([7, 7, 7], [5, 5, 5], 0),
        ([7, 8], [500, 500], 1),
        ([7, 8, 7], [500, 5, 500], 0),
        ([7, 8, 7, 8, 7], [90, 5, 90, 5, 90], 1),
        ([7, 30, 7, 8, 7, 8, 7], [50, 1, 50, 5, 50, 5, 50], 1),
        ([7, 9, 7, 5, 7], [50, 150, 50, 150, 50], 4),
        ([7, 9, 7, 5, 7], [50, 50, 50, 50, 50], 0),
    ],
    ids=[
        "a value that never changes",
        "one step for good",
        "one flicker to the next code",
        "two flickers",
        "one stray far away",
        "lasting visits both ways",
        "one short visit each way",
    ],
)
def test_peak_to_peak(values: list[float], hold_ms: list[float], expected: float) -> None:
    assert peak_to_peak(np.array(values, dtype=np.float64), np.array(hold_ms) / 1e3) == expected


def test_repeated_reports_of_one_value_are_one_visit() -> None:
    value, hold = visits(np.array([3.0, 3.0, 4.0, 3.0]), np.array([1.0, 2.0, 4.0, 8.0]))
    assert value.tolist() == [3.0, 4.0, 3.0]
    assert hold.tolist() == [3.0, 4.0, 8.0]


def test_peak_to_peak_of_white_noise_is_near_its_range() -> None:
    values = np.random.default_rng(1).standard_normal(3000)
    assert 5.5 < peak_to_peak(values, np.full(3000, 1e-3)) <= float(np.ptp(values))


@pytest.mark.parametrize("rate_hz", [125, 250, 1000])
def test_tremor_and_noise_differ_in_frequency(rate_hz: int) -> None:
    t = (np.arange(3 * rate_hz) / rate_hz * 1e9).astype(np.int64)
    noise = np.random.default_rng(2).standard_normal(len(t))
    tremor = np.sin(2 * np.pi * 9.0 * t / 1e9)
    assert hand_share(t, noise, 0, 3_000 * MS) < 0.35
    assert hand_share(t, tremor + 0.1 * noise, 0, 3_000 * MS) > 0.8


def test_a_constant_or_a_short_value_has_no_tremor() -> None:
    t = np.arange(3000, dtype=np.int64) * MS
    assert hand_share(t, np.zeros(3000), 0, 3_000 * MS) == 0.0
    assert hand_share(t, np.sin(t / 1e7), 0, 500 * MS) == 0.0


@pytest.mark.parametrize(
    ("codes", "expected"),
    [
        (np.arange(0, 4096), 1.0),
        (np.round(np.arange(0, 4096) * 65535 / 4095).astype(np.int64), 16.0),
        (np.array([0, 100, 200]), 1.0),
        (np.arange(0, 50) * 10_000_000, 10_000_000.0),
        (np.empty(0, dtype=np.int64), 1.0),
    ],
    ids=["every code", "12 bits in 16", "too few to tell", "32-bit codes", "nothing seen"],
)
def test_effective_step(codes: np.ndarray, expected: float) -> None:
    assert effective_step(codes, 1.0) == expected


def test_the_mean_of_a_silent_value_is_known_to_its_resolution() -> None:
    mean = measured_mean(np.array([0]), np.array([6.3]), 0, 3_000 * MS, 0.8)
    assert (mean.value, mean.rms, mean.n) == (6.3, 0.0, 1.0)
    assert mean.u == pytest.approx(0.8 / 12**0.5)
