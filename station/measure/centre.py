"""Where a stick rests: mean position, distance from the centre, bearing, noise."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from station.measure import held, noise
from station.measure.arrays import F64, I64
from station.measure.means import measured_mean
from station.measure.spread import spread
from station.measure.uncertainty import combined, difference_resolution, expanded

WINDOWS = 6
"""peak to peak scatters from one such part of the stretch to the next about as it does from one try to the next"""
RAYLEIGH_95 = math.sqrt(-2.0 * math.log(0.05))
"""95 % of a circular normal scatter lie within 2.448 standard deviations of its middle"""


@dataclass(frozen=True, slots=True)
class AxisRest:
    """One axis at rest. All in the unit of the values; `u_…` are standard uncertainties, `n` the effective size of the
    mean, `n_rms` that of the mean square."""

    mean: float
    u_mean: float
    rms: float
    u_rms: float
    pp: float
    u_pp: float
    n: float
    n_rms: float


def axis_rest(t_ns: I64, values: F64, begin_ns: int, end_ns: int, step: float) -> AxisRest:
    """Time-weighted mean, rms and peak to peak over [begin, end].

    u(mean): δ/√12 combined with s/√n_eff. u(rms): `measure.spread`. u(p-p): δ/√6, the difference of two readings, and
    its scatter over the parts of the stretch.
    """
    pp = _peak_to_peak(t_ns, values, begin_ns, end_ns)
    edges = np.linspace(begin_ns, end_ns, WINDOWS + 1).astype(np.int64).tolist()
    parts = [_peak_to_peak(t_ns, values, a, b) for a, b in pairwise(edges)]
    rms = spread(t_ns, values, begin_ns, end_ns, step)
    mean = measured_mean(t_ns, values, begin_ns, end_ns, step)
    return AxisRest(
        mean=mean.value,
        u_mean=mean.u,
        rms=rms.rms,
        u_rms=rms.u,
        pp=pp,
        u_pp=combined(difference_resolution(step), float(np.std(parts, ddof=1))),
        n=mean.n,
        n_rms=rms.n,
    )


def _peak_to_peak(t_ns: I64, values: F64, begin_ns: int, end_ns: int) -> float:
    part = held.stretch(t_ns, begin_ns, end_ns)
    return noise.peak_to_peak(values[part], held.hold_s(t_ns[part], begin_ns, end_ns))


def bearing_deg(x: float, y: float) -> float:
    """Bearing of a point, 0 = up, clockwise, [0, 360)."""
    return math.degrees(math.atan2(x, y)) % 360.0


def distance_uncertainty(x: float, y: float, u_x: float, u_y: float) -> float:
    """Expanded uncertainty of √(x² + y²).

    By propagation u² = (x²u_x² + y²u_y²)/r². Near the centre that formula fails, because the distance cannot be
    negative: there the radius that holds 95 % of a circular normal scatter is the bound.
    """
    r = math.hypot(x, y)
    largest = max(u_x, u_y)
    if r <= RAYLEIGH_95 * largest:
        return RAYLEIGH_95 * largest
    return expanded(math.hypot(x * u_x, y * u_y) / r)
