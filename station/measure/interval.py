"""Intervals between reports, and gaps in the stream while the hand moves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_MS, Bool

GAP_MS = 50.0
MOVED_PCT = 3.0


@dataclass(frozen=True, slots=True)
class Intervals:
    """Median and 99th percentile in ms, number of intervals, and the moments at which a gap ended."""

    median_ms: float
    p99_ms: float
    count: int
    gap_ends_ns: I64
    gap_ms: F64


def intervals(report_t_ns: I64, moving: Bool, gap_ms: float = GAP_MS) -> Intervals:
    """Statistics of the intervals whose entry in `moving` (one for each interval) is True."""
    spans = np.diff(report_t_ns) / NS_PER_MS
    used = spans[moving]
    if len(used) == 0:
        return Intervals(np.nan, np.nan, 0, np.empty(0, np.int64), np.empty(0))
    gap = moving & (spans > gap_ms)
    return Intervals(
        median_ms=float(np.median(used)),
        p99_ms=float(np.quantile(used, 0.99)),
        count=len(used),
        gap_ends_ns=report_t_ns[1:][gap],
        gap_ms=spans[gap],
    )
