"""Statistics of a value that holds until the next report: every moment is weighted by time, not by report.

A device that reports only on change sends many reports while it moves and none while it rests. A mean over
reports would then be a mean over movement. Here a report counts for as long as its value held.
All times are int64 nanoseconds, never decreasing; values have one entry for each time.
"""

from __future__ import annotations

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_S


def hold_s(t_ns: I64, begin_ns: int, end_ns: int) -> F64:
    """Seconds for which each value held inside [begin, end]; zero for those replaced before or sent after."""
    edges = np.clip(np.append(t_ns, end_ns), begin_ns, end_ns)
    return np.asarray(np.diff(edges) / NS_PER_S)


def stretch(t_ns: I64, begin_ns: int, end_ns: int) -> slice:
    """The entries that matter in [begin, end]: from the one that held at `begin` to the last one before `end`."""
    first = int(np.searchsorted(t_ns, begin_ns, side="right")) - 1
    stop = int(np.searchsorted(t_ns, end_ns, side="left"))
    return slice(max(first, 0), max(stop, first + 1))


def held_at(t_ns: I64, values: F64, at_ns: I64) -> F64:
    """The value that held at each moment; before the first report the first value. `values` must not be empty."""
    index = np.searchsorted(t_ns, at_ns, side="right") - 1
    return values[np.maximum(index, 0)]


def grid_ns(begin_ns: int, end_ns: int, step_ns: int) -> I64:
    """Evenly spaced moments in [begin, end)."""
    return np.arange(begin_ns, end_ns, step_ns, dtype=np.int64)


def mean(values: F64, hold: F64) -> float:
    """Σ vᵢ hᵢ / Σ hᵢ; the plain mean if nothing held for any time."""
    total = float(hold.sum())
    return float(values @ hold) / total if total > 0 else float(values.mean())


def std(values: F64, hold: F64) -> float:
    """Root of the time-weighted mean square about the time-weighted mean (rms about the mean)."""
    centred = values - mean(values, hold)
    return float(np.sqrt(mean(centred * centred, hold)))


def quantile(values: F64, hold: F64, share: float) -> float:
    """The least value below or at which the signal stayed for at least `share` of the time (0…1)."""
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(hold[order])
    index = int(np.searchsorted(reached, share * reached[-1], side="left"))
    return float(values[order[min(index, len(order) - 1)]])


def window_mean(t_ns: I64, values: F64, begin_ns: int, end_ns: int) -> float:
    """Time-weighted mean over [begin, end]."""
    part = stretch(t_ns, begin_ns, end_ns)
    return mean(values[part], hold_s(t_ns[part], begin_ns, end_ns))


def window_std(t_ns: I64, values: F64, begin_ns: int, end_ns: int) -> float:
    """Time-weighted rms about the mean over [begin, end]."""
    part = stretch(t_ns, begin_ns, end_ns)
    return std(values[part], hold_s(t_ns[part], begin_ns, end_ns))


def best_mean(t_ns: I64, values: F64, begin_ns: int, end_ns: int, window_ns: int) -> tuple[float, int]:
    """The greatest mean over any window of that width inside [begin, end], and when that window begins.

    The whole stretch if it is shorter than the window.

    The integral of a held value is piecewise linear, so the greatest window mean lies where the window begins or
    ends at a report; both sets are tried. O(n log n).
    """
    part = stretch(t_ns, begin_ns, end_ns)
    t, v = np.maximum(t_ns[part], begin_ns), values[part]
    if end_ns - begin_ns <= window_ns:
        return mean(v, hold_s(t, begin_ns, end_ns)), begin_ns
    edges = np.append(t, end_ns).astype(np.float64) - begin_ns
    integral = np.concatenate(([0.0], np.cumsum(v * np.diff(edges))))
    starts = np.concatenate((edges, edges - window_ns))
    starts = starts[(starts >= 0) & (starts <= end_ns - begin_ns - window_ns)]
    if starts.size == 0:
        starts = np.zeros(1)
    gained = np.interp(starts + window_ns, edges, integral) - np.interp(starts, edges, integral)
    best = int(np.argmax(gained))
    return float(gained[best]) / window_ns, begin_ns + int(starts[best])
