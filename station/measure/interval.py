"""Intervals between reports while the hand moves, and the gaps among them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.latency import Latency, latency

GAP_MS = 50.0


@dataclass(frozen=True, slots=True)
class Intervals:
    """The intervals in ms, what a movement waits, and the moments at which a gap ended."""

    count: int
    felt: Latency | None
    gap_ends_ns: I64
    gap_ms: F64


def intervals(report_t_ns: I64, moving: Bool, at_most_ms: F64 | None = None, gap_ms: float = GAP_MS) -> Intervals:
    """Of the intervals whose entry in `moving` (one for each interval) is True. `at_most_ms`: how long something waited
    to be reported in each at most, where that is less than the interval."""
    spans = np.diff(report_t_ns) / NS_PER_MS
    waited = spans if at_most_ms is None else np.minimum(spans, at_most_ms)
    gap = moving & (waited > gap_ms)
    return Intervals(int(moving.sum()), latency(waited[moving]), report_t_ns[1:][gap], waited[gap])
