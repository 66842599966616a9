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


def intervals(report_t_ns: I64, moving: Bool, polls: I64 | None = None, gap_ms: float = GAP_MS) -> Intervals:
    """Of the intervals whose entry in `moving` (one for each interval) is True. `polls`: in how many even parts each
    falls, where there was nothing to report in between."""
    spans = np.diff(report_t_ns) / NS_PER_MS
    gap = moving & (spans > gap_ms)
    parts = np.ones(len(spans), dtype=np.int64) if polls is None else polls
    waited = np.repeat((spans / parts)[moving], parts[moving])
    return Intervals(
        int(moving.sum()), latency(waited, _blur(spans[moving], parts[moving])), report_t_ns[1:][gap], spans[gap]
    )


def _blur(spans: F64, parts: I64) -> float:
    """Standard deviation of the intervals of a single poll, where others are cut into even parts; 0 where none is."""
    single = spans[parts == 1]
    if (parts == 1).all() or len(single) < 2:
        return 0.0
    usual = single[np.abs(single - np.median(single)) < 0.5 * np.median(single)]
    return float(usual.std()) if len(usual) else 0.0
