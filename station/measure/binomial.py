"""Counts of faulty presses: what n presses with k faults say about the share of faulty presses.

Sources: Clopper & Pearson, Biometrika 26 (1934) 404; Wilson, JASA 22 (1927) 209; Brown, Cai & DasGupta,
Statistical Science 16 (2001) 101 for the comparison of intervals; success run: ln(1 − C) / ln R, in the form that
needs no prior (tests/published/ holds the values they are checked against).
SciPy is imported at the first call: it costs more than all of NumPy, and most uses of the program never come here.
"""

from __future__ import annotations

import math
from typing import Literal

Side = Literal["two", "upper", "lower"]


def clopper_pearson(k: int, n: int, confidence: float = 0.95, side: Side = "two") -> tuple[float, float]:
    """Exact confidence bounds (low, high) of a proportion from k hits in n independent trials.

    `side` "upper" or "lower" gives a one-sided bound, the other end being 0 or 1. Bounds are 0…1.
    low = Beta⁻¹(a; k, n − k + 1), high = Beta⁻¹(1 − a; k + 1, n − k), a = 1 − C, or (1 − C)/2 for two sides.
    ValueError unless 0 ≤ k ≤ n, n ≥ 1, 0 < confidence < 1. Holds for an n that was fixed beforehand.
    """
    from scipy.special import betaincinv

    a = _tail(k, n, confidence, side)
    low = 0.0 if side == "upper" or k == 0 else float(betaincinv(k, n - k + 1, a))
    high = 1.0 if side == "lower" or k == n else float(betaincinv(k + 1, n - k, 1.0 - a))
    return low, high


def wilson(k: int, n: int, confidence: float = 0.95, side: Side = "two") -> tuple[float, float]:
    """Wilson's score interval (low, high), for comparison with the exact one; arguments as there."""
    from scipy.special import ndtri

    z = float(ndtri(1.0 - _tail(k, n, confidence, side)))
    p = k / n
    shrink = 1.0 + z * z / n
    centre = (p + z * z / (2 * n)) / shrink
    half = z * math.sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n)) / shrink
    low = 0.0 if side == "upper" or k == 0 else max(0.0, centre - half)
    high = 1.0 if side == "lower" or k == n else min(1.0, centre + half)
    return low, high


def presses_needed(reliability: float, confidence: float, faults: int = 0) -> int:
    """Smallest number of presses that shows a reliability at a confidence when `faults` of them may be faulty.

    The smallest n with BinomCDF(faults; n, 1 − R) ≤ 1 − C; for no faults ⌈ln(1 − C)/ln R⌉ ("success run").
    ValueError unless both lie strictly between 0 and 1 and faults ≥ 0.
    """
    if not (0 < reliability < 1 and 0 < confidence < 1 and faults >= 0):
        raise ValueError("reliability and confidence lie between 0 and 1, faults are not negative")
    low, high = faults, faults + 1
    while binomial_cdf(faults, high, 1.0 - reliability) > 1.0 - confidence:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        if binomial_cdf(faults, middle, 1.0 - reliability) > 1.0 - confidence:
            low = middle
        else:
            high = middle
    return high


def reliability_shown(n: int, confidence: float, faults: int = 0) -> float:
    """Reliability that n presses with so many faults show: 1 − the exact one-sided upper bound of the fault rate."""
    return 1.0 - clopper_pearson(faults, n, confidence, "upper")[1]


def binomial_cdf(k: int, n: int, p: float) -> float:
    """P(at most k hits in n trials), each with probability p."""
    from scipy.special import bdtr

    return 1.0 if k >= n else float(bdtr(k, n, p))


def _tail(k: int, n: int, confidence: float, side: Side) -> float:
    if not (n >= 1 and 0 <= k <= n and 0 < confidence < 1):
        raise ValueError(f"0 ≤ k ≤ n, n ≥ 1 and 0 < confidence < 1 are needed, not k={k}, n={n}, {confidence}")
    return (1.0 - confidence) / 2.0 if side == "two" else 1.0 - confidence
