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
from station.measure.uncertainty import combined, few, half_width, resolution

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
FINE = 0.6
"""of codes that the noise is wider than by this share rounding leaves nothing"""
WAITED = 0.5
"""share of the time that a gap takes to cross that the value stood at its edges; where codes were jumped over, it did
not"""
PILED = 1.5
"""so many times as many values as the movement alone lays down are piled up"""
SPEED_NS = 60 * NS_PER_MS


@dataclass(frozen=True, slots=True)
class Gap:
    """An interval in which no code was seen. `width` and `at` (its middle) in the values' unit; `chance` that the
    passes jumped over it by speed alone; `edges`: by how much its two edges lie farther out than the codes beside them,
    together, `u_edges` the standard uncertainty of that, `even` the half width of what rounding leaves in each.
    `plain`: values pile up at both edges, or it is far wider than the way from report to report."""

    width: float
    at: float
    chance: float
    edges: float
    u_edges: float
    plain: bool
    even: tuple[float, float] = (0.0, 0.0)

    @property
    def likely_width(self) -> float:
        """From edge to edge: between the medians of the values piled up at them, or where none are piled up the width
        less what was most likely missed by jumping."""
        return self.width + self.edges

    @property
    def expanded(self) -> float:
        """U of the likely width: normal and even parts by their exact distribution, the lesser even one as a normal one
        (`uncertainty.half_width`)."""
        return half_width(math.hypot(self.u_edges, min(self.even) / math.sqrt(3.0)), max(self.even))

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
    passes: list[tuple[I64, F64]],
    report_ns: float,
    low: float,
    high: float,
    least: float = 0.0,
    noise: float = 0.0,
    codes: tuple[float, float] = (0.0, 0.0),
) -> list[Gap]:
    """The widest empty intervals between `low` and `high` over all passes, widest first: the widest, and at most `MOST`
    that are wider than `least`.

    Each pass is (times, values) of one crossing, free of spikes. `report_ns` is the usual interval of reports, `noise`
    the rms of the values about their path, `codes` how far they lie apart and the least change that is
    ever reported (0: of continuous values).
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
    coarsest = max(float(width.min()), codes[1])
    widest = np.argsort(-width, kind="stable")[:MOST]
    widest = widest[: max(1, int((width[widest] > least).sum()))]
    between = [(float(seen[k]), float(seen[k + 1])) for k in widest]
    return [_judge(passes, report_ns, one, noise, (codes[0], coarsest)) for one in between]


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
    report_ns: float,
    between: tuple[float, float],
    noise: float,
    codes: tuple[float, float],
) -> Gap:
    """`codes`: how far the codes lie apart (0: continuous values), and those that were seen, at least."""
    low, high = between
    apart, code = codes
    width, at = high - low, (high + low) / 2.0
    untouched = max(width - apart, 0.0)  # a code stands for all that is nearer to it than to its neighbours
    steps = np.array([_expected_step(t, part, at, report_ns) for t, part in passes])
    jumped = 1.0 - np.divide(untouched, SPEED_MARGIN * steps, out=np.full(len(steps), np.inf), where=steps > 0)
    crossing = np.array([s for t, part in passes if (s := _step_across(t, part, at, report_ns)) is not None])
    step = float(np.median(crossing)) if len(crossing) else 0.0
    below = _edge([low - part[part <= low] for _, part in passes], step, len(crossing), noise, code)
    above = _edge([part[part >= high] - high for _, part in passes], step, len(crossing), noise, code)
    edges = max(below.out + above.out, -width)
    waited = below.waited + above.waited >= WAITED * untouched * len(crossing) / step if step > 0 else True
    plain = (below.piled and above.piled and waited) or width > PLAIN_STEPS * max(step, code)
    chance = float(np.prod(np.maximum(jumped, LOST_SHARE)))
    u, even = float(np.hypot(below.u, above.u)), (below.even, above.even)
    return Gap(width, at, chance, edges, u, plain and width > PLAIN_STEPS * noise, even)


@dataclass(frozen=True, slots=True)
class _Edge:
    """How far an edge lies beyond the outermost code beside it, u of that and the half width of what rounding leaves;
    how many reports stood at it beyond those that the movement lays down, and whether that is a pile of them."""

    out: float
    u: float
    even: float
    waited: float
    piled: bool


def _edge(off: list[F64], step: float, crossings: int, noise: float, code: float) -> _Edge:
    """One edge of a gap. `off` ≥ 0: of each pass how far its values lie off the outermost code, away from the gap.

    While the control crosses what the codes leave out, the value stands at the edge: values pile up there, as far as
    noise spreads them, more than the movement past that place can lay down. Half of the pile lies beyond the edge, so
    with p values piled up the edge is the value of rank p/2 from the side of the gap, where no movement is. u: how
    differently the passes have it, pooled over what each of them shows (`_scatter`). Where none pile up, the nearest
    of n landings within a step s of the edge lies s/(n + 1) from it on average, with about the same standard deviation
    (order statistics of an even spread).
    """
    values = np.sort(np.concatenate(off)) if off else np.empty(0)
    reach, wider, at = 0.0, max(PILE_WIDTH * noise, 1.01 * code), 0.0
    while wider > reach:  # the pile reaches as far beyond its middle as short of it
        reach = wider
        lies = int(np.searchsorted(values, reach, side="right"))
        waited = lies - _passing(crossings, reach + code / 2.0, step)
        if lies <= PILED * (1.0 + lies - waited):
            missed = step / (crossings + 1) if crossings else 0.0
            return _Edge(-missed, missed, 0.0, max(waited, 0.0), False)
        for _ in range(3):  # the movement lays down none on the side of the gap
            piled = lies - _passing(crossings, reach - at + code / 2.0, step)
            at = float(np.quantile(values[:lies], min(max(piled, 1.0) / (2.0 * lies), 0.5)))
        wider = PILE_REACH * at
    middles = [float(np.median(part)) for part in (part[part <= 2.0 * at + code / 2.0] for part in off) if len(part)]
    if noise <= FINE * code:  # codes hide the noise
        return _Edge(at, max(_scatter(middles, noise, 0.0), noise / math.sqrt(len(middles))), code / 2.0, waited, True)
    return _Edge(at, combined(_scatter(middles, noise, resolution(code)), resolution(code)), 0.0, waited, True)


def _passing(crossings: int, over: float, step: float) -> float:
    """How many values a movement by `step` from report to report lays down over so much of the way."""
    return crossings * over / step if step > 0.0 else 0.0


def _scatter(middles: list[float], noise: float, rounded: float) -> float:
    """Standard uncertainty of a place that several passes show, by how unlike they have it (JCGM 100, 4.2.3) less what
    rounding to codes makes of it (Sheppard), widened for few of them as Student's t is (G.3.2); of one pass alone the
    noise."""
    degrees = len(middles) - 1
    if degrees < 1:
        return noise
    s = math.sqrt(max(float(np.var(middles, ddof=1)) - rounded**2, 0.0))
    return s / math.sqrt(len(middles)) * few(degrees)


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
