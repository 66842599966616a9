"""Instants and durations of a step (terms of IEEE 181-2011, as published tools use them).

A *reference level* is a share of the way from the low to the high state; a *transition duration* is the time between
two reference levels; a step has *settled* once it stays inside a band around its final state. An instant is that of
the first report at or beyond the level: no value is invented between two reports, so each instant is late by up to
one report interval and a duration has the uncertainty of two of them (measure.uncertainty.duration).
"""

from __future__ import annotations

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_MS

CLOSEST = 0.2
FASTEST_NS = 0.1 * NS_PER_MS
"""8000 reports a second, the fastest link there is, have 0.125 ms"""


def first_reached(values: F64, level: float, start: int = 0) -> int | None:
    """Index of the first entry from `start` on that is at or above `level`; None if there is none."""
    reached = values[start:] >= level
    index = int(np.argmax(reached)) if len(reached) else 0
    return start + index if len(reached) and reached[index] else None


def left_for_good(values: F64, level: float, stop: int) -> int:
    """Index of the first entry after the last one before `stop` that was at or below `level`; 0 if there was none."""
    below = np.flatnonzero(values[:stop] <= level)
    return int(below[-1]) + 1 if len(below) else 0


def settled(away: F64, band: float, start: int = 0) -> int:
    """Index of the first entry from `start` on after which `away` (distance from the final state) stays within
    `band`; the last index if it never does."""
    outside = np.flatnonzero(away > band)
    index = int(outside[-1]) + 1 if len(outside) else start
    return min(max(index, start), len(away) - 1)


def poll_interval(t_ns: I64) -> float:
    """The interval at which a device can report, in ns, from its closest reports (one that reports on change leaves
    out what did not change); 0 for fewer than two reports. Reports that arrived together do not count, and no device is
    taken for faster than `FASTEST_NS`."""
    if len(t_ns) < 2:
        return 0.0
    gap = np.diff(t_ns)
    apart = gap[gap > 0]
    return max(float(np.quantile(apart, CLOSEST)), FASTEST_NS) if len(apart) else FASTEST_NS


def interval_at(t_ns: I64, index: int, poll_ns: float) -> float:
    """By how much the report at `index` can be late, in ns: the interval before it, or two polls if that is less (a
    report or its predecessor can have been lost); never less than a poll (one that came together with its predecessor
    was held back)."""
    return max(min(float(t_ns[index] - t_ns[index - 1]), 2.0 * poll_ns), poll_ns) if index > 0 else poll_ns


def transition_ms(t_ns: I64, values: F64, low: float, high: float, shares: tuple[float, float]) -> float | None:
    """Duration of a rise between two shares (0…1) of the way from `low` to `high`; None if it is not reached.

    For example shares (0.1, 0.9): τ ln 9 for a first-order step.
    """
    begin = first_reached(values, low + shares[0] * (high - low))
    end = None if begin is None else first_reached(values, low + shares[1] * (high - low), begin)
    return None if begin is None or end is None else float(t_ns[end] - t_ns[begin]) / NS_PER_MS


def settling_ms(t_ns: I64, values: F64, low: float, high: float, band: float) -> float | None:
    """Time from the mid level until the rise stays within `band` (share of high − low) of `high`."""
    middle = first_reached(values, (low + high) / 2.0)
    if middle is None:
        return None
    end = settled(np.abs(values - high), band * abs(high - low), middle)
    return float(t_ns[end] - t_ns[middle]) / NS_PER_MS
