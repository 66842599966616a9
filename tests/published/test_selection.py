"""What selection does to the least of many: against order statistics of the normal distribution and drawn rolls."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from station.measure.arrays import F64
from station.measure.rail import on_rail
from station.measure.sectors import SECTORS, least_reach, noise_draws, roll, selected


def _expected_greatest(n: int) -> float:
    """Expected greatest of n standard normal values, ∫ n x φ(x) Φ(x)^(n−1) dx, by quadrature (scipy); 1.4236 for
    n = 8 (Teichroew, Ann. Math. Stat. 27, 1956, 410; from memory)."""
    return float(quad(lambda x: n * x * norm.pdf(x) * norm.cdf(x) ** (n - 1), -8.0, 8.0)[0])


def test_shift_of_the_least_of_alike_sectors() -> None:
    """All 72 alike with independent noise: the least lies low by 2.39 standard deviations (quadrature). The correction
    takes off most of that, never more, and what is left is within its standard uncertainty."""
    rng = np.random.default_rng(1)
    draws = 0.1 * rng.standard_normal((4000, SECTORS))
    found = [selected(100.0 + 0.1 * rng.standard_normal(SECTORS), draws, lambda v: v.min(axis=-1)) for _ in range(20)]
    shift, u = (float(np.mean(column)) for column in zip(*((one.shift, one.u) for one in found), strict=True))
    true = -0.1 * _expected_greatest(SECTORS)
    assert true - 0.02 < shift < 0.6 * true
    assert abs(shift - true) < u


def _drawn_roll(rng: np.random.Generator, rim: F64, cut: bool) -> tuple[F64, F64, F64, F64]:
    """Two turns each way along a rim (%, by bearing in tenths of a degree), with white and slow noise on both axes."""
    turned = np.concatenate((np.linspace(0, 720, 2000), np.linspace(720, 0, 2000)))
    t = np.arange(len(turned)) * 1_000_000
    reach = np.interp(turned % 360.0, np.arange(3600) / 10.0, rim)
    angle = np.deg2rad(turned)
    out = []
    for clean in (reach * np.sin(angle), reach * np.cos(angle)):
        slow = np.interp(np.arange(len(t)), np.arange(0, len(t) + 50, 50), rng.normal(0, 0.03, len(t) // 50 + 1))
        top = 100.0 if cut else 200.0
        noisy = np.clip(np.clip(clean, -top, top) + slow + rng.normal(0, 0.08, len(t)), -top, top)
        out.append(on_rail(t, noisy) if cut else noisy)
    return t, out[0], out[1], np.hypot(out[0], out[1])


@pytest.mark.parametrize("cut", [False, True], ids=["free", "cut off by the end of the range"])
def test_least_reach_covers_the_true_least(cut: bool) -> None:
    """150 rolls along gently uneven rims: the true least, a median over each sector of the clean rim, within ±U."""
    rng = np.random.default_rng(5)
    bearing = np.deg2rad(np.arange(3600) / 10.0)
    covered, error = 0, []
    for _ in range(150):
        rim = 101.0 + rng.normal(0, 0.4) * np.sin(bearing) + rng.normal(0, 0.4) * np.cos(2 * bearing)
        x, y = (np.clip(rim * f(bearing), -100.0 if cut else -200.0, 100.0 if cut else 200.0) for f in (np.sin, np.cos))
        clean = np.hypot(x, y)
        at = np.floor(np.degrees(np.arctan2(x, y)) % 360.0 / 5.0).astype(int) % SECTORS
        true = min(float(np.median(clean[at == k])) for k in range(SECTORS))
        one = roll(*_drawn_roll(rng, rim, cut))
        noise = selected(one.reach, noise_draws(one), lambda v: v.min(axis=-1))
        value = least_reach(one, 0.0)[0] - noise.shift
        covered += abs(value - true) <= 2.0 * noise.u
        error.append(value - true)
    assert covered / 150 >= 0.914  # 95 % less two standard errors
    assert abs(float(np.mean(error))) < 0.03
