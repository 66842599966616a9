"""Intervals between reports while the hand moves, and the gaps among them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.latency import Latency, between, latency

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
    falls if there was nothing to report in between. Nobody knows that there was not: a report may as well have been
    lost, so the wait lies between that of the parts and that of the whole."""
    spans = np.diff(report_t_ns) / NS_PER_MS
    gap = moving & (spans > gap_ms)
    whole = latency(spans[moving])
    if polls is not None and (polls[moving] > 1).any():
        parts, spans_moving = polls[moving], spans[moving]
        cut = latency(np.repeat(spans_moving / parts, parts), _blur(spans_moving, parts))
        whole = between(cut, whole) if cut and whole else whole
    return Intervals(int(moving.sum()), whole, report_t_ns[1:][gap], spans[gap])


def _blur(spans: F64, parts: I64) -> float:
    """Standard deviation of the intervals of a single poll, where others are cut into even parts; 0 where none is."""
    single = spans[parts == 1]
    if (parts == 1).all() or len(single) < 2:
        return 0.0
    usual = single[np.abs(single - np.median(single)) < 0.5 * np.median(single)]
    return float(usual.std()) if len(usual) else 0.0
