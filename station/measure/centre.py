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
from station.measure.uncertainty import combined, difference_resolution, expanded, half_width, type_a

WINDOWS = 6
"""peak to peak scatters from one such part of the stretch to the next about as it does from one try to the next"""
TWO_SIDED_95 = 1.96
RAYLEIGH_95 = math.sqrt(-2.0 * math.log(0.05))
"""95 % of a circular normal scatter lie within 2.448 standard deviations of its middle"""


@dataclass(frozen=True, slots=True)
class AxisRest:
    """One axis at rest. All in the unit of the values; `u_…` are standard uncertainties, that of the mean without the
    resolution; `n` the effective size of the mean, `n_rms` that of the mean square."""

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

    u(mean): s/√n_eff. u(rms): `measure.spread`. u(p-p): δ/√6, the difference of two readings, and
    its scatter over the parts of the stretch.
    """
    pp = _peak_to_peak(t_ns, values, begin_ns, end_ns)
    edges = np.linspace(begin_ns, end_ns, WINDOWS + 1).astype(np.int64).tolist()
    parts = [_peak_to_peak(t_ns, values, a, b) for a, b in pairwise(edges)]
    rms = spread(t_ns, values, begin_ns, end_ns, step)
    mean = measured_mean(t_ns, values, begin_ns, end_ns, step)
    return AxisRest(
        mean=mean.value,
        u_mean=type_a(mean.rms, mean.n),
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


def distance_uncertainty(x: float, y: float, u_x: float, u_y: float, codes: tuple[float, float] = (0.0, 0.0)) -> float:
    """Expanded uncertainty of √(x² + y²). `codes`: half a code of either axis, where each is off by an even error too.

    By propagation u² = (x²u_x² + y²u_y²)/r², with k = 2; with an even part 95 % of normal and even together
    (`uncertainty.half_width`), the lesser of the two even parts as a normal one. Near the centre that formula fails,
    because the distance cannot be negative: there the radius that holds 95 % of a circular normal scatter is the bound,
    2.448 standard deviations; of an even part the same multiple of what holds 95 % of one axis.
    """
    r = math.hypot(x, y)
    if not any(codes):
        largest = RAYLEIGH_95 * max(u_x, u_y)
        return largest if r <= largest else expanded(math.hypot(x * u_x, y * u_y) / r)
    largest = RAYLEIGH_95 / TWO_SIDED_95 * max(map(half_width, (u_x, u_y), codes))
    if r <= largest:
        return largest
    less, flat = sorted((abs(x) * codes[0] / r, abs(y) * codes[1] / r))
    return half_width(math.hypot(x * u_x / r, y * u_y / r, less / math.sqrt(3.0)), flat)
