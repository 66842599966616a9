"""Movement against the motion: the value goes back while the hand goes on."""

from __future__ import annotations

import numpy as np

from station.measure.arrays import F64, NS_PER_MS
from station.measure.filters import median_filter
from station.measure.spikes import EDGE_NS, moved
from station.measure.states import runs

SMOOTH_NS = 16 * NS_PER_MS
ABRUPT_SHARE = 0.5


def smoothed(values: F64, interval_ns: float) -> F64:
    """The path without short flickers: a running median over `SMOOTH_NS` (three entries at least)."""
    if len(values) < 3:
        return values
    width = max(3, int(SMOOTH_NS / interval_ns) // 2 * 2 + 1)
    return median_filter(values, width)


def reversals(values: F64, path: F64, up: bool, threshold: float, interval_ns: float) -> list[tuple[float, float]]:
    """Gradual falls back behind the farthest point by more than `threshold` in one pass: (depth, its middle).

    `path` is the series without short flickers (`smoothed`). The farthest point so far is the reference, so that a
    reversal counts once, however many reports it lasts. What falls back in one jump (half of its depth within a few
    ms) is a bad contact, not a track that runs backwards. Entries at an even interval. O(n).
    """
    if len(values) < 3:
        return []
    sign = 1.0 if up else -1.0
    fall = -sign * moved(values, max(1, round(EDGE_NS / interval_ns)))
    forward = sign * path
    behind = np.maximum.accumulate(forward) - forward
    found = []
    for a, b in zip(*runs(behind > 0), strict=True):
        depth = float(behind[a:b].max())
        if depth > threshold and float(fall[a:b].max()) < ABRUPT_SHARE * depth:
            farthest = float(forward[max(int(a) - 1, 0)])
            found.append((depth, sign * (farthest - depth / 2.0)))
    return found
