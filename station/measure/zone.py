"""Minimum-zone reference circles (MZCI, ISO 12181-1:2011): the two concentric circles closest together that enclose
all points. Only for comparison with the least-squares circle: RONt by minimum zone is the least there can be."""

from __future__ import annotations

import numpy as np
from scipy.optimize import linprog

from station.measure.arrays import F64
from station.measure.circle import Circle, least_squares

_MAX_STEPS = 60


def minimum_zone(points: F64) -> tuple[float, float, float, float]:
    """Centre x, y and the inner and outer radius of the minimum zone. Points float[n, 2], n ≥ 4.

    The radial deviations are linear in a small shift of the centre, so the best shift is a linear programme (as in
    Dhanish 2002, read as abstract); it is repeated from the least-squares circle until the zone stops shrinking,
    with the shift bounded so that each programme stays close to the truth. ValueError as for `least_squares`.
    """
    start: Circle = least_squares(points)
    centre = np.array([start.x, start.y])
    bound = max(start.roundness, 1e-9)
    best = _width(points, centre)
    for _ in range(_MAX_STEPS):
        candidate = centre + _shift(points, centre, bound)
        width = _width(points, candidate)
        if width < best:
            centre, best = candidate, width
        else:
            bound /= 4.0
        if bound < 1e-10 * max(start.radius, 1.0):
            break
    distance = np.hypot(*(points - centre).T)
    return float(centre[0]), float(centre[1]), float(distance.min()), float(distance.max())


def _width(points: F64, centre: F64) -> float:
    return float(np.ptp(np.hypot(*(points - centre).T)))


def _shift(points: F64, centre: F64, bound: float) -> F64:
    """The shift of the centre within ±bound that makes outer − inner least, to first order."""
    offset = points - centre
    distance = np.maximum(np.hypot(*offset.T), 1e-12)
    direction = offset / distance[:, None]
    ones, none = np.ones((len(points), 1)), np.zeros((len(points), 1))
    # variables: shift x, shift y, inner radius, outer radius;  inner ≤ d − u·shift ≤ outer
    above = np.hstack((-direction, none, -ones))
    below = np.hstack((direction, ones, none))
    result = linprog(
        c=[0.0, 0.0, -1.0, 1.0],
        A_ub=np.vstack((above, below)),
        b_ub=np.concatenate((-distance, distance)),
        bounds=[(-bound, bound), (-bound, bound), (None, None), (None, None)],
        method="highs",
    )
    return np.asarray(result.x[:2] if result.x is not None else np.zeros(2), dtype=np.float64)
