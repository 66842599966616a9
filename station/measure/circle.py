"""Reference circles and roundness deviation (ISO 12181-1:2011 terms: LSCI, MZCI, RONt)."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64

_MAX_STEPS = 50


@dataclass(frozen=True, slots=True)
class Circle:
    """Centre and radius; `roundness` is RONt, the greatest minus the least radial deviation; `rms` of the residuals.

    `u_centre` and `u_radius` are standard uncertainties from the scatter of the points about the circle.
    """

    x: float
    y: float
    radius: float
    roundness: float
    rms: float
    u_centre: float
    u_radius: float


def algebraic(points: F64) -> tuple[float, float, float]:
    """Kåsa's circle: least squares of x² + y² + Dx + Ey + F, solved linearly. A start for the geometric fit only:
    on a short arc it is far too small. Points float[n, 2], n ≥ 3."""
    shift = points.mean(axis=0)
    u, v = (points - shift).T
    design = np.column_stack((u, v, np.ones(len(u))))
    solution = np.linalg.lstsq(design, u * u + v * v, rcond=None)[0]
    a, b = float(solution[0]) / 2.0, float(solution[1]) / 2.0
    radius = math.sqrt(max(float(solution[2]) + a * a + b * b, 0.0))
    return a + float(shift[0]), b + float(shift[1]), radius


def least_squares(points: F64) -> Circle:
    """LSCI: the circle with the least sum of squared radial deviations, by Gauss–Newton from the algebraic circle.

    Points float[n, 2], n ≥ 3 and not on a line (ValueError).
    """
    if len(points) < 3 or np.linalg.matrix_rank(points - points.mean(axis=0), tol=1e-9) < 2:
        raise ValueError("a circle needs at least three points that are not on a line")
    a, b, radius = algebraic(points)
    for _ in range(_MAX_STEPS):
        dx, dy = points[:, 0] - a, points[:, 1] - b
        distance = np.maximum(np.hypot(dx, dy), 1e-12)
        jacobian = np.column_stack((-dx / distance, -dy / distance, -np.ones(len(dx))))
        step = np.linalg.lstsq(jacobian, -(distance - radius), rcond=None)[0]
        a, b, radius = a + float(step[0]), b + float(step[1]), radius + float(step[2])
        if float(np.abs(step).max()) < 1e-12 * max(1.0, radius):
            break
    return _described(points, a, b, radius)


def _described(points: F64, a: float, b: float, radius: float) -> Circle:
    dx, dy = points[:, 0] - a, points[:, 1] - b
    distance = np.hypot(dx, dy)
    residual = distance - radius
    freedom = max(len(points) - 3, 1)
    variance = float(residual @ residual) / freedom
    safe = np.maximum(distance, 1e-12)
    jacobian = np.column_stack((dx / safe, dy / safe, np.ones(len(dx))))
    covariance = variance * np.linalg.pinv(jacobian.T @ jacobian)
    return Circle(
        x=a,
        y=b,
        radius=radius,
        roundness=float(residual.max() - residual.min()),
        rms=math.sqrt(float(residual @ residual) / len(points)),
        u_centre=math.sqrt(max(float(covariance[0, 0]), float(covariance[1, 1]), 0.0)),
        u_radius=math.sqrt(max(float(covariance[2, 2]), 0.0)),
    )
