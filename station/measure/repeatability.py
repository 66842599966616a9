"""Pose repeatability as ISO 9283 defines it (ISO 9283:1998 §7.2)."""

from __future__ import annotations

import math

import numpy as np

from station.measure.arrays import F64
from station.measure.placement import FEWEST_TO_FIT, residuals

FEW_POINTS = 1.1
"""for eight points: Monte Carlo, circular scatter on top of friction (tests/measure/test_placement.py); for values that
are themselves normal JCGM 101:2008, 6.4.9.4, would have √((n − 1)/(n − 3)) = 1.18 on S alone"""
CIRCULAR = 0.655
"""standard deviation of the distance of a circular normal scatter from its own middle, √(2 − π/2) σ (Rayleigh); far
from it, σ (Rice)"""


def pose_repeatability(points: F64) -> float:
    """RP = l̄ + 3 S_l of the distances l_j of the points (float[n, 2]) to their barycentre; S_l with n − 1.

    NaN for fewer than two points.
    """
    if len(points) < 2:
        return math.nan
    distance = np.hypot(*(points - points.mean(axis=0)).T)
    return float(distance.mean() + 3.0 * distance.std(ddof=1))


def repeatability_uncertainty(from_deg: F64, points: F64, u_point: float) -> float:
    """Standard uncertainty of RP from n points that were let go from the bearings `from_deg`.

    Sampling: u(l̄)² = S²/n and u(S)² ≈ S²/(2(n − 1)) (JCGM 100, E.4.3), so S²(1/n + 9/(2(n − 1))). S of a few points is
    itself poorly known, so that of the scatter σ about what friction does (`placement.residuals`, 2(n − 3) degrees)
    stands in for it where it is greater: 0.655 σ for points about one middle, σ for points far from it.
    Error u of each distance, by propagation through l̄ + 3S: u²(1/n + 9/(n − 1)).
    """
    n = len(points)
    if n < FEWEST_TO_FIT:
        return math.inf
    distance = np.hypot(*(points - points.mean(axis=0)).T)
    sigma = math.sqrt(float((residuals(from_deg, points) ** 2).sum()) / (2.0 * (n - 3)))
    far = min(max((float(distance.mean()) / max(sigma, 1e-9) - 1.25) / 1.5, 0.0), 1.0)
    s = max(float(distance.std(ddof=1)), sigma * (CIRCULAR + (1.0 - CIRCULAR) * far))
    sampling = FEW_POINTS * s * math.sqrt(1.0 / n + 4.5 / (n - 1))
    return math.hypot(sampling, u_point * math.sqrt(1.0 / n + 9.0 / (n - 1)))
