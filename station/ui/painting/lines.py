"""Lines of many points for the painter, straight from arrays."""

from __future__ import annotations

from typing import Any

import numpy as np
from PySide6.QtGui import QPolygonF
from shiboken6 import VoidPtr

from station.sheets.signals import F64

_memory: Any = VoidPtr  # its stub knows none of the arguments that it takes
_POINT_BYTES = 16


def polyline(x: F64, y: F64) -> QPolygonF:
    """The points (x[n], y[n]) in pixels. They are written into Qt's own memory: a QPointF for each takes 0.5 µs."""
    line = QPolygonF()
    if not len(x):
        return line
    line.resize(len(x))
    place = np.frombuffer(_memory(line.data(), line.size() * _POINT_BYTES, True), np.float64).reshape(-1, 2)
    place[:, 0] = x
    place[:, 1] = y
    return line
