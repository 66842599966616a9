"""How far a value that nobody touches has moved between beginning and end of a long stretch, and how far at most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64
from station.measure.centre import distance_uncertainty
from station.measure.correlation import effective_size
from station.measure.held import held_at
from station.measure.uncertainty import COVERAGE_FACTOR, combined, expanded, resolution, type_a

LEAST_FREEDOM = 2.0
NORMAL_2 = 0.97725
"""Φ(2)"""


@dataclass(frozen=True, slots=True)
class Level:
    """Mean of a value over some moments and its standard uncertainty, in the unit of the value."""

    mean: float
    u: float


@dataclass(frozen=True, slots=True)
class Drift:
    """`distance` from the first level to the last with its expanded uncertainty; `farthest`: the greatest distance from
    the first level that was seen, at `farthest_ns`, with its own (k = 2). In the unit of the values."""

    distance: float
    u_expanded: float
    farthest: float
    farthest_u: float
    farthest_ns: int


def level(t_ns: I64, values: F64, moments_ns: I64, step: float) -> Level:
    """Mean of the held value at evenly spaced moments (at least one). u: δ/√12 with s/√n_eff (JCGM 100, F.2.2.1, 4.2.3,
    4.2.7), the latter widened by Student's t of n_eff − 1 degrees of freedom over the normal 2 (G.3.2): slow noise
    leaves few independent values."""
    from scipy.special import stdtrit  # slow to load, and the window's first picture does without

    seen = held_at(t_ns, values, moments_ns)
    rms = float(seen.std())
    n = effective_size(seen) if rms > 0 else 1.0
    wider = float(stdtrit(max(n - 1.0, LEAST_FREEDOM), NORMAL_2)) / COVERAGE_FACTOR
    return Level(float(seen.mean()), combined(resolution(step), wider * type_a(rms, n)))


def drift(t_ns: I64, axes: Sequence[F64], steps: Sequence[float], first_ns: I64, last_ns: I64) -> Drift:
    """Drift of one axis (a trigger) or two (a stick) between the moments `first_ns` and `last_ns`.

    A distance cannot be negative: two axes by `centre.distance_uncertainty`, one axis k = 2. The farthest point is one
    report, so its own u is δ/√12 and that of the first level.
    """
    first = [level(t_ns, v, first_ns, s) for v, s in zip(axes, steps, strict=True)]
    last = [level(t_ns, v, last_ns, s) for v, s in zip(axes, steps, strict=True)]
    apart = [b.mean - a.mean for a, b in zip(first, last, strict=True)]
    u = [combined(a.u, b.u) for a, b in zip(first, last, strict=True)]
    away = np.sqrt(sum(np.square(v - a.mean) for v, a in zip(axes, first, strict=True)))
    at = int(np.argmax(away))
    farthest_u = expanded(combined(max(a.u for a in first), resolution(max(steps))))
    if len(axes) == 1:
        return Drift(abs(apart[0]), expanded(u[0]), float(away[at]), farthest_u, int(t_ns[at]))
    uncertain = distance_uncertainty(apart[0], apart[1], u[0], u[1])
    return Drift(float(np.hypot(apart[0], apart[1])), uncertain, float(away[at]), farthest_u, int(t_ns[at]))
