"""Passes of a value across its range: where a slow sweep begins and ends."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS
from station.measure.states import runs, two_state

TOP_SHARE = 0.95
NEAR_TOP = 3.0
LEAST_STAY_NS = 50 * NS_PER_MS
"""a shorter stay at an end is a spike to the rail"""
END_DEPTH = 0.15
"""an end reaches from its level inwards by this share of the way between the two levels"""


@dataclass(frozen=True, slots=True)
class Pass:
    """Entries first…stop−1 in which the value went from one end to the other; `up` when it rose."""

    first: int
    stop: int
    up: bool


def passes(t_ns: I64, values: F64, low: float, high: float) -> list[Pass]:
    """Crossings from below `low` to above `high` and back, in order, each from turning point to turning point.

    A turning point is the middle of the time that the value spent near its end; "near" is within `NEAR_TOP` of the
    level that it kept above for a twentieth of the time there, so that a spike to the rail is not taken for the end.
    O(n log n).
    """
    if len(values) == 0 or not low < high:
        return []
    depth = END_DEPTH * (high - low)
    tops = [(int(a), int(b), True) for a, b in zip(*runs(two_state(values, high - depth, high)), strict=True)]
    bottoms = [(int(a), int(b), False) for a, b in zip(*runs(two_state(-values, -low - depth, -low)), strict=True)]
    stays = [(a, b, top) for a, b, top in tops + bottoms if t_ns[min(b, len(t_ns) - 1)] - t_ns[a] >= LEAST_STAY_NS]
    turns = [(_turning_point(t_ns, values if top else -values, a, b), top) for a, b, top in _merged(stays)]
    return [Pass(first, stop + 1, up) for (first, _), (stop, up) in pairwise(turns)]


def _merged(ends: list[tuple[int, int, bool]]) -> list[tuple[int, int, bool]]:
    """Stays at the ends in order, those at one end without the other between them as one (a spike splits a stay)."""
    merged: list[tuple[int, int, bool]] = []
    for first, stop, top in sorted(ends):
        if merged and merged[-1][2] == top:
            merged[-1] = (merged[-1][0], stop, top)
        else:
            merged.append((first, stop, top))
    return merged


def _turning_point(t_ns: I64, values: F64, first: int, stop: int) -> int:
    """The entry in the middle of the time for which the value was near its greatest within first…stop−1."""
    end_ns = int(t_ns[min(stop, len(t_ns) - 1)])
    part = values[first:stop]
    hold = held.hold_s(t_ns[first:stop], int(t_ns[first]), end_ns)
    near = np.where(part >= held.quantile(part, hold, TOP_SHARE) - NEAR_TOP, hold, 0.0)
    so_far = np.cumsum(near)
    return first + min(int(np.searchsorted(so_far, so_far[-1] / 2.0)), stop - first - 1)
