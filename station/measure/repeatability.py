"""Pose repeatability as ISO 9283 defines it (ISO 9283:1998 §7.2)."""

from __future__ import annotations

import math

import numpy as np

from station.measure.arrays import F64

FEW_POINTS = 1.4
"""for eight points: 1.18 by JCGM 101:2008, 6.4.9.4, √((n − 1)/(n − 3)), were they normal; Monte Carlo, circular
scatter on top of friction (tests/measure/test_placement.py)"""


def pose_repeatability(points: F64) -> float:
    """RP = l̄ + 3 S_l of the distances l_j of the points (float[n, 2]) to their barycentre; S_l with n − 1.

    NaN for fewer than two points.
    """
    if len(points) < 2:
        return math.nan
    distance = np.hypot(*(points - points.mean(axis=0)).T)
    return float(distance.mean() + 3.0 * distance.std(ddof=1))


def repeatability_uncertainty(points: F64, u_point: float) -> float:
    """Standard uncertainty of RP from n points.

    Sampling: u(l̄)² = S²/n and u(S)² ≈ S²/(2(n − 1)) (JCGM 100, E.4.3), so S²(1/n + 9/(2(n − 1))), widened by
    `FEW_POINTS`, since S itself comes from a few points and distances are no normal values.
    Error u of each distance, by propagation through l̄ + 3S: u²(1/n + 9/(n − 1)).
    """
    n = len(points)
    if n < 2:
        return math.inf
    s = float(np.hypot(*(points - points.mean(axis=0)).T).std(ddof=1))
    sampling = FEW_POINTS * s * math.sqrt(1.0 / n + 4.5 / (n - 1))
    return math.sqrt(sampling * sampling + u_point * u_point * (1.0 / n + 9.0 / (n - 1)))
