"""Standard and expanded uncertainty (JCGM 100:2008, the GUM)."""

from __future__ import annotations

import math

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
