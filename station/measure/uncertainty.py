"""Standard and expanded uncertainty (JCGM 100:2008, the GUM)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

COVERAGE_FACTOR = 2.0
"""k = 2: a level of confidence of about 95 % (JCGM 100, 6.3.3)"""


def resolution(step: float) -> float:
    """u of a reading from a display of resolution δ: δ/√12 = 0.29 δ (JCGM 100, F.2.2.1)."""
    return step / math.sqrt(12.0)


def difference_resolution(step: float) -> float:
    """u of the difference of two readings of that resolution: δ/√6 (both errors rectangular, independent)."""
    return step / math.sqrt(6.0)


def duration(interval: float) -> float:
    """u of a time between two events seen by polling with that interval: each is late by 0…interval, so δ/√6."""
    return difference_resolution(interval)


def type_a(s: float, n_effective: float) -> float:
    """u of a mean of n observations with standard deviation s: s/√n (JCGM 100, 4.2.3).

    For correlated observations pass the effective number (measure.correlation).
    """
    return s / math.sqrt(n_effective) if n_effective > 0 else s


def combined(*parts: float) -> float:
    """u_c of independent contributions with sensitivity 1: √Σu² (JCGM 100, 5.1.2)."""
    return math.hypot(*parts)


def expanded(u: float) -> float:
    """U = k u with k = 2 (JCGM 100, 6.2.1)."""
    return COVERAGE_FACTOR * u


def few(degrees: float) -> float:
    """By how much 95 % of Student's t of so many degrees of freedom are wider than of a normal value (JCGM 100, G.3.2),
    within 3 % from three degrees on."""
    return 1.0 + 1.25 / degrees + 1.5 / degrees**2


def slowest_of(n: int) -> float:
    """In place of k = 2 for the slowest of n ≥ 2 durations that may all be alike: by selection its error is above, and
    in 95 of 100 cases by no more than this many standard uncertainties.

    Of an error that is the difference of two even ones, triangular over ±T with u = T/√6 (JCGM 100:2008, 4.3.9), all n
    lie below zT with probability (1 − (1 − z)²/2)ⁿ (order statistics: David & Nagaraja, *Order Statistics*, 3rd ed.,
    2.1): 2.00 u for three.
    """
    return math.sqrt(6.0) * (1.0 - math.sqrt(2.0 * (1.0 - COVERED ** (1.0 / max(n, 2)))))


def half_width(u: float, flat: float = 0.0, unknown: float = 0.0) -> float:
    """U that holds the true value with 95 %, where the error has a normal part u and an even part of ±`flat`, and where
    all that is known of a further part is that it lies within ±`unknown`.

    Normal and even together: by their exact distribution, since of an even error 95 % lie within 1.65 standard
    deviations and not 2 (JCGM 100, G.2.3 and 6.3.2; EA-4/02 M:2022, S9.14). The unknown part counts whole: at its ends
    the other two can lead out on one side only, so that less is added than without it (Imbens & Manski, Econometrica
    72, 2004, 1845).
    """
    if u <= 0.0 and flat <= 0.0:
        return unknown
    low, high = 0.0, 3.0 * u + flat
    for _ in range(40):
        middle = (low + high) / 2.0
        if _below(middle + 2.0 * unknown, u, flat) - _below(-middle, u, flat) < COVERED:
            low = middle
        else:
            high = middle
    return unknown + high


COVERED = 0.95


@dataclass(frozen=True, slots=True)
class Possible:
    """A value with a normal error of standard deviation u > 0 and an even one of ±`flat`."""

    middle: float
    u: float
    flat: float = 0.0


def interval(found: Sequence[tuple[float, Possible]]) -> tuple[float, float]:
    """The probabilistically symmetric 95 % coverage interval (JCGM 101:2008, 5.3.3 and 7.7) of what is one of several
    values, each with its probability; these add to 1."""
    ends = [sign * (3.0 * one.u + one.flat) + one.middle for _, one in found for sign in (-1.0, 1.0)]
    tail = (1.0 - COVERED) / 2.0
    return _quantile(found, tail, min(ends), max(ends)), _quantile(found, 1.0 - tail, min(ends), max(ends))


def _quantile(found: Sequence[tuple[float, Possible]], p: float, low: float, high: float) -> float:
    """By bisection between two ends that lie beyond it."""
    for _ in range(40):
        middle = (low + high) / 2.0
        if sum(share * _below(middle - one.middle, one.u, one.flat) for share, one in found) < p:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _below(value: float, u: float, flat: float) -> float:
    """Distribution function of a normal and an even error together: ∫ Φ over the even part, ∫Φ(z) dz = zΦ(z) + φ(z)."""
    if flat < 1e-3 * u:
        return _normal(value / u)
    if u < 1e-3 * flat:
        return min(max(0.5 + 0.5 * value / flat, 0.0), 1.0)
    return u / (2.0 * flat) * (_integral((value + flat) / u) - _integral((value - flat) / u))


def _normal(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def _integral(z: float) -> float:
    return z * _normal(z) + math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
