"""How many independent observations is a correlated series worth?

For a stationary series with autocorrelation ρ the variance of the mean is s²/n · τ with τ = 1 + 2 Σ ρ(k), so that
n/τ is the effective sample size (JCGM 100, 4.2.7 asks for it; Bayley & Hammersley, J. R. Stat. Soc. Suppl. 8,
1946, 184). The sum is cut where it stops being signal: Geyer's initial positive sequence (Stat. Sci. 7, 1992, 473),
that is at the first pair ρ(2k) + ρ(2k+1) that is not positive.
"""

from __future__ import annotations

import numpy as np

from station.measure.arrays import F64


def autocorrelation(values: F64) -> F64:
    """ρ(0)…ρ(n−1) of an evenly spaced series (biased estimate, by FFT). ρ = [1, 0, …] for a constant. O(n log n)."""
    n = len(values)
    centred = values - values.mean()
    power = float(centred @ centred)
    if power <= 0.0:
        rho = np.zeros(n)
        rho[:1] = 1.0
        return rho
    size = 1 << (2 * n - 1).bit_length()
    spectrum = np.fft.rfft(centred, size)
    lagged = np.fft.irfft(spectrum * np.conj(spectrum), size)[:n]
    return np.asarray(lagged / power, dtype=np.float64)


def correlation_time(values: F64) -> float:
    """τ = 1 + 2 Σ ρ(k) in samples, at least 1."""
    rho = autocorrelation(values)
    pairs = rho[: len(rho) // 2 * 2].reshape(-1, 2).sum(axis=1)
    not_positive = np.flatnonzero(pairs <= 0.0)
    cut = int(not_positive[0]) if len(not_positive) else len(pairs)
    return max(1.0, 2.0 * float(pairs[:cut].sum()) - 1.0)


def effective_size(values: F64) -> float:
    """n/τ, at least 1: the number of independent observations with the same uncertainty of the mean."""
    return max(1.0, len(values) / correlation_time(values))
