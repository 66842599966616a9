"""Effective sample size of correlated observations, against the closed form of an autoregressive series.

For AR(1) with coefficient φ: ρ(k) = φ^k, τ = (1 + φ)/(1 − φ), n_eff = n (1 − φ)/(1 + φ) (the sum is analytic; formula:
Bayley & Hammersley, J. R. Stat. Soc. Suppl. 8, 1946, 184 [citation read]). JCGM 100, 4.2.7, asks for correlation to be
taken into account.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import lfilter
from statsmodels.tsa.stattools import acf

from station.measure.correlation import autocorrelation, correlation_time, effective_size


def autoregressive(phi: float, n: int, seed: int) -> np.ndarray:
    return np.asarray(lfilter([1.0], [1.0, -phi], np.random.default_rng(seed).standard_normal(n + 500))[500:])


def test_autocorrelation_agrees_with_statsmodels() -> None:
    values = autoregressive(0.7, 500, 4)
    assert autocorrelation(values)[:50] == pytest.approx(acf(values, nlags=49, fft=True, adjusted=False), abs=1e-10)


@pytest.mark.parametrize("phi", [0.0, 0.5, 0.9])
def test_correlation_time_of_an_autoregressive_series(phi: float) -> None:
    found = np.mean([correlation_time(autoregressive(phi, 20_000, seed)) for seed in range(10)])
    assert found == pytest.approx((1 + phi) / (1 - phi), rel=0.12)


def test_the_mean_scatters_as_its_effective_size_says() -> None:
    """400 series of 1500: the standard deviation of their means against s/√n_eff."""
    series = [autoregressive(0.8, 1500, seed) for seed in range(400)]
    claimed = np.mean([s.std() / np.sqrt(effective_size(s)) for s in series])
    assert np.std([s.mean() for s in series]) == pytest.approx(float(claimed), rel=0.12)
