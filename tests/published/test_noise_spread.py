"""Uncertainty of an rms of correlated observations, against the closed form of an autoregressive series.

Normal AR(1) with coefficient φ: the autocorrelation of the squares is φ^{2k}, so var(s²) = 2σ⁴ (1 + φ²)/(1 − φ²)/n
(variance of a variance of correlated normal values: Bayley & Hammersley, J. R. Stat. Soc. Suppl. 8, 1946, 184 [citation
read]; the sum is analytic). Uncorrelated, u(s) = σ/√(2n) (JCGM 100:2008, E.4.3 [read]).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.signal import lfilter
from statsmodels.tsa.stattools import acf

from station.measure.correlation import autocorrelation
from station.measure.spread import spread

NS = 1_000_000_000


def series(phi: float, seed: int, n: int = 3000) -> np.ndarray:
    drive = math.sqrt(1.0 - phi * phi) * np.random.default_rng(seed).standard_normal(n + 500)
    return np.asarray(lfilter([1.0], [1.0, -phi], drive)[500:])


@pytest.mark.parametrize("phi", [0.0, 0.5, 0.9])
def test_the_uncertainty_is_that_of_the_closed_form(phi: float) -> None:
    n = 3000
    t_ns = np.arange(n, dtype=np.int64) * 1_000_000
    u = [spread(t_ns, series(phi, seed), 0, 3 * NS, 1e-4).u for seed in range(60)]
    assert np.mean(u) == pytest.approx(math.sqrt((1 + phi**2) / (1 - phi**2) / (2 * n)), rel=0.12)


def test_the_squares_are_correlated_as_the_closed_form_says() -> None:
    """ρ(k) of the squares = φ^{2k}; statsmodels agrees."""
    squares = [(v - v.mean()) ** 2 for v in (series(0.8, s, 20_000) for s in range(10))]
    rho = np.mean([autocorrelation(v)[:4] for v in squares], axis=0)
    assert rho == pytest.approx(np.mean([acf(v, nlags=3, fft=True) for v in squares], axis=0), abs=1e-9)
    assert rho[1:] == pytest.approx([0.64, 0.64**2, 0.64**3], abs=0.03)


def test_rounding_is_taken_off_as_sheppard_has_it() -> None:
    """σ = δ: the mean square of rounded normal values is σ² + δ²/12 (Sheppard 1898 [from memory]; the neglected terms
    are of the order exp(−2π²))."""
    rng = np.random.default_rng(4)
    t_ns = np.arange(3000, dtype=np.int64) * 1_000_000
    found = [spread(t_ns, np.rint(rng.standard_normal(3000)), 0, 3 * NS, 1.0).rms for _ in range(80)]
    assert np.mean(found) == pytest.approx(1.0, abs=0.005)
