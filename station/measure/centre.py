"""Where a stick rests: mean position, distance from the centre, bearing, noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

from station.measure import held, noise
from station.measure.arrays import F64, I64, NS_PER_MS
from station.measure.correlation import effective_size
from station.measure.uncertainty import combined, difference_resolution, expanded, resolution, type_a

RAYLEIGH_95 = math.sqrt(-2.0 * math.log(0.05))
"""95 % of a circular normal scatter lie within 2.448 standard deviations of its middle"""


@dataclass(frozen=True, slots=True)
class AxisRest:
    """One axis at rest. All in the unit of the values; `u_mean` is a standard uncertainty, `n` the effective size."""

    mean: float
    u_mean: float
    rms: float
    pp: float
    u_pp: float
    n: float


def axis_rest(t_ns: I64, values: F64, begin_ns: int, end_ns: int, step: float) -> AxisRest:
    """Time-weighted mean, rms and peak to peak over [begin, end].

    u(mean): δ/√12 combined with s/√n_eff. u(p-p): δ/√6, the difference of two readings.
    """
    part = held.stretch(t_ns, begin_ns, end_ns)
    t, v = t_ns[part], values[part]
    hold = held.hold_s(t, begin_ns, end_ns)
    rms = held.std(v, hold)
    n = _effective(t, v, begin_ns, end_ns) if rms > 0 else 1.0
    return AxisRest(
        mean=held.mean(v, hold),
        u_mean=combined(resolution(step), type_a(rms, n)),
        rms=rms,
        pp=noise.peak_to_peak(v, hold),
        u_pp=difference_resolution(step),
        n=n,
    )


def _effective(t_ns: I64, values: F64, begin_ns: int, end_ns: int) -> float:
    """Effective number of observations, from the value seen once each report interval (at most 4096 times)."""
    finest = max((end_ns - begin_ns) // 4096, NS_PER_MS // 8)
    usual = (end_ns - begin_ns) // max(len(t_ns), 1)
    moments = held.grid_ns(begin_ns, end_ns, int(max(finest, usual, 1)))
    return effective_size(held.held_at(t_ns, values, moments))


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
