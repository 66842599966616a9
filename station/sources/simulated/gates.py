"""How far a stick can go in each direction: the gate's edge, and what stops the shaft short of it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from station.sources.simulated.design import GateShape

F64 = NDArray[np.float64]
_OCTAGON = np.deg2rad(22.5 + 45.0 * np.arange(8))


def gauge(xy: F64, shape: GateShape) -> F64:
    """Deflection of float[n, 2] as a share of the gate's edge in that direction, 0…1 inside.

    A round gate has its edge at 100; a square one at |x| = 100 and |y| = 100; an octagon has its corners at 100 on
    the axes and the diagonals, so that its flat sides come as near as cos(π/8) = 0.924.
    """
    if shape == "square":
        return np.asarray(np.abs(xy).max(axis=1) / 100.0)
    if shape == "octagon":
        across = xy[:, :1] * np.sin(_OCTAGON) + xy[:, 1:] * np.cos(_OCTAGON)
        return np.asarray(across.max(axis=1) / (100.0 * math.cos(math.pi / 8)))
    return np.asarray(np.hypot(xy[:, 0], xy[:, 1]) / 100.0)


def edge(bearing_deg: float, shape: GateShape) -> float:
    """Distance of the gate's edge from the centre at a bearing (0 = up, clockwise)."""
    angle = math.radians(bearing_deg)
    unit = np.array([[math.sin(angle), math.cos(angle)]])
    return 1.0 / float(gauge(unit, shape)[0])


def inside(xy: F64, shape: GateShape, cuts: tuple[tuple[float, float], ...]) -> F64:
    """The positions, those beyond the gate or a cut drawn back to it along their own direction.

    A cut (bearing, pct) is a straight stop across the bearing at that share of the edge there.
    """
    over = gauge(xy, shape)
    for bearing, pct in cuts:
        angle = math.radians(bearing)
        along = xy[:, 0] * math.sin(angle) + xy[:, 1] * math.cos(angle)
        over = np.maximum(over, along / (pct / 100.0 * edge(bearing, shape)))
    return np.asarray(xy / np.maximum(over, 1.0)[:, None])
