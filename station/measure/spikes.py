"""Spikes off the path of a moving value, and movement against the motion.

A spike is a departure from a running median that is over before the median can follow. The median of a monotone
sequence is its middle entry, so an even or uneven movement in one direction shows no departure at all, at any
speed; neither does a slow change of direction. The window is set in time, so that the same fault is found at
125 Hz and at 8 kHz.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter

from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.states import runs

WINDOW_NS = 60 * NS_PER_MS
TOGETHER_NS = 20 * NS_PER_MS
"""departures no farther apart than this are one spike"""


@dataclass(frozen=True, slots=True)
class Spike:
    """Height off the running median and where on the track it stood (the median there), both in the values' unit."""

    t_ns: int
    height: float
    at: float


def departures(t_ns: I64, values: F64, window_ns: int = WINDOW_NS) -> tuple[F64, F64]:
    """Running median and the signed departure of each value from it. O(n log w)."""
    width = window_entries(t_ns, window_ns)
    if len(values) < 3:
        return values.copy(), np.zeros(len(values))
    median = median_filter(values, width, mode="nearest")
    return median, values - median


def window_entries(t_ns: I64, window_ns: int) -> int:
    """The window as an odd number of entries, from the usual interval; at least 3."""
    if len(t_ns) < 2:
        return 3
    usual = max(float(np.median(np.diff(t_ns))), 1.0)
    return max(3, int(window_ns / usual) // 2 * 2 + 1)


def spikes(t_ns: I64, median: F64, departure: F64, threshold: float, counted: Bool) -> list[Spike]:
    """Departures beyond `threshold`, neighbours joined; only those of the entries marked in `counted`."""
    first, stop = runs((np.abs(departure) > threshold) & counted)
    found: list[Spike] = []
    last_end = -(10**18)
    for a, b in zip(first, stop, strict=True):
        top = int(a) + int(np.argmax(np.abs(departure[a:b])))
        one = Spike(int(t_ns[top]), float(abs(departure[top])), float(median[top]))
        if int(t_ns[a]) - last_end <= TOGETHER_NS:
            if one.height > found[-1].height:
                found[-1] = one
        else:
            found.append(one)
        last_end = int(t_ns[b - 1])
    return found
