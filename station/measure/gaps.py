"""Codes that never come: the widest gap between neighbouring codes seen, when the hand was slow enough to show it.

In the manner of the histogram test of converters: a code is missing when a sweep that should
have hit it does not. Those tests know their ramp; a hand is not a ramp. So each pass is asked how far the value
should have moved from one report to the next at that place, by the speed around it. A pass that should have moved
by s lands in an empty interval of width w with probability min(1, w/s); a gap is called only if it is unlikely
(< `UNLIKELY`) that all passes jumped over it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_MS

UNLIKELY = 1e-3
LOST_SHARE = 0.05
"""even a slow pass can miss an interval, because a report was lost just there"""
SPEED_MARGIN = 2.0
"""the hand may have been this much faster just there than around it"""
SPEED_NS = 60 * NS_PER_MS


@dataclass(frozen=True, slots=True)
class Gap:
    """An interval in which no code was seen. `width` and `at` (its middle) in the values' unit; `chance` that the
    passes jumped over it by speed alone; `missed`: by how much its two edges were most likely missed together."""

    width: float
    at: float
    chance: float
    missed: float

    @property
    def likely_width(self) -> float:
        """The width less what was missed at its two edges by jumping."""
        return self.width - self.missed

    @property
    def called(self) -> bool:
        """True when speed does not explain it."""
        return self.chance < UNLIKELY


MOST = 24


def code_gaps(
    passes: list[tuple[I64, F64]], report_ns: float, low: float, high: float, least: float = 0.0
) -> list[Gap]:
    """The widest empty intervals between `low` and `high` over all passes, widest first: the widest, and at most `MOST`
    that are wider than `least`.

    Each pass is (times, values) of one crossing, free of spikes. `report_ns` is the usual interval of reports.
    O(n log n).
    """
    if not passes:
        return []
    values = np.concatenate([part for _, part in passes])
    seen = np.unique(values[(values >= low) & (values <= high)])
    if len(seen) < 2:
        return []
    width = np.diff(seen)
    widest = np.argsort(-width, kind="stable")[:MOST]
    widest = widest[: max(1, int((width[widest] > least).sum()))]
    return [_judge(passes, report_ns, float(seen[k]), float(seen[k + 1])) for k in widest]


def _judge(passes: list[tuple[I64, F64]], report_ns: float, low: float, high: float) -> Gap:
    width, at = high - low, (high + low) / 2.0
    steps = np.array([_expected_step(t, part, at, report_ns) for t, part in passes])
    jumped = 1.0 - np.divide(width, SPEED_MARGIN * steps, out=np.full(len(steps), np.inf), where=steps > 0)
    crossing = steps[np.isfinite(steps)]
    # the nearest of n landings within a step s of an edge lies s/(n + 1) from it, on average
    missed = 2.0 * float(np.median(crossing)) / (len(crossing) + 1) if len(crossing) else 0.0
    return Gap(width, at, float(np.prod(np.maximum(jumped, LOST_SHARE))), min(missed, width))


def _expected_step(t_ns: I64, values: F64, at: float, report_ns: float) -> float:
    """How far the value moves in one report interval at that place: by the greater of the speeds over `SPEED_NS`
    before the value reached the interval and after it left it. Infinite if this pass does not cross it."""
    above = values >= at
    index = int(np.argmax(above != above[0])) if len(above) else 0
    if index == 0:
        return np.inf
    speed = max(
        _speed(t_ns, values, int(t_ns[index - 1]) - SPEED_NS, int(t_ns[index - 1])),
        _speed(t_ns, values, int(t_ns[index]), int(t_ns[index]) + SPEED_NS),
    )
    return speed * report_ns


def _speed(t_ns: I64, values: F64, begin_ns: int, end_ns: int) -> float:
    """Mean speed over the part of [begin, end] that the pass covers, in value per ns."""
    begin_ns, end_ns = max(begin_ns, int(t_ns[0])), min(end_ns, int(t_ns[-1]))
    if end_ns <= begin_ns:
        return 0.0
    a, b = np.interp((begin_ns, end_ns), t_ns, values)
    return float(abs(b - a)) / (end_ns - begin_ns)
