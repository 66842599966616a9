"""How long does a movement wait before it is reported? From the intervals between reports alone.

A movement begins at a random moment, and a random moment lies in a long interval more often than in a short one: the
inspection paradox of renewal theory (Feller, *An Introduction to Probability Theory and Its Applications* 2, XI.4;
Cox, *Renewal Theory*, 1962, chapter 5). The mean wait is E[I²]/2E[I], half an interval only where all are alike, and
P(wait > w) = E[(I − w)⁺]/E[I].

What makes a wait long is rare: a report that was lost. A number of rare events scatters by its own root, so the fewer
of them there were, the more a greater number is possible and a smaller one is not. The interval is therefore that of
all true values whose own scatter leaves the observed one possible (score interval: Wilson, JASA 22, 1927, 209; Brown,
Cai & DasGupta, Statistica Sinica 13, 2003, 19), and the value is its middle.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64
from station.measure.correlation import effective_size
from station.measure.uncertainty import COVERAGE_FACTOR, COVERED, expanded, half_width

MOST_WAIT = 0.99
"""share of moments that wait no longer than `wait_most`"""
Z = 1.96
"""95 % of normal values lie within so many standard deviations"""
BATCH, FEWEST_BATCHES = 32, 10
"""intervals: reports that are lost in one go, and delays that lengthen one interval and shorten the next, reach no
farther"""
RANKS = 401
"""levels at which the rank of a quantile is looked at"""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its expanded uncertainty (95 %)."""

    value: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class Latency:
    """All in the unit of the intervals. `extra`: what irregularity adds to the mean wait, which is half the median
    interval of a regular link."""

    median: Estimate
    p99: Estimate
    longest: float
    wait_mean: Estimate
    wait_most: Estimate
    extra: Estimate


def latency(intervals: F64, blur: float = 0.0) -> Latency | None:
    """The wait behind intervals (float[n], in order, positive); None for fewer than two. `blur`: standard uncertainty
    of the longest, where some of them are only known as even parts of a longer one."""
    if len(intervals) < 2:
        return None
    median, p99 = quantile(intervals, 0.5), _wider(quantile(intervals, 0.99), expanded(blur))
    mean, most = wait_mean(intervals), _wider(wait_most(intervals), expanded(blur))
    return Latency(median, p99, float(intervals.max()), mean, most, _extra(intervals, median.value))


def between(one: Latency, other: Latency) -> Latency:
    """All that is known is that the wait lies between these two."""
    return Latency(
        _between(one.median, other.median),
        _between(one.p99, other.p99),
        max(one.longest, other.longest),
        _between(one.wait_mean, other.wait_mean),
        _between(one.wait_most, other.wait_most),
        _between(one.extra, other.extra),
    )


def _between(one: Estimate, other: Estimate) -> Estimate:
    """The middle; what is open counts whole (`uncertainty.half_width`)."""
    u = max(one.uncertainty, other.uncertainty) / COVERAGE_FACTOR
    return Estimate((one.value + other.value) / 2.0, half_width(u, unknown=abs(one.value - other.value) / 2.0))


def _wider(one: Estimate, more: float) -> Estimate:
    return Estimate(one.value, math.hypot(one.uncertainty, more))


def wait_mean(intervals: F64) -> Estimate:
    """Mean wait of a random moment, E[I²]/2E[I].

    A ratio of two means: its error is the mean of the residuals I² − 2wI over 2E[I] (Cochran, *Sampling Techniques*,
    3rd ed., 2.11).
    """
    wait = _mean_wait(intervals)
    low, high = _scores(_residuals(intervals, wait), _lost(intervals))
    return Estimate(wait + (low + high) / 2.0, (high - low) / 2.0)


def _extra(intervals: F64, median: float) -> Estimate:
    """The mean wait less half the median interval. The error of a median is the mean of (½ − [I ≤ median])/f, f the
    density there (Bahadur, Ann. Math. Stat. 37, 1966, 577), so both errors are those of one mean."""
    below = 0.5 - (intervals <= median)
    wait, sparse = _mean_wait(intervals), _over_density(intervals)
    residuals = _residuals(intervals, wait) - sparse / 2.0 * (below - below.mean())
    low, high = _scores(residuals, _lost(intervals))
    return Estimate(wait - median / 2.0 + (low + high) / 2.0, (high - low) / 2.0)


def wait_most(intervals: F64, share: float = MOST_WAIT) -> Estimate:
    """The wait that is not exceeded at that share of random moments: E[(I − w)⁺] = (1 − share) E[I] solved for w.

    All w for which the mean of the left side less the right side may be 0 (a confidence set of an estimating equation:
    Serfling, *Approximation Theorems of Mathematical Statistics*, 7.2; the interval of that mean as of any other).
    """
    usual, n = float(np.median(intervals)), len(intervals)
    farthest = max(float(intervals.max()), 2.0 * usual)

    def bounds(wait: float) -> tuple[float, float]:
        residuals = np.maximum(intervals - wait, 0.0) - (1.0 - share) * intervals
        one_more = max(2.0 * usual - wait, 0.0) - 2.0 * max(usual - wait, 0.0)  # of two intervals one
        low, high = _scores(residuals - residuals.mean(), max(one_more, 0.0) / n)
        return float(residuals.mean()) + low, float(residuals.mean()) + high

    low = _falls_to_0(lambda wait: bounds(wait)[0], 0.0, farthest)
    high = _falls_to_0(lambda wait: bounds(wait)[1], low, farthest)
    return Estimate((low + high) / 2.0, (high - low) / 2.0)


def _falls_to_0(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a falling function is 0 in [low, high]: an end of it where it is nowhere."""
    for _ in range(24):
        middle = (low + high) / 2.0
        low, high = (middle, high) if function(middle) > 0.0 else (low, middle)
    return (low + high) / 2.0


def quantile(intervals: F64, share: float) -> Estimate:
    """A quantile of the intervals. How many of n intervals lie below the true one is a binomial number (David &
    Nagaraja, *Order Statistics*, 3rd ed., 7.1), of as many of them as are independent; U is the distance within which
    95 % of the order statistics lie that it may be, each by its chance (Maritz & Jarrett, JASA 73, 1978, 194). Beyond
    the last rank the longest interval stands in."""
    ordered = np.sort(intervals)
    value = float(np.quantile(ordered, share))
    n, worth = len(ordered), effective_size((intervals <= value).astype(np.float64))
    from scipy.special import betaincinv  # loaded when first used: a cold start needs none of it

    levels = betaincinv(worth * share + 0.5, worth * (1.0 - share) + 0.5, (np.arange(RANKS) + 0.5) / RANKS)
    away = np.abs(np.interp(n * levels - 0.5, np.arange(n), ordered) - value)
    return Estimate(value, float(np.quantile(away, COVERED)))


def _mean_wait(intervals: F64) -> float:
    return float((intervals * intervals).mean()) / (2.0 * float(intervals.mean()))


def _residuals(intervals: F64, wait: float) -> F64:
    return (intervals * intervals - 2.0 * wait * intervals) / (2.0 * float(intervals.mean()))


def _lost(intervals: F64) -> float:
    """By how much one more lost report lengthens the mean wait."""
    return float(np.median(intervals)) / len(intervals)


def _over_density(intervals: F64) -> float:
    """One over the density at the median, from how far apart the quantiles about it are (Siddiqui, J. Res. NBS 64B,
    1960, 145; their distance: Bofinger, Austral. J. Stat. 17, 1975, 1)."""
    apart = min(0.648 / math.pow(len(intervals), 0.2), 0.49)
    low, high = np.quantile(intervals, (0.5 - apart, 0.5 + apart))
    return (float(high) - float(low)) / (2.0 * apart)


def _scores(residuals: F64, rare: float) -> tuple[float, float]:
    """The 95 % interval of the true mean of such residuals (their own mean 0), relative to that observed.

    The variance v of a mean that is the sum of events changes with its true value θ by a = κ₃/v, its third cumulant
    over it, one where each event adds one (Morris, Ann. Stat. 10, 1982, 65: V′ = κ₃/V). So θ² ≤ z²(v + aθ), which is
    z²a/2 ± z√(v + z²a²/4): for events counted one by one k + z²/2 ± z√(k + z²/4). `rare`: what one event adds that the
    try need not have met; a is no less. The part of v that is no event's, v − κ₃/a, is there however few there are.
    """
    n, squares = len(residuals), residuals * residuals
    second, third, fourth = (float(one.mean()) for one in (squares, residuals * squares, squares * squares))
    skewed = max(third, 0.0)
    a = max(skewed / second / n if second > 0.0 else 0.0, rare)
    variance = _variance_of_mean(residuals)
    if second > 0.0:
        apart = max(fourth / second - third * third / second**2 / second, 0.0) / second / n
        variance *= _widened(2.0 / apart) ** 2 if apart > 0.0 else 1.0
    steady = max(variance - skewed / a / (n * n), 0.0) if a > 0.0 else variance
    middle, half = Z * Z * a / 2.0, Z * math.sqrt(variance + Z * Z * a * a / 4.0)
    return min(middle - half, -Z * math.sqrt(steady)), middle + half


def _widened(degrees: float) -> float:
    return 1.0 + 1.25 / degrees + 1.5 / degrees**2


def _variance_of_mean(residuals: F64) -> float:
    """Of a mean of residuals that may be alike in a row or make up for each other, from the means of all stretches of
    `BATCH` (overlapping batch means: Meketon & Schmeiser, Proc. Winter Simulation Conf. 1984, 227), widened as
    Student's t is (JCGM 100, G.3.2) for 1.5 times as many degrees of freedom as stretches side by side have."""
    n = len(residuals)
    size = max(min(BATCH, n // FEWEST_BATCHES), 1)
    total = np.concatenate(([0.0], np.cumsum(residuals)))
    means = (total[size:] - total[:-size]) / size
    variance = size / ((n - size) * (n - size + 1.0)) * float((means * means).sum())
    return variance * _widened(1.5 * (n / size - 1.0)) ** 2
