"""Spikes off the path of a moving value, and movement against the motion.

A spike is a departure from a running median that is over before the median can follow. The median of a monotone
sequence is its middle entry, so an even or uneven movement in one direction shows no departure at all, at any
speed; neither does a slow change of direction. A step (a jump over missing codes) is no spike either: a spike also
lies outside what the value was just before and just after. The window is set in time, so that the same fault is
found at 125 Hz and at 8 kHz; a value that held for longer than the window is where the hand stopped, not a spike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter

from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.states import runs

WINDOW_NS = 60 * NS_PER_MS
WORTH_A_LOOK = 1.0
"""smaller departures are not examined for being a step; in the values' unit (%)"""
OUTSIDE_SHARE = 0.35
MOST_IN_SIDE = 16
"""entries that stand for each side's half window"""
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
    departure = values - median
    departure[:-1][np.diff(t_ns) > window_ns] = 0.0
    _forgive_steps(values, departure, width // 2)
    return median, departure


def _forgive_steps(values: F64, departure: F64, half: int) -> None:
    """Set to zero (in place) the departures that do not stand out from both sides.

    `outside` is how far the value lies outside the range between the median before it and the median after it. A
    spike on a slow ramp is outside by nearly its height; the edge of a step, or noise on it, by hardly anything.
    """
    doubtful = np.flatnonzero(np.abs(departure) > WORTH_A_LOOK)
    if len(doubtful) == 0:
        return
    padded = np.pad(values, half, mode="edge")
    window = np.unique(np.linspace(0, half - 1, min(half, MOST_IN_SIDE)).astype(np.int64))
    before = np.median(padded[doubtful[:, None] + window], axis=1)
    after = np.median(padded[doubtful[:, None] + half + 1 + window], axis=1)
    value = values[doubtful]
    outside = np.maximum(value - np.maximum(before, after), np.minimum(before, after) - value)
    departure[doubtful[outside < OUTSIDE_SHARE * np.abs(departure[doubtful])]] = 0.0


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
