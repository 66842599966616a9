"""Codes that never come: the widest gap between neighbouring codes seen, when the hand was slow enough to show it.

In the manner of the histogram test of converters: a code is missing when a sweep that should
have hit it does not. Those tests know their ramp; a hand is not a ramp. So each pass is asked how far the value
should have moved from one report to the next at that place, by the speed around it. A pass that should have moved
by s lands in an empty interval of width w with probability min(1, w/s); a gap is called only if it is unlikely
(< `UNLIKELY`) that all passes jumped over it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_MS

UNLIKELY = 1e-3
LOST_SHARE = 0.05
"""even a slow pass can miss an interval, because a report was lost just there"""
SPEED_MARGIN = 2.0
"""the hand may have been this much faster just there than around it"""
PLAIN_STEPS = 5.0
"""a gap this many times as wide as the way from report to report, and as the noise, needs no pile-up to be one"""
ZONE_ALIKE, ZONE_OFF = 0.25, 3.0
"""both sides of a dead zone are alike within this share, and it lies no farther than this off the middle"""
ROUNDING = 1e-6
"""widths are sums of steps; of two that are equal one may come out greater by this"""
TURN = 1.0
"""codes no farther than this from where the passes turn round belong to the turn"""
ACROSS_NS = 200 * NS_PER_MS
PILE_WIDTH, PILE_REACH = 5.0, 2.2
"""values piled up at an edge reach this many times the noise's rms from the outermost, or if that is more so many times
as far as their median"""
PILE_SHARE = 0.25
"""rms of the values piled up, over the width of the pile: a normal spread cut off at ±2 s.d."""
PILED = 1.5
"""so many times as many values as the movement alone lays down are piled up"""
SPEED_NS = 60 * NS_PER_MS


@dataclass(frozen=True, slots=True)
class Gap:
    """An interval in which no code was seen. `width` and `at` (its middle) in the values' unit; `chance` that the
    passes jumped over it by speed alone; `edges`: by how much its two edges lie farther out than the codes beside them,
    together, and `u_edges` the standard uncertainty of that. `plain`: values pile up at both edges, or it is far wider
    than the way from report to report."""

    width: float
    at: float
    chance: float
    edges: float
    u_edges: float
    plain: bool

    @property
    def likely_width(self) -> float:
        """From edge to edge: between the medians of the values piled up at them, or where none are piled up the width
        less what was most likely missed by jumping."""
        return self.width + self.edges

    @property
    def called(self) -> bool:
        """True when speed does not explain it."""
        return self.chance < UNLIKELY

    @property
    def sure(self) -> bool:
        """True for a gap that is there; any other interval may have been passed over in part."""
        return self.called and self.plain


MOST = 24


def code_gaps(
    passes: list[tuple[I64, F64]], report_ns: float, low: float, high: float, least: float = 0.0, noise: float = 0.0
) -> list[Gap]:
    """The widest empty intervals between `low` and `high` over all passes, widest first: the widest, and at most `MOST`
    that are wider than `least`.

    Each pass is (times, values) of one crossing, free of spikes. `report_ns` is the usual interval of reports, `noise`
    the rms of the values about their path.
    O(n log n).
    """
    if not passes:
        return []
    values = np.concatenate([part for _, part in passes])
    seen = np.unique(values)
    # what lies astride the bounds counts by its middle, unless it begins where the passes turn round
    seen = seen[(seen > seen[0] + TURN) & (seen < seen[-1] - TURN)] if len(seen) else seen
    first, stop = int(np.searchsorted(seen, low)), int(np.searchsorted(seen, high, side="right"))
    seen = seen[max(first - 1, 0) : stop + 1]
    seen = seen[1:] if first and len(seen) > 1 and (seen[0] + seen[1]) / 2.0 < low else seen
    seen = seen[:-1] if len(seen) > 1 and (seen[-2] + seen[-1]) / 2.0 > high else seen
    if len(seen) < 2:
        return []
    width = np.diff(seen)
    code = float(width.min())
    widest = np.argsort(-width, kind="stable")[:MOST]
    widest = widest[: max(1, int((width[widest] > least).sum()))]
    return [_judge(passes, values, report_ns, (float(seen[k]), float(seen[k + 1])), noise, code) for k in widest]


def dead_zone(gaps: list[Gap], middle: float) -> tuple[Gap, ...]:
    """The two gaps of a dead zone that jumps, () if there is none: alike, one on either side of the codes that the
    value keeps inside it, which spread over no more than `middle` about 0.

    A track that is worn in its middle, where sticks are worn first, leaves out the codes of the middle themselves.
    """
    wide = [gap for gap in gaps if gap.width > 2.0 * middle]
    for above in wide:
        for below in wide:
            inner, outer = above.at - above.width / 2.0, below.at + below.width / 2.0
            most = max(ZONE_ALIKE * max(above.width, below.width), middle) + ROUNDING
            alike = abs(above.width - below.width) <= most  # on coarse codes they differ by two of them
            if alike and -ROUNDING <= inner - outer <= middle + ROUNDING and max(abs(inner), abs(outer)) <= ZONE_OFF:
                return below, above
    return ()


def _judge(
    passes: list[tuple[I64, F64]],
    values: F64,
    report_ns: float,
    between: tuple[float, float],
    noise: float,
    code: float,
) -> Gap:
    low, high = between
    width, at = high - low, (high + low) / 2.0
    steps = np.array([_expected_step(t, part, at, report_ns) for t, part in passes])
    jumped = 1.0 - np.divide(width, SPEED_MARGIN * steps, out=np.full(len(steps), np.inf), where=steps > 0)
    crossing = np.array([s for t, part in passes if (s := _step_across(t, part, at, report_ns)) is not None])
    step = float(np.median(crossing)) if len(crossing) else 0.0
    below = _edge(low - values[values <= low], step, len(crossing), noise, code)
    above = _edge(values[values >= high] - high, step, len(crossing), noise, code)
    edges = max(below[0] + above[0], -width)
    plain = (below[0] >= 0 and above[0] >= 0) or width > PLAIN_STEPS * max(step, code)
    chance = float(np.prod(np.maximum(jumped, LOST_SHARE)))
    return Gap(width, at, chance, edges, float(np.hypot(below[1], above[1])), plain and width > PLAIN_STEPS * noise)


def _edge(off: F64, step: float, passes: int, noise: float, code: float) -> tuple[float, float]:
    """How far one edge of a gap lies beyond the outermost code beside it, and u of that; `off` ≥ 0: how far values lie
    off that code, away from the gap.

    While the control crosses what the codes leave out, the value stands at the edge: values pile up there, as far as
    noise spreads them, more than the movement past that place can lay down. Their median is the edge. Where none pile
    up, the nearest of n landings within a step s of the edge lies s/(n + 1) from it on average, with about the same
    standard deviation (order statistics of an even spread).
    """
    band, here = 0.0, off[:0]
    wider = max(PILE_WIDTH * noise, 1.01 * code)
    while wider > band:  # the pile reaches as far beyond its median as short of it
        band, here = wider, off[off <= wider]
        passing = 1.0 + passes * band / step if step > 0 else 1.0
        if len(here) <= PILED * passing:
            break
        wider = max(band, PILE_REACH * float(np.median(here)))
    else:
        return float(np.median(here)), PILE_SHARE * band / math.sqrt(max(passes, 1))
    missed = step / (passes + 1) if passes else 0.0
    return -missed, missed


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


def _step_across(t_ns: I64, values: F64, at: float, report_ns: float) -> float | None:
    """How far the control moved in one report interval while it crossed that place, the jump and what was waited beside
    it taken together. None if this pass does not cross it."""
    above = values >= at
    index = int(np.argmax(above != above[0])) if len(above) else 0
    if index == 0:
        return None
    return _speed(t_ns, values, int(t_ns[index]) - ACROSS_NS, int(t_ns[index]) + ACROSS_NS) * report_ns


def _speed(t_ns: I64, values: F64, begin_ns: int, end_ns: int) -> float:
    """Mean speed over the part of [begin, end] that the pass covers, in value per ns."""
    begin_ns, end_ns = max(begin_ns, int(t_ns[0])), min(end_ns, int(t_ns[-1]))
    if end_ns <= begin_ns:
        return 0.0
    a, b = np.interp((begin_ns, end_ns), t_ns, values)
    return float(abs(b - a)) / (end_ns - begin_ns)
