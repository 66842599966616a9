"""How long does a movement wait before it is reported? From the intervals between reports alone.

A movement begins at a random moment, and a random moment lies in a long interval more often than in a short one: the
inspection paradox of renewal theory (Feller, *An Introduction to Probability Theory and Its Applications* 2, XI.4;
Cox, *Renewal Theory*, 1962, chapter 5). The mean wait is E[I²]/2E[I], half an interval only where all are alike, and
P(wait > w) = E[(I − w)⁺]/E[I].
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64
from station.measure.correlation import effective_size
from station.measure.uncertainty import COVERAGE_FACTOR, expanded, half_width, type_a

MOST_WAIT = 0.99
"""share of moments that wait no longer than `wait_most`"""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its expanded uncertainty (k = 2)."""

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
    unmet = median.value / len(intervals)  # what one lost report more would add, which a try need not have met
    mean = _wider(wait_mean(intervals), unmet)
    most = _wider(wait_most(intervals), math.hypot(unmet, expanded(blur)))
    extra = Estimate(mean.value - median.value / 2.0, math.hypot(mean.uncertainty, median.uncertainty / 2.0))
    return Latency(median, p99, float(intervals.max()), mean, most, extra)


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

    A ratio of two means: its standard error is that of the mean of the residuals I² − 2wI over 2E[I] (Cochran,
    *Sampling Techniques*, 3rd ed., 2.11), of as many of them as are independent.
    """
    mean = float(intervals.mean())
    wait = float((intervals * intervals).mean()) / (2.0 * mean)
    return Estimate(wait, _of_mean((intervals * intervals - 2.0 * wait * intervals) / (2.0 * mean)))


def wait_most(intervals: F64, share: float = MOST_WAIT) -> Estimate:
    """The wait that is not exceeded at that share of random moments: E[(I − w)⁺] = (1 − share) E[I] solved for w.

    Its standard error is that of the mean of the left side less the right side, over the slope P(I > w) (delta method,
    as for any root of an estimating equation: Serfling, *Approximation Theorems of Mathematical Statistics*, 7.2).
    """
    ordered = np.sort(intervals)[::-1]
    target = (1.0 - share) * float(intervals.sum())
    at_or_above = np.arange(1, len(ordered) + 1)
    beyond = np.cumsum(ordered) - at_or_above * np.append(ordered[1:], 0.0)  # Σ(I − w)⁺ at the next shorter interval
    k = int(np.searchsorted(beyond, target))
    wait = (float(ordered[: k + 1].sum()) - target) / (k + 1)
    residual = np.maximum(intervals - wait, 0.0) - (1.0 - share) * intervals
    return Estimate(wait, _of_mean(residual) * len(intervals) / (k + 1))


def quantile(intervals: F64, share: float) -> Estimate:
    """A quantile of the intervals with the interval between two of its order statistics (David & Nagaraja, *Order
    Statistics*, 3rd ed., 7.1): ranks n·p ± 2·√(n·p(1−p)·τ), τ for successive intervals that are alike; U is the longer
    side. Beyond the last rank the longest interval stands in."""
    ordered = np.sort(intervals)
    value = float(np.quantile(ordered, share))
    n, below = len(ordered), (intervals <= value).astype(np.float64)
    spread = 2.0 * math.sqrt(n * share * (1.0 - share) * n / effective_size(below))
    low = ordered[max(0, math.floor(n * share - spread))]
    high = ordered[min(n - 1, math.ceil(n * share + spread))]
    return Estimate(value, max(float(high) - value, value - float(low)))


def _of_mean(residuals: F64) -> float:
    """U of a mean of residuals. Long waits are rare, so the residuals are skewed, and the interval reaches farther to
    one side: k + γ(2k² + 1)/6√n standard errors instead of k (Johnson, J. Am. Stat. Assoc. 73, 1978, 536; Hall, J. R.
    Stat. Soc. B 54, 1992, 221). U is that longer side."""
    n, spread = effective_size(residuals), float(residuals.std(ddof=1))
    if spread == 0.0:
        return 0.0
    skewness = float((((residuals - residuals.mean()) / spread) ** 3).mean())
    k = COVERAGE_FACTOR
    return type_a(spread, n) * (k + abs(skewness) * (2.0 * k * k + 1.0) / (6.0 * math.sqrt(n)))
