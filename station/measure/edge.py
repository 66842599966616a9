"""Where the edge of what a stick can reach crosses a direction, from pushes against it beside that direction.

Each push tells a place on the edge (along the direction, and across it) and, as far as the stick slid there, the slope
of the edge; two pushes that were aimed differently tell the slope between them. The edge is either shaped as the gate,
or a stop straight across the direction, or a stop that lies aslant at any angle. Each of the three is fitted to all
places and slopes by least squares, and counts by how well it explains them (Bayesian model averaging: Hoeting,
Madigan, Raftery & Volinsky, Stat. Sci. 14, 1999, 382), so that what remains open between them is part of the
uncertainty, and no threshold decides.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64
from station.measure.placement import CUSTOMARY_FRICTION_PCT
from station.measure.transition import UNLIKE_GAINS
from station.measure.uncertainty import Possible, interval

U_MIDDLE_PCT = CUSTOMARY_FRICTION_PCT / 2.0
"""standard uncertainty of where a stick rests, from releases to four sides"""
ASLANT = 0.35
"""standard deviation of the slopes of stops that lie aslant: 19°, up to some 45° (customary, no published source)"""
MOSTLY, CUSTOMARY_SHORT_PCT, SHORT_SPREAD_PCT = 0.9, 5.0, 1.5
"""an edge less than 5 % short of the end of the range is the gate's in nine cases of ten, one farther short of it a
stop's, with a soft passage between (customary, no published source); of stops as many lie straight across as aslant"""
LEAST_U_PCT = 1e-3
LIKELY = 1e-4
"""a shape less likely than this says nothing"""


@dataclass(frozen=True, slots=True)
class Slope:
    """Slope of the edge, along over across, and its standard uncertainty; infinite where nothing is told of it."""

    s: float
    u: float


@dataclass(frozen=True, slots=True)
class Place:
    """One place on the edge, %: `along` the direction and `across` it, `u` normal standard uncertainty of `along`.

    `shaped`, `u_shaped`: where an edge shaped as the gate through this place crosses the direction; `as_gate`: the
    slope that such an edge has here. `flat`: half a code, by which both are wrong evenly.
    """

    along: float
    across: float
    u: float
    slope: Slope
    shaped: float
    u_shaped: float
    as_gate: float
    flat: float


def crossing(places: Sequence[Place]) -> tuple[float, float]:
    """(value, expanded uncertainty) of where the edge through all of these places crosses the direction, %."""
    shapes = [_gate(places), _stop(places, 0.0), _stop(places, ASLANT)]
    gate = _share_of_gates(100.0 - shapes[0].at.middle)
    shares = (gate, (1.0 - gate) / 2.0, (1.0 - gate) / 2.0)
    logs = np.array([math.log(share) + shape.log for share, shape in zip(shares, shapes, strict=True)])
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    likely = [(float(w), shape.at) for w, shape in zip(weights, shapes, strict=True) if w > LIKELY]
    low, high = interval(likely)
    return (low + high) / 2.0, (high - low) / 2.0


@dataclass(frozen=True, slots=True)
class _Shape:
    """Where an edge of one shape crosses the direction; logarithm of the probability of all places and slopes if it has
    that shape, its level and slope integrated out, apart from what is common to all shapes."""

    at: Possible
    log: float


def _share_of_gates(short_pct: float) -> float:
    """Of edges that end so far short of the end of the range, how many are the gate's."""
    rise = min((short_pct - CUSTOMARY_SHORT_PCT) / SHORT_SPREAD_PCT, 50.0)
    return 1.0 - MOSTLY + (2.0 * MOSTLY - 1.0) / (1.0 + math.exp(rise))


def _whole(u: float, flat: float) -> float:
    """Standard uncertainty with the even part (JCGM 100, 4.3.7)."""
    return math.hypot(u, flat / math.sqrt(3.0), LEAST_U_PCT)


def _possible(at: float, variance: float, shares: F64, places: Sequence[Place]) -> Possible:
    """Of a weighted sum of places: codes are wrong alike or independently, whichever is more; the rest is normal."""
    flats = shares * np.array([p.flat for p in places])
    flat = max(abs(float(flats.sum())), float(np.hypot.reduce(flats)))
    return Possible(at, math.sqrt(max(variance - float(flats @ flats) / 3.0, LEAST_U_PCT**2)), flat)


def _gate(places: Sequence[Place]) -> _Shape:
    """Shaped as the gate: one level, about which the slopes say nothing more than whether they agree."""
    u = np.array([_whole(p.u_shaped, p.flat) for p in places])
    as_stop = np.array([_whole(p.u, p.flat) for p in places])
    values = np.array([p.shaped for p in places])
    shares = u**-2 / float((u**-2).sum())
    level, variance = float(shares @ values), 1.0 / float((u**-2).sum())
    log = (
        -0.5 * float((((values - level) / u) ** 2).sum()) + 0.5 * math.log(variance) - float(np.log(u / as_stop).sum())
    )
    for p in places:
        if math.isfinite(p.slope.u):
            whole = math.hypot(p.slope.u, U_MIDDLE_PCT / 100.0, 2.0 * p.as_gate * UNLIKE_GAINS)
            log -= 0.5 * ((p.slope.s - p.as_gate) / whole) ** 2 + math.log(whole / p.slope.u)
    return _Shape(_possible(level, variance, shares, places), log)


def _stop(places: Sequence[Place], aslant: float) -> _Shape:
    """A straight stop: level, and where it may lie `aslant` its slope, by weighted least squares of places, slopes, and
    of what slopes there are (JCGM 100, H.3; the evidence of a linear model with normal errors: MacKay, Neural Comput.
    4, 1992, 415)."""
    us = np.array([_whole(p.u, p.flat) for p in places])
    rows = [(1.0 / u, p.across / u, p.along / u) for p, u in zip(places, us, strict=True)]
    rows += [(0.0, 1.0 / p.slope.u, p.slope.s / p.slope.u) for p in places if math.isfinite(p.slope.u)]
    rows += [(0.0, 1.0 / aslant, 0.0)] if aslant else []
    table = np.array(rows)
    design, seen = (table[:, :2] if aslant else table[:, :1]), table[:, 2]
    covariance = np.linalg.inv(design.T @ design)
    gain = covariance @ design.T
    found = gain @ seen
    left = seen - design @ found
    log = -0.5 * float(left @ left) + 0.5 * math.log(float(np.linalg.det(covariance)))
    log -= math.log(aslant) if aslant else 0.0
    shares = gain[0, : len(places)] / us
    return _Shape(_possible(float(found[0]), float(covariance[0, 0]), shares, places), log)
