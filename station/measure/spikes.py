"""Spikes off the path of a moving value, and movement against the motion.

A spike is a departure from a running median that is over before the median can follow. The median of a monotone
sequence is its middle entry, so an even or uneven movement in one direction shows no departure at all, at any
speed; neither does a slow change of direction. A step (a jump over missing codes) is no spike either: a spike also
lies outside what the value was just before and just after. The windows are set in time, so that the same fault is
found at 125 Hz and at 8 kHz, reported on change or always.

A short low spike on a fast ramp does not: the ramp has passed its height by then, and draws the median along. It is
known by its two edges: out and back, against the straight line from just before to just after (`sharp`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.filters import median_filter
from station.measure.states import runs
from station.measure.steps import FASTEST_NS, poll_interval

SHORT_NS = 60 * NS_PER_MS
LONGER = ((120 * NS_PER_MS, 3.0), (240 * NS_PER_MS, 6.0))
"""longer windows for departures that last longer, and the least height (%) from which they count: over such a time the
tremor of a hand can itself turn back by up to that much"""
LONGEST_NS = LONGER[-1][0]
FINEST_NS = 2 * NS_PER_MS
"""the longer windows look at the value this often at most"""
WORTH_A_LOOK = 1.0
"""smaller departures are not examined for being a step; in the values' unit (%)"""
OUTSIDE_SHARE = 0.35
MOST_IN_SIDE = 16
"""entries that stand for each side's half window"""
EDGE_NS, EDGE_SHARE = 4 * NS_PER_MS, 0.4
"""a spike moves by this share of its height within this time (or from one report to the next)"""
TOGETHER_NS = 20 * NS_PER_MS
"""departures no farther apart than this are one spike"""
SHARP_NS, SHARP_SHARE = 30 * NS_PER_MS, 0.6
"""a sharp spike is over within this, and either edge is this share of its height"""
SHARP_FROM = 0.4
"""a departure from the median from this share of the least height on may be a sharp spike: on a ramp the median comes
after a spike by half its length"""
SIDE_WAY = 1.2
"""… in the values' unit (%): so far the movement goes on while the sides of a sharp spike are looked at"""
MOST_ON_LINE = 40
FLAT_SHARE = 0.85
"""the height is the mean of the entries above this share of the highest"""
CODES_HIDE = 3.0
"""second differences of no more than so many codes tell nothing of the noise"""
SHARP_SPREADS = 3.5
"""robust standard deviations of the pass (1.4826 MAD) by which a sharp spike stands out; noise that is spread evenly
reaches 2.7 of its own from end to end"""


@dataclass(frozen=True, slots=True)
class Spike:
    """Height off the path and where on the track it stood (the path there), in the values' unit as all of these; the
    value at its top, and those just before it and just after it."""

    t_ns: int
    height: float
    at: float
    top: float
    feet: tuple[float, float]


def at_every_poll(t_ns: I64, values: F64) -> tuple[I64, F64]:
    """The series with a value that held for several polls repeated at each, so that entries are about even in time.

    A device that reports on change leaves out what did not change; the windows below count entries. The poll interval
    is taken from the closest reports; O(n + duration / interval).
    """
    if len(t_ns) < 3:
        return t_ns, values
    gap, poll = np.diff(t_ns), poll_interval(t_ns)
    times = np.append(np.clip(np.rint(gap / poll), 1, LONGEST_NS / poll + 1).astype(np.int64), 1)
    if int(times.max()) == 1:
        return t_ns, values
    index = np.repeat(np.arange(len(t_ns)), times)
    since = np.arange(len(index)) - np.repeat(np.cumsum(times) - times, times)
    return t_ns[index] + (since * poll).astype(np.int64), values[index]


def departures(values: F64, interval_ns: float) -> tuple[F64, F64]:
    """The path and the signed departure of each value from it, for one pass with entries at an even interval.

    The path is the running median over the longest window, which no spike reaches. A departure is seen against the
    shortest window that shows it, since the hand itself departs from a long one; one that outlasts half of a window
    is seen by the next longer. O(n log w).
    """
    if len(values) < 3:
        return values.copy(), np.zeros(len(values))
    path, departure = _against(values, SHORT_NS / interval_ns)
    every = max(1, int(FINEST_NS / interval_ns))
    thinned = slice(None, None, every)
    for window_ns, least in LONGER:
        median, longer = (
            np.repeat(series, every)[: len(values)]
            for series in _against(values[thinned], window_ns / (every * interval_ns))
        )
        departure = np.where((np.abs(longer) > least) & (np.abs(longer) > np.abs(departure)), longer, departure)
        path = median
    return path, departure


def _against(values: F64, window: float) -> tuple[F64, F64]:
    """Running median over a window of so many entries and the departures from it that stand out from both sides."""
    width = _odd(window, len(values))
    median = median_filter(values, width)
    departure = values - median
    _forgive_steps(values, departure, width // 2)
    return median, departure


def path_over(values: F64, window_ns: float, interval_ns: float) -> F64:
    """Running median over a window of time."""
    return median_filter(values, _odd(window_ns / interval_ns, len(values)))


def _odd(window: float, entries: int) -> int:
    width = max(3, int(window) // 2 * 2 + 1)
    return min(width, entries // 2 * 2 - 1) if entries >= 4 else 3


def usual_interval(t_ns: I64) -> float:
    """Median interval between entries, at least `FASTEST_NS`."""
    return max(float(np.median(np.diff(t_ns))), FASTEST_NS) if len(t_ns) > 1 else FASTEST_NS


def _forgive_steps(values: F64, departure: F64, half: int) -> None:
    """Set to zero (in place) the departures that do not stand out from both sides.

    `outside` is how far the value lies outside the range between the median before it and the median after it. A
    spike on a slow ramp is outside by nearly its height; the edge of a step, or noise on it, by hardly anything.
    """
    doubtful = np.flatnonzero(np.abs(departure) > WORTH_A_LOOK)
    if len(doubtful) == 0:
        return
    padded = np.pad(values, half, mode="edge")
    window = np.unique(np.linspace(0, half - 1, min(half, MOST_IN_SIDE)).astype(np.int64))
    before = np.median(padded[doubtful[:, None] + window], axis=1)
    after = np.median(padded[doubtful[:, None] + half + 1 + window], axis=1)
    value = values[doubtful]
    outside = np.maximum(value - np.maximum(before, after), np.minimum(before, after) - value)
    departure[doubtful[outside < OUTSIDE_SHARE * np.abs(departure[doubtful])]] = 0.0


def stands_out(values: F64, departure: F64, step: float, interval_ns: float) -> Bool:
    """Entries whose departure begins or ends abruptly: within `EDGE_NS` the value moves by a good part of its height.

    A bad contact jumps; what comes and goes gradually is the hand's, or a track that runs backwards (measure.reversal).
    One `step` of resolution may always be crossed; departures that are not worth a look stand out as they are.
    """
    reach = max(1, round(EDGE_NS / interval_ns))
    jump = np.abs(moved(values, reach))
    size = np.abs(departure)
    found = size <= WORTH_A_LOOK
    first, stop = runs(~found)
    for a, b in zip(first, stop, strict=True):
        found[a:b] = jump[a : b + reach].max() >= EDGE_SHARE * size[a:b].max() + step
    return found


def spikes(t_ns: I64, values: F64, path: F64, departure: F64, threshold: float, counted: Bool) -> list[Spike]:
    """Departures beyond `threshold` of the entries in `counted`, neighbours joined.

    Height and place are measured against the line from just before the spike to just after it: while it lasts, the
    hand moves on.
    """
    first, stop = runs((np.abs(departure) > threshold) & counted)
    found: list[Spike] = []
    last_end = -(10**18)
    for a, b in zip(first.tolist(), stop.tolist(), strict=True):
        top = a + int(np.argmax(np.abs(departure[a:b])))
        one = _measured(t_ns, values, path, departure, top)
        if int(t_ns[a]) - last_end <= TOGETHER_NS:
            if one.height > found[-1].height:
                found[-1] = one
        else:
            found.append(one)
        last_end = int(t_ns[b - 1])
    return found


def sharp(t_ns: I64, values: F64, path: F64, least: float, counted: Bool, interval_ns: float) -> list[Spike]:
    """Spikes of at least that height that go out and come back within `SHARP_NS`, on a movement of any speed.

    Height: against the line from just before to just after, as of every spike. Either edge, less what the movement
    makes meanwhile, is a good part of it; a step has one edge only. For one pass with entries at an even interval.
    """
    if len(values) < 5:
        return []
    width = max(3, min(int(SHORT_NS / interval_ns) // 2 * 2 + 1, len(values) // 2 * 2 - 1))
    off = values - median_filter(values, width)
    bends = np.diff(values, 2) / math.sqrt(6.0)  # of independent noise as wide as that; of a movement nothing
    spread = 1.4826 * max(float(np.median(np.abs(off))), float(np.median(np.abs(bends))))
    least = max(least, SHARP_SPREADS * spread)
    reach = max(1, round(EDGE_NS / interval_ns))
    usual = abs(float(values[-1] - values[0])) / max(float(t_ns[-1] - t_ns[0]), 1.0)
    side_ns = min(max(SIDE_WAY / max(usual, 1e-12), 2.0 * EDGE_NS), SHORT_NS / 2.0)
    found: list[Spike] = []
    for a, b in zip(*runs((np.abs(off) > SHARP_FROM * least) & counted), strict=True):
        top = int(a) + int(np.argmax(np.abs(off[a:b])))
        one = _sharp(t_ns, values, top, 1.0 if off[top] > 0 else -1.0, (reach, side_ns))
        if one is not None and one.height >= least:
            found.append(one)
    return found


def _sharp(t_ns: I64, values: F64, top: int, sign: float, near: tuple[int, float]) -> Spike | None:
    """The spike around its top against the nearest entries on the movement, if both of its edges are sharp.

    `near`: entries that an edge takes at most, and for how long (ns) either side is looked at: noise at the edge of a
    step flickers, but what it flickers to is where the value stays then.
    The movement near by is a line that leaves out up to half of the entries: where a track is worn one spike stands
    beside the other, and a median is drawn along.
    """
    reach, side_ns = near
    low, high = _window(t_ns, top, SHORT_NS)
    t, v = (t_ns[low:high] - t_ns[top]).astype(np.float64), values[low:high]
    slope, level = robust_line(t, v)
    part, at = sign * (v - level - slope * t), top - low
    if part[at] <= 0.0:
        return None
    before, after = _sides(part < 0.5 * part[at], at)
    if t[after] - t[before] > SHARP_NS + 2 * (t[min(at + 1, len(t) - 1)] - t[at]):
        return None
    way = slope * (t[min(before + reach, at)] - t[before]), slope * (t[after] - t[max(after - reach, at)])
    out = sign * (v[min(before + reach, at)] - v[before] - way[0])
    back = sign * (v[max(after - reach, at)] - v[after] + way[1])
    beside = (t <= t[before]) & (t >= t[before] - side_ns), (t >= t[after]) & (t <= t[after] + side_ns)
    outside = sign * v[at] - max(sign * float(np.median(v[side])) for side in beside)
    ends = _sides(np.abs(part) < 0.3 * part[at], at)
    one = _against_line(t_ns, values, sign, (low + before, low + after), (low + ends[0], low + ends[1]))
    sharp_enough = min(out, back, part[at]) >= SHARP_SHARE * max(one.height, part[at])
    return one if sharp_enough and outside >= OUTSIDE_SHARE * one.height else None


def robust_line(t: F64, v: F64) -> tuple[float, float]:
    """(slope, level at t = 0) of a line that up to a third of the entries do not follow.

    Slope: the median of the slopes of all pairs (Theil 1950; Sen, J. Am. Stat. Assoc. 63, 1968, 1379). Level: the
    middle of the shortest half of what is left over, which is the least median of squares (Rousseeuw, J. Am. Stat.
    Assoc. 79, 1984, 871). At most `MOST_ON_LINE` entries, even in number, are looked at for the slope.
    """
    every = max(1, -(-len(t) // MOST_ON_LINE))
    x, y = t[::every], v[::every]
    first, second = np.triu_indices(len(x), 1)
    apart = x[second] - x[first]
    slope = float(np.median((y[second] - y[first])[apart > 0] / apart[apart > 0])) if (apart > 0).any() else 0.0
    left = np.sort(v - slope * t)
    half = len(left) // 2
    k = int(np.argmin(left[half:] - left[: len(left) - half]))
    return slope, float(left[k] + left[k + half]) / 2.0


def scatter_beside(values: F64, step: float) -> float:
    """Robust rms (1.4826 MAD) of independent noise, from second differences: of the movement they have next to nothing,
    while a median follows it and shows no noise once the way between two entries is more. 0 where codes hide it."""
    bend = 1.4826 * float(np.median(np.abs(np.diff(values, 2)))) if len(values) > 2 else 0.0
    return bend / math.sqrt(6.0) if bend > CODES_HIDE * step else 0.0


def with_sharp(others: list[Spike], edged: list[Spike]) -> list[Spike]:
    """Spikes in order of time; where a sharp one is within `TOGETHER_NS` of another that one is left out."""
    alone = [one for one in others if all(abs(one.t_ns - s.t_ns) > TOGETHER_NS for s in edged)]
    return sorted([*alone, *edged], key=lambda s: s.t_ns)


def _measured(t_ns: I64, values: F64, path: F64, departure: F64, top: int) -> Spike:
    """The spike around its top, from where it begins to where it ends at half of its height."""
    sign = 1.0 if departure[top] > 0 else -1.0
    low, high = _window(t_ns, top, LONGEST_NS // 2)
    at = top - low
    part = sign * (values[low:high] - path[low:high])
    before, after = _sides(part < 0.5 * part[at], at)
    t, v = (t_ns[low:high] - t_ns[top]).astype(np.float64), values[low:high]
    slope, level = robust_line(t, v)
    off = np.abs(v - level - slope * t)
    off[before + 1 : after] = np.inf
    ends = _sides(off < max(0.3 * off[[before, after]].max(), 0.5 * part[at]), at)
    return _against_line(t_ns, values, sign, (low + before, low + after), (low + ends[0], low + ends[1]))


def _window(t_ns: I64, top: int, half_ns: int) -> tuple[int, int]:
    """First and one past the last entry within `half_ns` of that one."""
    return (
        int(np.searchsorted(t_ns, t_ns[top] - half_ns)),
        int(np.searchsorted(t_ns, t_ns[top] + half_ns, side="right")),
    )


def _sides(flag: Bool, top: int) -> tuple[int, int]:
    """The nearest entries before and after `top` that have the flag; the first and the last where none has."""
    earlier, later = np.flatnonzero(flag[:top]), np.flatnonzero(flag[top:])
    return (int(earlier[-1]) if len(earlier) else 0), (top + int(later[0]) if len(later) else len(flag) - 1)


def _against_line(t_ns: I64, values: F64, sign: float, edges: tuple[int, int], ends: tuple[int, int]) -> Spike:
    """The spike between two `edges` (entries outside it) against the line between two `ends`."""
    inside = slice(edges[0] + 1, max(edges[1], edges[0] + 2))
    line = np.interp(t_ns[inside], t_ns[list(ends)], values[list(ends)])
    height = sign * (values[inside] - line)
    at = int(np.argmax(height))
    flat = height[height >= height[at] - (1.0 - FLAT_SHARE) * abs(height[at])]
    feet = float(values[edges[0]]), float(values[edges[1]])
    return Spike(int(t_ns[inside][at]), float(flat.mean()), float(line[at]), float(values[inside][at]), feet)


def moved(values: F64, reach: int) -> F64:
    """For each entry how far the value moved, with sign, since `reach` entries before it."""
    before = np.concatenate((np.repeat(values[:1], reach), values))[: len(values)]
    return values - before
