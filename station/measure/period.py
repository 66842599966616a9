"""How often does a link look? The period at which a unit's state can reach the host, from the arrival times alone."""

from __future__ import annotations

import math

import numpy as np

from station.measure.arrays import F64, I64, Bool
from station.measure.steps import poll_interval

_PERIOD_REPORTS = 4096
"""the last so many reports show the period; more would only cost time"""
_FEWEST = 12
_ONE_GO_NS = 50_000
"""reports nearer than this arrived in one go and say nothing about the period"""
_ALIKE, _OFTEN, _LONGEST_NS = 0.25, 0.2, 60e6
"""a link that reports all the time has gaps alike within this share for most of the time, and that often; longer waits
than this are a hand's or a pause"""
_LONGEST_GAP = 4096.0
"""periods: over a longer silence clocks that differ by 50 ppm drift apart by too much to count them"""
_NEAR = 1.25
"""periods within this factor of each other fit the same gaps nearly as well: the best of them counts"""
_BURST = 0.25
"""reports nearer than this share of a period are one burst: they were sent at one moment"""
_IN_BURSTS = 0.6
"""share of reports that begin a burst, at most, where they go out in bursts as a rule"""
_CONCENTRATED, _UNLIKELY = 0.7, 4.3
"""mean cosine asked for, and the standard score that chance does not reach with any of the candidates (< 0.1 %)"""
# USB 2.0, 9.6.6: 2^(n−1) · 125 µs at high speed and n ms at full speed, of which hosts take any (hosts round down to a
# power of two; wireless receivers add their own frames); wireless links: multiples of 1.25 ms
_USUAL_MS = sorted(
    {0.125, 0.25, 0.5, *(float(n) for n in range(1, 51)), *(1.25 * n for n in range(6, 41))},
    reverse=True,
)


def link_period_ns(report_t_ns: I64) -> float | None:
    """Period at which the link shows the unit's state, ns; None where the arrival times do not show it.

    A device that reports all the time shows it as the interval in which a random moment lies, the median weighted by
    time: the reports of a burst share one moment, and only the wait between bursts counts. One that reports on change
    is silent for whole numbers of periods: of the usual periods (USB 2.0, 9.6.6; wireless: multiples of 1.25 ms) the
    longest counts of which all gaps are multiples, by the mean cosine of 2π gap/period. That is Rayleigh's test with
    the direction given beforehand, as Greenwood and Durand (Ann. Math. Stat. 26, 1955, 233) put it: for random times
    √(2n) times the mean cosine is standard normal.
    """
    gaps = _gaps(report_t_ns[-_PERIOD_REPORTS:], _ONE_GO_NS)
    if len(gaps) < _FEWEST:
        return None
    usual = time_weighted_median(gaps)
    alike = np.abs(gaps - usual) < _ALIKE * usual
    if usual <= _LONGEST_NS and alike.mean() > _OFTEN and gaps[alike].sum() > 0.5 * gaps.sum():
        # from the beginning of one burst to that of the next: the times inside are added again
        return _median_over_bursts(report_t_ns[-_PERIOD_REPORTS:], usual)
    longest, best = 0.0, (0.0, 0.0)
    for period in (ms * 1e6 for ms in _USUAL_MS):
        if period <= longest / _NEAR:
            break
        if fit := _fit(report_t_ns[-_PERIOD_REPORTS:], period):
            longest = longest or period
            best = max(best, (fit, period))
    return best[1] or None


def period_ns(report_t_ns: I64) -> float:
    """The period of the link, or where its arrival times do not show one the usual wait between its closest reports
    (`poll_interval`); 0 for fewer than two reports."""
    return link_period_ns(report_t_ns) or poll_interval(report_t_ns)


def burst_starts(t_ns: I64, period: float | None) -> Bool:
    """bool[n]: the reports that begin a burst. Those that follow each other within a quarter of the period, and are all
    there within that time, were sent at one moment; without a period only what arrived in one go is together."""
    together = np.diff(t_ns) <= max(_BURST * (period or 0.0), _ONE_GO_NS)
    starts = np.concatenate(([True], ~together))[: len(t_ns)]
    begins = np.flatnonzero(starts)
    if len(begins) == 0:
        return starts
    lasts = t_ns[np.append(begins[1:], len(t_ns)) - 1] - t_ns[begins]
    stretched = np.repeat(lasts > max(_BURST * (period or 0.0), _ONE_GO_NS), np.diff(np.append(begins, len(t_ns))))
    return np.asarray(starts | stretched)


def arrivals(report_t_ns: I64, period: float | None) -> Bool:
    """bool[n]: the reports at which something new can be known: those that begin a burst, of a link that reports in
    bursts as a rule; else all that did not arrive in one go with their predecessor. Radio at 1 kHz is late by more
    than a quarter of its period, and brings reports of different moments as near to each other as that."""
    first = burst_starts(report_t_ns, period)
    return first if _in_bursts(first) else burst_starts(report_t_ns, None)


def _in_bursts(first: Bool) -> bool:
    return len(first) > 0 and bool(first.mean() <= _IN_BURSTS)


def newest_of_bursts(t_ns: I64, report_t_ns: I64) -> Bool:
    """bool[n]: the entries at `t_ns` that are the last of their burst; all of them for a link that does not report in
    bursts as a rule. `report_t_ns`: all reports of the unit."""
    first = burst_starts(report_t_ns, link_period_ns(report_t_ns))
    if not _in_bursts(first):
        return np.ones(len(t_ns), dtype=np.bool_)
    burst = np.searchsorted(report_t_ns[first], t_ns, side="right")
    return np.append(np.diff(burst) > 0, True)[: len(t_ns)]


def sampled_ns(t_ns: I64) -> I64:
    """When the values that arrived at these times were looked at: those of a burst evenly over the wait before it, one
    period at most; as they arrived for a link that does not report in bursts as a rule."""
    period = link_period_ns(t_ns)
    first = burst_starts(t_ns, period)
    if period is None or len(first) == 0 or first.mean() > _IN_BURSTS:
        return t_ns
    begins = np.flatnonzero(first)
    count = np.diff(np.append(begins, len(t_ns)))
    last = t_ns[begins + count - 1]
    wait = np.minimum(np.diff(last, prepend=last[0] - round(period)), round(period))
    nth_from_last = np.repeat(begins + count - 1, count) - np.arange(len(t_ns))
    return np.asarray(np.repeat(last, count) - nth_from_last * np.repeat(wait // count, count))


def time_weighted_median(gaps: F64) -> float:
    """The length of the gap in which a random moment lies, as a median."""
    ordered = np.sort(gaps)
    reached = np.cumsum(ordered)
    return float(ordered[int(np.searchsorted(reached, 0.5 * reached[-1]))])


def _gaps(t_ns: I64, together_ns: float) -> F64:
    """Gaps between the bursts: a report no farther than that from its predecessor belongs to the burst before it."""
    if len(t_ns) < 2:
        return np.empty(0)
    first = np.concatenate(([True], np.diff(t_ns) > together_ns))
    return np.diff(t_ns[first]).astype(np.float64)


def _median_over_bursts(t_ns: I64, usual_ns: float) -> float:
    gaps = _gaps(t_ns, max(_BURST * usual_ns, _ONE_GO_NS))
    return float(np.median(gaps)) if len(gaps) else usual_ns


def _fit(t_ns: I64, period: float) -> float:
    """How well whole numbers of periods fit the gaps: the mean cosine, 0 where chance may explain it."""
    gaps = _gaps(t_ns, max(_BURST * period, _ONE_GO_NS))
    gaps = gaps[gaps <= _LONGEST_GAP * period]
    if len(gaps) < _FEWEST:
        return 0.0
    fit = float(np.cos(2.0 * np.pi * (gaps % period) / period).mean())
    return fit if fit > max(_CONCENTRATED, _UNLIKELY / math.sqrt(2.0 * len(gaps))) else 0.0
