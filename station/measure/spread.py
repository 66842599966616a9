"""How much a value that should stand still wanders: its rms, which does not depend on how often a link looks.

Peak to peak grows with the number of looks (of normal noise from 5.3 σ in 400 to 6.6 σ in 3,000), the rms does not.
Codes finer than the noise: the mean square about the mean is a mean of a correlated series like any other, so its
uncertainty is that of one, whatever the distribution (JCGM 100, 4.2.3 and 4.2.7), here from means over parts of the
series. Codes coarser than the noise: only which codes were seen, and for how long, is known; the rms that fit it are
those of a likelihood interval (Wilks, Ann. Math. Stat. 9, 1938, 60).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS
from station.measure.correlation import effective_size
from station.measure.uncertainty import COVERAGE_FACTOR

GRID_NS = NS_PER_MS
SEEN_NS = 8 * NS_PER_MS
"""coarse codes are looked at no more often than a link of 125 Hz does: what a silent device saw between is not known"""
COARSE = 0.6
"""rms in codes below which the codes, not the values, are the evidence: above it Sheppard's correction is good to 1 ‰
of a code's square (its first neglected term is exp(−2π²σ²/δ²))"""
SHAPE = 0.05
"""up to an rms of one code: standard uncertainty, in codes, of taking the noise for normal; an even spread over two
codes is read so wrong (Monte Carlo, tests/measure/test_spread.py)"""
BATCHES = 12
"""parts of the stretch: of three seconds each is a quarter of a second, several times as long as the slow part of the
noise lasts"""
HALF_CHI_SQUARE = 1.92
"""log likelihood may be this much less than its greatest: half the 95 % point of chi-square with one degree"""
_SIGMAS = np.concatenate((np.linspace(0.02, 0.5, 49), np.geomspace(0.52, 3.0, 24)))
_OFF = np.linspace(-0.75, 0.75, 61)


@dataclass(frozen=True, slots=True)
class Spread:
    """Rms and its standard uncertainty in the values' unit; n: the effective number of independent squares."""

    rms: float
    u: float
    n: float


def spread(t_ns: I64, values: F64, begin_ns: int, end_ns: int, step: float) -> Spread:
    """Rms about the mean over [begin, end], of what the codes of width `step` stand for. O(n log n)."""
    part = held.stretch(t_ns, begin_ns, end_ns)
    rms = held.std(values[part], held.hold_s(t_ns[part], begin_ns, end_ns))
    if rms < COARSE * step:
        return _of_codes(t_ns, values, begin_ns, end_ns, step)
    found = _of_values(held.held_at(t_ns, values, held.grid_ns(begin_ns, end_ns, GRID_NS)), step)
    return found if rms >= step else Spread(found.rms, math.hypot(found.u, SHAPE * step), found.n)


def _of_values(sampled: F64, step: float) -> Spread:
    """The mean square about the mean: less what the mean took (1/n_eff), less δ²/12 of the rounding (Sheppard)."""
    squares = (sampled - sampled.mean()) ** 2
    u_mean = _u_of_mean(squares)
    n = max(float(squares.var()) / u_mean**2, 1.0) if u_mean > 0.0 else 1.0
    taken = max(1.0 - 1.0 / effective_size(sampled), 0.5)
    variance = max(float(squares.mean()) / taken - step * step / 12.0, step * step / 12.0)
    u_variance = u_mean / taken
    return Spread(math.sqrt(variance), u_variance / (2.0 * math.sqrt(variance)), n)


def _u_of_mean(squares: F64) -> float:
    """Standard uncertainty of the mean of a series with a small slow part, which its autocorrelations hide in their own
    scatter: from how much means over one twelfth of it differ, all such stretches taken (overlapping batch means, as
    `olbm` of R's package mcmc), 1.5 times as many degrees of freedom as stretches side by side have (Monte Carlo,
    tests/measure/test_spread.py), widened as Student's t is (JCGM 100, G.3.2)."""
    size = len(squares) // BATCHES
    if size < 1:
        return float(squares.std())
    total = np.concatenate(([0.0], np.cumsum(squares)))
    means = (total[size:] - total[:-size]) / size
    n = len(squares)
    variance = size / ((n - size) * (n - size + 1.0)) * float(((means - squares.mean()) ** 2).sum())
    return math.sqrt(variance) * (1.0 + 1.25 / (1.5 * (BATCHES - 1)))


def _of_codes(t_ns: I64, values: F64, begin_ns: int, end_ns: int, step: float) -> Spread:
    """The middle of the likelihood interval of a normal rms (its mean free), and half its width for U."""
    sampled = held.held_at(t_ns, values, held.grid_ns(begin_ns, end_ns, SEEN_NS)) / step
    n = effective_size(sampled)
    code = np.rint(sampled - sampled[0]).astype(np.int64)
    seen, count = np.unique(code, return_counts=True)
    share = count / count.sum()
    middle = float(share @ seen)
    centre = middle + _OFF[:, None]
    from scipy.special import ndtr  # slow to load, and the window's first picture does without

    below = ndtr((seen - 0.5 - centre)[None, :, :] / _SIGMAS[:, None, None])
    above = ndtr((seen + 0.5 - centre)[None, :, :] / _SIGMAS[:, None, None])
    likelihood = (n * share * np.log(np.maximum(above - below, 1e-300))).sum(axis=2).max(axis=1)
    fits = _SIGMAS[likelihood >= likelihood.max() - HALF_CHI_SQUARE]
    low = 0.0 if fits[0] == _SIGMAS[0] else float(fits[0])
    high = float(fits[-1])
    by_fit = (high - low) / 2.0 / COVERAGE_FACTOR
    return Spread((low + high) / 2.0 * step, math.hypot(by_fit, SHAPE) * step, n)
