"""Passes of a value across its range: where a slow sweep begins and ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_S
from station.measure.states import runs, two_state


@dataclass(frozen=True, slots=True)
class Pass:
    """Entries first…stop−1 in which the value went from one end to the other; `up` when it rose."""

    first: int
    stop: int
    up: bool
    duration_s: float


def passes(t_ns: I64, values: F64, low: float, high: float) -> list[Pass]:
    """Crossings from below `low` to above `high` and back, in order.

    A pass begins at the last entry still at its starting end and ends with the first one at the other end. O(n).
    """
    if len(values) == 0:
        return []
    rise, fall = runs(two_state(values, low, high))
    entries = np.arange(len(values))
    last_low = np.maximum.accumulate(np.where(values <= low, entries, -1))
    last_high = np.maximum.accumulate(np.where(values >= high, entries, -1))
    turns = [(int(k), True) for k in rise if k > 0] + [(int(k), False) for k in fall if k < len(values)]
    found = []
    for index, up in sorted(turns):
        start = int((last_low if up else last_high)[index - 1])
        if start >= 0:
            seconds = float(t_ns[index] - t_ns[start]) / NS_PER_S
            found.append(Pass(start, index + 1, up, seconds))
    return found
