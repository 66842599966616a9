"""A value that stands at the end of its range: half of its noise is cut off there, and what is left lies below.

The median of a normal value cut off at the rail is the rail itself where at least half of it lies beyond; what noise
leaves below says nothing about the value.
"""

from __future__ import annotations

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_MS

RAIL_PCT = 100.0 - 1e-6
"""from here on a value in % of its range stands at the end of it"""
NEAR_PCT = 0.5
"""a value that is nearer to the rail than this may be noise below it: five times the rms of a noisy converter"""
AROUND_NS = 15 * NS_PER_MS
RAIL_SHARE = 0.3
"""where the value stood at the rail for so much of the time around, at least half of its noise is cut off: slow noise,
half as strong as the fast, takes a share of one half below 0.3 once in seven times (computed for normal noise)"""


def on_rail(t_ns: I64, values: F64) -> F64:
    """The values, those that noise left a little below either end of −100…100 % put at the end. O(n log n)."""
    out = values
    for sign in (1.0, -1.0):
        at_end = (sign * values >= RAIL_PCT).astype(np.float64)
        if at_end.any():
            pulled = (sign * values >= 100.0 - NEAR_PCT) & (_share(t_ns, at_end) >= RAIL_SHARE)
            out = np.where(pulled, sign * 100.0, out)
    return out


def _share(t_ns: I64, flag: F64) -> F64:
    """Share of the time within `AROUND_NS` of each report for which the flag held; of a single report its own."""
    begin, end = t_ns - AROUND_NS, t_ns + AROUND_NS
    begin, end = np.maximum(begin, t_ns[0]), np.minimum(end, t_ns[-1])
    total = np.concatenate(([0.0], np.cumsum(flag[:-1] * np.diff(t_ns))))
    gained = _held_integral(t_ns, flag, total, end) - _held_integral(t_ns, flag, total, begin)
    return np.asarray(np.divide(gained, (end - begin).astype(np.float64), out=flag.copy(), where=end > begin))


def _held_integral(t_ns: I64, flag: F64, total: F64, at_ns: I64) -> F64:
    """Integral of a held flag from the first report to each moment."""
    index = np.maximum(np.searchsorted(t_ns, at_ns, side="right") - 1, 0)
    return np.asarray(total[index] + flag[index] * (at_ns - t_ns[index]))
