"""An accelerometer and a gyro against gravity: six sides up, one after the other.

With a side up and the unit at rest, an accelerometer shows 1 g; the unit need not stand upright, since whatever its
tilt the sum of the squares of its three axes is 1 g². So offsets b and sensitivities s are those for which
Σ ((aᵢ − bᵢ)/sᵢ)² = 1 at every side (the gravity-based characterization of Geist, Afridi, McGray and Gaitan, J. Res.
NIST 122, 2017, 32, without cross-sensitivity; six sides as in the tumble test of IEEE Std 1293). For a unit that stands
upright it is the six-position method: s = (a₊ − a₋)/2, b = (a₊ + a₋)/2.

The gyro is compared with how far gravity turned from one side to the next: a rotation from one direction to another
turns by at least the angle between them, and by that angle where it is about the axis normal to both.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS, NS_PER_S
from station.measure.correlation import effective_size

GRID_NS = 10 * NS_PER_MS
WINDOW_NS = 200 * NS_PER_MS
LEAST_NS = 500 * NS_PER_MS
"""a side counts if it was held still for so long"""
STILL = 0.04
"""still: each axis stays within so much of gravity (rms over 0.2 s; common practice, no source)"""
UPRIGHT = 0.8
"""a side is that of the axis with at least so much of gravity: within 37°"""
TREMOR = 0.004
"""standard uncertainty in g of the mean over a side that a hand holds (common practice, no source)"""
LOCAL_GRAVITY = 0.0027 / math.sqrt(3.0)
"""relative standard uncertainty of 1 g: 9.780…9.832 m/s² on earth (Geodetic Reference System 1980), rectangular"""
TURNS_DEG = (60.0, 120.0)
ASIDE = 0.35
"""a turn counts for one axis if the others turned by no more than this share of it"""


@dataclass(frozen=True, slots=True)
class Side:
    """A stretch in which the unit was held still. `axis` 0…2 and `sign` ±1 of the side that is up; axis −1: none is."""

    axis: int
    sign: int
    begin_ns: int
    end_ns: int
    mean: F64
    u: F64


def sides(t_ns: I64, accel: F64, end_ns: int) -> tuple[Side, ...]:
    """All stretches held still; accel float[n, 3] in any unit. O(n)."""
    if len(t_ns) < 2 or end_ns - int(t_ns[0]) < LEAST_NS:
        return ()
    moments = held.grid_ns(int(t_ns[0]), end_ns, GRID_NS)
    values = np.stack([held.held_at(t_ns, accel[:, k], moments) for k in range(3)], axis=1)
    gravity = float(np.median(np.sqrt((values**2).sum(axis=1))))
    width = WINDOW_NS // GRID_NS
    if len(values) <= width or gravity <= 0.0:
        return ()
    windows = np.lib.stride_tricks.sliding_window_view(values, width, axis=0)
    still = np.asarray((windows.std(axis=2) < STILL * gravity).all(axis=1))
    edges = np.flatnonzero(np.diff(np.concatenate(([False], still, [False])).astype(np.int8)))
    found = []
    for first, stop in zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True):
        if (stop - first + width - 1) * GRID_NS < LEAST_NS:
            continue
        whole = slice(first, stop + width - 1)
        if _keeps(values[whole], gravity):
            found.append(_side(values[whole], moments[whole], gravity))
    return tuple(found)


def _keeps(values: F64, gravity: float) -> bool:
    """A slow turn is no side: it strays from its own middle."""
    near = (np.abs(values - np.median(values, axis=0)) < 4.0 * STILL * gravity).all(axis=1)
    return bool(near.mean() > 0.9)


def _side(values: F64, moments: I64, gravity: float) -> Side:
    mean = values.mean(axis=0)
    n = np.array([effective_size(values[:, k]) for k in range(3)])
    u = np.hypot(values.std(axis=0) / np.sqrt(n), TREMOR * gravity)
    norm = float(np.sqrt((mean**2).sum()))
    axis = int(np.argmax(np.abs(mean)))
    up = norm > 0.5 * gravity and abs(float(mean[axis])) >= UPRIGHT * norm
    sign = 1 if mean[axis] > 0 else -1
    return Side(axis if up else -1, sign if up else 0, int(moments[0]), int(moments[-1]), mean, u)


def seen(found: Sequence[Side]) -> set[tuple[int, int]]:
    """(axis, sign) of the sides that were up."""
    return {(s.axis, s.sign) for s in found if s.axis >= 0}


@dataclass(frozen=True, slots=True)
class Scale:
    """Offset and sensitivity of each axis with their standard uncertainties, float[3]; unit of the accelerometer."""

    offset: F64
    u_offset: F64
    sensitivity: F64
    u_sensitivity: F64


def six_sides(found: Sequence[Side]) -> Scale | None:
    """Offsets and sensitivities from all sides that were up; None until all six were, or if they do not fit."""
    used = [s for s in found if s.axis >= 0]
    if len(seen(used)) < 6:
        return None
    means, u = np.array([s.mean for s in used]), np.array([s.u for s in used])
    solved = _solved(means)
    if solved is None:
        return None
    variance = np.zeros(6)
    for k in range(len(used)):
        for axis in range(3):
            shifted = means.copy()
            shifted[k, axis] += u[k, axis]
            other = _solved(shifted)
            if other is None:
                return None
            variance += (other - solved) ** 2
    u_all = np.sqrt(variance)
    u_sensitivity = np.hypot(u_all[3:], LOCAL_GRAVITY * solved[3:])
    return Scale(solved[:3], u_all[:3], solved[3:], u_sensitivity)


def _solved(means: F64) -> F64 | None:
    """(offset x, y, z, sensitivity x, y, z): Σ p a² + Σ q a = 1 by least squares, then completed to squares."""
    matrix = np.concatenate((means**2, means), axis=1)
    solution, _, rank, _ = np.linalg.lstsq(matrix, np.ones(len(means)), rcond=None)
    p, q = solution[:3], solution[3:]
    if rank < 6 or (p <= 0).any():
        return None
    offset = -q / (2.0 * p)
    return np.concatenate((offset, np.sqrt((1.0 + (p * offset**2).sum()) / p)))


@dataclass(frozen=True, slots=True)
class Turn:
    """From one side to the next, about `axis`: by how much gravity turned, and how far the gyro says that it went, both
    in degrees. Which way round is a matter of how a model counts, so both are positive."""

    axis: int
    gravity_deg: float
    gyro_deg: float


def turns(found: Sequence[Side], t_ns: I64, gyro: F64, offset: F64, scale: Scale) -> tuple[Turn, ...]:
    """Every turn from a side to the next that was about one axis, as far as gravity shows. gyro float[n, 3].

    `offset` float[3]: of the gyro at rest.
    """
    used = [s for s in found if s.axis >= 0]
    result = []
    for one, other in pairwise(used):
        before, after = (_direction(s.mean, scale) for s in (one, other))
        normal = np.cross(after, before)
        sine = float(np.linalg.norm(normal))
        angle = math.degrees(math.atan2(sine, float(before @ after)))
        if not TURNS_DEG[0] <= angle <= TURNS_DEG[1]:
            continue
        axis = int(np.argmax(np.abs(normal)))
        middles = [(side.begin_ns + side.end_ns) // 2 for side in (one, other)]  # its ends are part of the turn
        moments = held.grid_ns(middles[0], middles[1], NS_PER_MS)
        rate = np.stack([held.held_at(t_ns, gyro[:, k], moments) for k in range(3)], axis=1) - offset
        step_s = NS_PER_MS / NS_PER_S
        about = rate.sum(axis=0) * step_s
        aside = np.abs(np.delete(about, axis))
        if abs(normal[axis]) < 0.9 * sine or (aside > ASIDE * angle).any():
            continue
        result.append(Turn(axis, angle, abs(float(about[axis]))))
    return tuple(result)


def _direction(mean: F64, scale: Scale) -> F64:
    true = (mean - scale.offset) / scale.sensitivity
    return np.asarray(true / np.linalg.norm(true))
