"""Gate shapes: how far is it to the edge in each direction?

The gauge of a gate is 1 on its edge when the stick reaches 100 % along the axes: round √(x² + y²); square
max(|x|, |y|), so that its corners lie at √2; octagon with corners on the axes and diagonals, whose flat sides come
as near as cos(π/8) = 0.924.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from station.measure.arrays import F64

Gate = Literal["round", "square", "octagon"]
_NORMALS = np.deg2rad(22.5 + 45.0 * np.arange(4))


def reach(x: F64, y: F64, gate: Gate) -> F64:
    """Deflection as a share of the gate's edge in that direction, in the unit of x and y."""
    if gate == "square":
        return np.maximum(np.abs(x), np.abs(y))
    if gate == "octagon":
        across = np.abs(np.cos(_NORMALS)[:, None] * x + np.sin(_NORMALS)[:, None] * y)
        return np.asarray(across.max(axis=0) / math.cos(math.pi / 8))
    return np.hypot(x, y)
