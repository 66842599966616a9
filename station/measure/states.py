"""Two-state waveforms: when was the value in its high state, when in its low one.

The states are told apart with hysteresis (levels in the manner of IEEE 181): high from the moment the value reaches
`high`, low from the moment it falls to `low`; in between it stays what it was. One slow or noisy crossing is then
one transition, not many.
"""

from __future__ import annotations

import numpy as np

from station.measure.arrays import F64, I64, Bool

PROGRESS_POINTS = 4000
"""as many entries as a picture of progress needs; results use all of them"""


def two_state(values: F64, low: float, high: float) -> Bool:
    """True where the value is in the high state. Starts low unless the first value is already at `high`. O(n)."""
    mark = np.zeros(len(values), dtype=np.int8)
    mark[values >= high] = 1
    mark[values <= low] = -1
    if len(mark) and mark[0] == 0:
        mark[0] = -1
    index = np.where(mark != 0, np.arange(len(mark)), 0)
    return np.asarray(mark[np.maximum.accumulate(index)] > 0)


def runs(state: Bool) -> tuple[I64, I64]:
    """First index and one-past-last index of each stretch of True."""
    padded = np.concatenate(([False], state, [False])).astype(np.int8)
    change = np.diff(padded)
    return np.flatnonzero(change == 1), np.flatnonzero(change == -1)


def thin(count: int, most: int) -> slice:
    """A stride that keeps at most `most` of `count` entries; for pictures and progress, never for results."""
    return slice(None, None, max(1, -(-count // most)))
