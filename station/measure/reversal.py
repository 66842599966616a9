"""Movement against the motion: the value goes back while the hand goes on."""

from __future__ import annotations

import numpy as np

from station.measure.arrays import F64
from station.measure.states import runs


def reversals(path: F64, up: bool, threshold: float) -> list[tuple[float, float]]:
    """Falls back behind the farthest point by more than `threshold` in one pass: (depth, where it began). O(n).

    `path` should be free of spikes (a running median). The farthest point so far is the reference, so that a
    reversal counts once, however many reports it lasts.
    """
    forward = path if up else -path
    farthest = np.maximum.accumulate(forward)
    behind = farthest - forward
    found = []
    for a, b in zip(*runs(behind > threshold), strict=True):
        found.append((float(behind[a:b].max()), float(path[max(int(a) - 1, 0)])))
    return found
