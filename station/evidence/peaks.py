"""A line reduced to what a picture of so many columns can show, with its peaks kept: the least and the greatest value
of each column, so that a single report that stands out is seen at every zoom.

A value holds until the next report, so a column in which nothing was reported shows the value that held.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64, Bool

FACTOR = 8
"""each level of the pyramid has one entry for so many of the one below"""
FINE = 8
"""blocks of a level that is used lie within a column at least so many times: a peak is drawn no farther off than that
part of a column"""
REPORTS_SHOWN = 1.0
"""from so few reports a column on each is shown as it is"""


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """What to draw: times relative to the beginning, ns, and values; `joined[i]`: point i goes on to point i + 1.

    `single`: the points are the reports themselves, each followed by the value that it held; `reports` are their
    indexes into the points.
    """

    t_ns: F64
    values: F64
    joined: Bool
    single: bool
    reports: I64


class Peaks:
    """Least and greatest of a line in blocks of 8, 64, 512 … reports, worked out once. Memory: 2/7 of the values'."""

    def __init__(self, t_ns: I64, values: F64) -> None:
        """`values` finite, `t_ns` never decreasing, both float/int64[n]."""
        self.t_ns, self.values = t_ns, values
        self._low: list[F64] = [values]
        self._high: list[F64] = [values]
        while len(self._low[-1]) > FACTOR:
            self._low.append(_blocks(self._low[-1], np.minimum))
            self._high.append(_blocks(self._high[-1], np.maximum))

    def drawn(self, begin_ns: int, end_ns: int, columns: int, silent_ns: I64, until_ns: int) -> Drawn:
        """What to draw from `begin_ns` to `end_ns` in so many columns. `until_ns`: up to when the last value held;
        nothing is joined across `silent_ns`, int64[k, 2]. O(columns · FINE)."""
        first = max(int(np.searchsorted(self.t_ns, begin_ns, side="right")) - 1, 0)
        stop = int(np.searchsorted(self.t_ns, end_ns, side="right"))
        if stop - first <= REPORTS_SHOWN * columns:
            return self._reports(first, min(stop + 1, len(self.t_ns)), silent_ns, until_ns)
        return self._columns(max(begin_ns, int(self.t_ns[0])), min(end_ns, until_ns), columns, silent_ns)

    def _reports(self, first: int, stop: int, silent_ns: I64, until_ns: int) -> Drawn:
        """Each report and how long it held, as a stair."""
        t, v = self.t_ns[first:stop], self.values[first:stop]
        last = self.t_ns[stop] if stop < len(self.t_ns) else max(until_ns, int(self.t_ns[-1]))
        ends = np.append(t[1:], last)
        ends = _until_silence(t, ends, silent_ns)
        times = np.column_stack((t, ends)).ravel()
        joined = np.ones(len(times), dtype=np.bool_)
        if len(t):
            joined[1:-1:2] = ends[:-1] == t[1:]
            joined[-1] = False
        return Drawn(times.astype(np.float64), np.repeat(v, 2), joined, True, np.arange(0, len(times), 2))

    def _columns(self, begin_ns: int, end_ns: int, columns: int, silent_ns: I64) -> Drawn:
        edges = np.linspace(begin_ns, end_ns, columns + 1)
        index = np.searchsorted(self.t_ns, edges.astype(np.int64), side="left")
        # the value that held at its beginning belongs to a column too
        a, b = np.maximum(index[:-1] - 1, 0), np.maximum(index[1:], 1)
        wide = silent_ns[:, 1] - silent_ns[:, 0] >= (end_ns - begin_ns) / columns / 2.0
        here = silent_ns[wide & (silent_ns[:, 1] > begin_ns) & (silent_ns[:, 0] < end_ns)]
        joined = np.ones(2 * columns, dtype=np.bool_)
        joined[-1] = False
        beside: list[int] = []
        for begin, end in here.tolist():
            k = np.flatnonzero((edges[:-1] >= begin) & (edges[:-1] <= end))
            a[k] = np.where(index[k] < b[k], index[k], a[k])  # what held before is not known any more
            beside += [j for j in (k[0] - 1, k[-1]) if j >= 0] if len(k) else []
            whole = k[edges[k + 1] <= end]
            joined[2 * whole] = joined[2 * whole + 1] = False
            if len(k) and k[0] > 0:
                joined[2 * k[0] - 1] = False
        low, high = self._least_and_greatest(a, b)
        for j in beside:  # blocks reach over to the other side
            part = self.values[a[j] : b[j]]
            low[j], high[j] = part.min(), part.max()
        middle = (edges[:-1] + edges[1:]) / 2.0
        # from the nearer end to the farther one, so that a slope is drawn as one
        up = np.concatenate(([True], (low + high)[1:] >= (low + high)[:-1]))
        values = np.column_stack((np.where(up, low, high), np.where(up, high, low))).ravel()
        return Drawn(np.repeat(middle, 2), values, joined, False, np.empty(0, dtype=np.int64))

    def _least_and_greatest(self, a: I64, b: I64) -> tuple[F64, F64]:
        """Of the entries a[k] … b[k] − 1 of each column, b[k] > a[k]; by the coarsest blocks that are fine enough."""
        level, usual = 0, int(np.median(b - a))
        while level + 1 < len(self._low) and FACTOR ** (level + 1) * FINE <= usual:
            level += 1
        size = FACTOR**level
        a, b = a // size, -(-b // size)
        first, stop = int(a.min()), int(b.max())
        pairs = np.column_stack((a, b)).ravel() - first
        return (
            np.minimum.reduceat(_and_one(self._low[level], first, stop), pairs)[::2],
            np.maximum.reduceat(_and_one(self._high[level], first, stop), pairs)[::2],
        )


def _and_one(values: F64, first: int, stop: int) -> F64:
    """Entries first … stop, the last of them again where there is none at stop: `reduceat` asks for one more."""
    return values[first : stop + 1] if stop < len(values) else np.append(values[first:stop], values[stop - 1])


def _blocks(values: F64, of: np.ufunc) -> F64:
    whole = len(values) // FACTOR * FACTOR
    found = of.reduce(values[:whole].reshape(-1, FACTOR), axis=1)
    if whole < len(values):
        found = np.append(found, of.reduce(values[whole:]))
    return np.asarray(found)


def _until_silence(t_ns: I64, ends_ns: I64, silent_ns: I64) -> I64:
    """A value holds no longer than until nothing is known any more."""
    if not len(silent_ns):
        return ends_ns
    k = np.searchsorted(silent_ns[:, 0], t_ns, side="left")
    begins = np.append(silent_ns[:, 0], np.iinfo(np.int64).max)[k]
    return np.asarray(np.minimum(ends_ns, np.maximum(begins, t_ns)))
