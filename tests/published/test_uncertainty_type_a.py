"""Standard and expanded uncertainty, against the worked examples of JCGM 100:2008 (the GUM)."""

from __future__ import annotations

import numpy as np
import pytest

from station.measure.uncertainty import combined, duration, expanded, resolution, type_a

TABLE_1 = np.array(
    [
        (96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07),
        (100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72),
    ]
).ravel()
"""JCGM 100 §4.4.3, Table 1: twenty temperatures in °C (data from memory, mean and s recomputed)"""


def test_type_a_of_table_1() -> None:
    """Mean 100.145, s 1.489, u 0.333 (§4.4.3)."""
    s = float(TABLE_1.std(ddof=1))
    assert TABLE_1.mean() == pytest.approx(100.145, abs=5e-4)
    assert s == pytest.approx(1.489, abs=5e-4)
    assert type_a(s, len(TABLE_1)) == pytest.approx(0.333, abs=5e-4)


def test_resolution_is_0_29_of_a_step() -> None:
    """F.2.2.1: u = 0.29 δx, variance δ²/12."""
    assert resolution(1.0) == pytest.approx(0.288675, abs=1e-6)
    assert round(resolution(1.0), 2) == 0.29


def test_resolution_is_the_standard_deviation_of_rounding() -> None:
    values = np.random.default_rng(1).uniform(0, 100, 400_000)
    assert (np.round(values / 0.7) * 0.7 - values).std() == pytest.approx(resolution(0.7), rel=0.01)


def test_a_rectangular_half_width() -> None:
    """§4.3.7: a/√3 = 0.57735 a; a resolution δ has the half-width δ/2."""
    assert resolution(2.0) == pytest.approx(0.57735, abs=1e-5)


def test_a_duration_between_two_polls_has_a_triangular_error() -> None:
    """§4.3.9: a/√6 = 0.408248 a for a triangle of half-width a; here a is the polling interval."""
    assert duration(1.0) == pytest.approx(0.408248, abs=1e-6)
    rng = np.random.default_rng(2)
    start, length = rng.uniform(0, 8, 400_000), rng.uniform(30, 300, 400_000)
    seen = np.ceil((start + length) / 8) * 8 - np.ceil(start / 8) * 8
    assert (seen - length).std() == pytest.approx(duration(8.0), rel=0.01)
    assert (seen - length).mean() == pytest.approx(0.0, abs=0.02)


def test_independent_contributions_add_in_squares() -> None:
    """JCGM 100, 5.1.2, by hand: √(0.3² + 0.2²) = √0.13 = 0.360555."""
    assert combined(0.3, 0.2) == pytest.approx(0.360555, abs=1e-6)


def test_coverage_factor() -> None:
    """§6.3.3: k = 2 for about 95 %."""
    assert expanded(0.333) == pytest.approx(0.666)
