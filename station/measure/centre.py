"""Where a stick rests: mean position, distance from the centre, bearing, noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

from station.measure import held, noise
from station.measure.arrays import F64, I64
from station.measure.means import measured_mean
from station.measure.uncertainty import combined, difference_resolution, expanded, type_a

RAYLEIGH_95 = math.sqrt(-2.0 * math.log(0.05))
"""95 % of a circular normal scatter lie within 2.448 standard deviations of its middle"""


@dataclass(frozen=True, slots=True)
class AxisRest:
    """One axis at rest. All in the unit of the values; `u_mean` is a standard uncertainty, `n` the effective size."""

    mean: float
    u_mean: float
    rms: float
    u_rms: float
    pp: float
    u_pp: float
    n: float


def axis_rest(t_ns: I64, values: F64, begin_ns: int, end_ns: int, step: float) -> AxisRest:
    """Time-weighted mean, rms and peak to peak over [begin, end].

    u(mean): δ/√12 combined with s/√n_eff. u(rms): half of δ/√6 combined with s/√(2 n_eff). u(p-p): δ/√6, the
    difference of two readings.
    """
    part = held.stretch(t_ns, begin_ns, end_ns)
    pp = noise.peak_to_peak(values[part], held.hold_s(t_ns[part], begin_ns, end_ns))
    mean = measured_mean(t_ns, values, begin_ns, end_ns, step)
    return AxisRest(
        mean=mean.value,
        u_mean=mean.u,
        rms=mean.rms,
        u_rms=combined(difference_resolution(step) / 2.0, type_a(mean.rms, 2.0 * mean.n)),
        pp=pp,
        u_pp=difference_resolution(step),
        n=mean.n,
    )


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
