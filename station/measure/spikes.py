"""Spikes off the path of a moving value, and movement against the motion.

A spike is a departure from a running median that is over before the median can follow. The median of a monotone
sequence is its middle entry, so an even or uneven movement in one direction shows no departure at all, at any
speed; neither does a slow change of direction. A step (a jump over missing codes) is no spike either: a spike also
lies outside what the value was just before and just after. The windows are set in time, so that the same fault is
found at 125 Hz and at 8 kHz, reported on change or always.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.filters import median_filter
from station.measure.states import runs
from station.measure.steps import FASTEST_NS, poll_interval

SHORT_NS = 60 * NS_PER_MS
LONGER = ((120 * NS_PER_MS, 3.0), (240 * NS_PER_MS, 6.0))
"""longer windows for departures that last longer, and the least height (%) from which they count: over such a time the
tremor of a hand can itself turn back by up to that much"""
LONGEST_NS = LONGER[-1][0]
FINEST_NS = 2 * NS_PER_MS
"""the longer windows look at the value this often at most"""
WORTH_A_LOOK = 1.0
"""smaller departures are not examined for being a step; in the values' unit (%)"""
OUTSIDE_SHARE = 0.35
MOST_IN_SIDE = 16
"""entries that stand for each side's half window"""
EDGE_NS, EDGE_SHARE = 4 * NS_PER_MS, 0.4
"""a spike moves by this share of its height within this time (or from one report to the next)"""
TOGETHER_NS = 20 * NS_PER_MS
"""departures no farther apart than this are one spike"""


@dataclass(frozen=True, slots=True)
class Spike:
    """Height off the path and where on the track it stood (the path there), both in the values' unit."""

    t_ns: int
    height: float
    at: float


def at_every_poll(t_ns: I64, values: F64) -> tuple[I64, F64]:
    """The series with a value that held for several polls repeated at each, so that entries are about even in time.

    A device that reports on change leaves out what did not change; the windows below count entries. The poll interval
    is taken from the closest reports; O(n + duration / interval).
    """
    if len(t_ns) < 3:
        return t_ns, values
    gap, poll = np.diff(t_ns), poll_interval(t_ns)
    times = np.append(np.clip(np.rint(gap / poll), 1, LONGEST_NS / poll + 1).astype(np.int64), 1)
    if int(times.max()) == 1:
        return t_ns, values
    index = np.repeat(np.arange(len(t_ns)), times)
    since = np.arange(len(index)) - np.repeat(np.cumsum(times) - times, times)
    return t_ns[index] + (since * poll).astype(np.int64), values[index]


def departures(values: F64, interval_ns: float) -> tuple[F64, F64]:
    """The path and the signed departure of each value from it, for one pass with entries at an even interval.

    The path is the running median over the longest window, which no spike reaches. A departure is seen against the
    shortest window that shows it, since the hand itself departs from a long one; one that outlasts half of a window
    is seen by the next longer. O(n log w).
    """
    if len(values) < 3:
        return values.copy(), np.zeros(len(values))
    path, departure = _against(values, SHORT_NS / interval_ns)
    every = max(1, int(FINEST_NS / interval_ns))
    thinned = slice(None, None, every)
    for window_ns, least in LONGER:
        median, longer = (
            np.repeat(series, every)[: len(values)]
            for series in _against(values[thinned], window_ns / (every * interval_ns))
        )
        departure = np.where((np.abs(longer) > least) & (np.abs(longer) > np.abs(departure)), longer, departure)
        path = median
    return path, departure


def _against(values: F64, window: float) -> tuple[F64, F64]:
    """Running median over a window of so many entries and the departures from it that stand out from both sides."""
    width = max(3, int(window) // 2 * 2 + 1)
    width = min(width, len(values) // 2 * 2 - 1) if len(values) >= 4 else 3
    median = median_filter(values, width)
    departure = values - median
    _forgive_steps(values, departure, width // 2)
    return median, departure


def usual_interval(t_ns: I64) -> float:
    """Median interval between entries, at least `FASTEST_NS`."""
    return max(float(np.median(np.diff(t_ns))), FASTEST_NS) if len(t_ns) > 1 else FASTEST_NS


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


def stands_out(values: F64, departure: F64, step: float, interval_ns: float) -> Bool:
    """Entries whose departure begins or ends abruptly: within `EDGE_NS` the value moves by a good part of its height.

    A bad contact jumps; what comes and goes gradually is the hand's, or a track that runs backwards (measure.reversal).
    One `step` of resolution may always be crossed; departures that are not worth a look stand out as they are.
    """
    reach = max(1, round(EDGE_NS / interval_ns))
    jump = np.abs(moved(values, reach))
    size = np.abs(departure)
    found = size <= WORTH_A_LOOK
    first, stop = runs(~found)
    for a, b in zip(first, stop, strict=True):
        found[a:b] = jump[a : b + reach].max() >= EDGE_SHARE * size[a:b].max() + step
    return found


def spikes(t_ns: I64, values: F64, path: F64, departure: F64, threshold: float, counted: Bool) -> list[Spike]:
    """Departures beyond `threshold` of the entries in `counted`, neighbours joined.

    Height and place are measured against the line from just before the spike to just after it: while it lasts, the
    hand moves on.
    """
    first, stop = runs((np.abs(departure) > threshold) & counted)
    found: list[Spike] = []
    last_end = -(10**18)
    for a, b in zip(first.tolist(), stop.tolist(), strict=True):
        top = a + int(np.argmax(np.abs(departure[a:b])))
        one = _measured(t_ns, values, path, departure, top)
        if int(t_ns[a]) - last_end <= TOGETHER_NS:
            if one.height > found[-1].height:
                found[-1] = one
        else:
            found.append(one)
        last_end = int(t_ns[b - 1])
    return found


def _measured(t_ns: I64, values: F64, path: F64, departure: F64, top: int) -> Spike:
    """The spike around its top, from where it begins to where it ends at half of its height."""
    sign = 1.0 if departure[top] > 0 else -1.0
    low = int(np.searchsorted(t_ns, t_ns[top] - LONGEST_NS // 2))
    high = int(np.searchsorted(t_ns, t_ns[top] + LONGEST_NS // 2, side="right"))
    part = sign * (values[low:high] - path[low:high])
    below = part < 0.5 * part[top - low]
    before = low + int(np.flatnonzero(below[: top - low])[-1]) if below[: top - low].any() else low
    later = np.flatnonzero(below[top - low :])
    after = top + int(later[0]) if len(later) else high - 1
    inside = slice(before + 1, max(after, before + 2))
    line = np.interp(t_ns[inside], (t_ns[before], t_ns[after]), (values[before], values[after]))
    height = sign * (values[inside] - line)
    at = int(np.argmax(height))
    return Spike(int(t_ns[before + 1 + at]), float(height[at]), float(line[at]))


def moved(values: F64, reach: int) -> F64:
    """For each entry how far the value moved, with sign, since `reach` entries before it."""
    before = np.concatenate((np.repeat(values[:1], reach), values))[: len(values)]
    return values - before
