"""How differently a stick comes back from one placement to the next: friction keeps it where the spring is too weak.

A mean over three seconds knows nothing of that: it is of one placement. What it may be elsewhere comes from the
placements that were seen, pooled with what is customary of a sound stick (JCGM 100, 4.2.4: a pooled estimate from
earlier observations; the form is that of a scaled inverse chi-square prior, Gelman et al., *Bayesian Data Analysis*,
2.6).
"""

from __future__ import annotations

import math

import numpy as np

from station.measure.arrays import F64

FRICTION_PCT = 0.75
"""half width of the band in which friction leaves a sound stick: 0.3…1.2 % of half travel (common practice, no
source)"""
CUSTOMARY_PCT = FRICTION_PCT / math.sqrt(6.0)
"""per axis, of a place somewhere in that band along the way that it came: rectangular, a/√3 (JCGM 100, 4.3.7), shared
by two axes"""
CUSTOMARY_DEGREES = 6.0
"""how many observations that custom is worth"""
DROPPED_ONE = 1.35
"""the rms of what is left when the greatest of eight residuals is dropped is too small by this factor (Monte Carlo, in
tests/measure/test_placement.py)"""
FEWEST_TO_FIT = 6


def placement_u(points: F64) -> float:
    """Standard uncertainty (%) per axis of where the stick rests, from one placement to the next.

    `points` float[n, 2] in %: where it rested after each time that it was let go; n may be 0 or 1.
    """
    about = points - points.mean(axis=0) if len(points) > 1 else np.zeros((0, 2))
    degrees = 2.0 * max(len(points) - 1, 0)
    pooled = CUSTOMARY_DEGREES * CUSTOMARY_PCT**2 + float((about**2).sum())
    return math.sqrt(pooled / (CUSTOMARY_DEGREES + degrees))


def return_scatter(from_deg: F64, points: F64) -> float:
    """Standard deviation (%) per axis of the place that a stick comes back to from one and the same direction.

    `points` float[n, 2] are the places after releases from the bearings `from_deg`. Friction leaves a stick short of
    its middle on the side that it comes from, so that part is fitted, place = c + A·(sin, cos), and taken off. One
    release is left out, the one that lies farthest off: a single direction that sticks is a fault, no scatter.
    Pooled with nothing; too few releases (< 6) give the customary value.
    """
    if len(points) < FEWEST_TO_FIT:
        return CUSTOMARY_PCT
    off = np.hypot(*residuals(from_deg, points).T)
    kept = np.arange(len(points)) != int(np.argmax(off))
    left = residuals(from_deg[kept], points[kept])
    degrees = 2.0 * (int(kept.sum()) - 3)
    return DROPPED_ONE * math.sqrt(float((left**2).sum()) / degrees)


def residuals(from_deg: F64, points: F64) -> F64:
    """float[n, 2]: the places less what friction does, place = c + A·(sin, cos) of the bearing it came from."""
    angle = np.radians(from_deg)
    design = np.column_stack((np.ones(len(angle)), np.sin(angle), np.cos(angle)))
    fitted, *_ = np.linalg.lstsq(design, points, rcond=None)
    return np.asarray(points - design @ fitted)
