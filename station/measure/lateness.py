"""How late is an event seen? From the arrival times of the reports alone.

What happens is in the next report that is sent: late by an even part of 0…T for a period T, and by as much as that
report is held up on its way. The even part is the interval in which the event lies, T or the longer one that a lost
report left (JCGM 100:2008, 4.3.7). Delays that are independent of each other scatter the intervals by twice their
variance, so that half the variance of the intervals is the delay's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64
from station.measure.period import burst_starts, link_period_ns, time_weighted_median
from station.measure.steps import interval_at, poll_interval
from station.measure.uncertainty import resolution

_REPORTS = 4096
"""the last so many reports show it"""
_FEWEST, _COMING, _MOSTLY = 12, 3.0, 0.8
"""reports that come all the time: so many intervals and more, those of up to three usual ones most of the time"""
LONGEST_NS = 50e6
"""no link in use looks more seldom (the longest of the usual periods, `measure.period`)"""


@dataclass(frozen=True, slots=True)
class Lateness:
    """The period, or what it is at most where the arrival times do not show it, and the standard deviation of the delay
    on the way; ns. `sure`: the period was found; `enough`: there were reports enough to look for one."""

    period_ns: float
    delay_ns: float
    sure: bool
    enough: bool = True

    def u_ns(self, t_ns: I64, index: int) -> float:
        """Standard uncertainty of the moment of what the report at `index` shows first."""
        return math.hypot(resolution(interval_at(t_ns, index, self.period_ns)), self.delay_ns)

    def duration_ns(self) -> float:
        """Standard uncertainty of a time between two events of which nothing else is known."""
        return math.sqrt(2.0) * math.hypot(resolution(self.period_ns), self.delay_ns)

    def between_ns(self, t_ns: I64, first: int, second: int) -> float:
        """Standard uncertainty of the time between two of them (JCGM 100, 5.1.2)."""
        return math.hypot(self.u_ns(t_ns, first), self.u_ns(t_ns, second))


def lateness(report_t_ns: I64) -> Lateness | None:
    """None for fewer than two moments at which reports came.

    Where reports come all the time, the period is their mean interval if they are too irregular to show one. Of a
    device that reports on change every interval is a whole number of periods: the period is no longer than the usual
    short one, nor than that of the slowest link, and what the intervals differ from whole periods is delay; intervals
    that show no period may differ by anything up to a whole one.
    """
    t_ns = report_t_ns[-_REPORTS:]
    found = link_period_ns(report_t_ns)
    gaps = np.diff(t_ns[burst_starts(t_ns, found)]).astype(np.float64)
    if len(gaps) == 0:
        return None
    usual = time_weighted_median(gaps)
    coming = gaps[gaps <= _COMING * usual]
    if usual <= LONGEST_NS and coming.sum() >= _MOSTLY * gaps.sum() and len(coming) >= _FEWEST:
        return Lateness(found or float(coming.mean()), _delay(coming), found is not None)
    if found is None:
        at_most = min(poll_interval(t_ns), LONGEST_NS)
        return Lateness(at_most, resolution(at_most), sure=False, enough=len(gaps) >= _FEWEST)
    return Lateness(found, _delay(gaps - found * np.maximum(np.rint(gaps / found), 1.0)), sure=True)


def _delay(intervals: F64) -> float:
    """Standard deviation of the delay behind intervals that scatter by twice its variance."""
    return float(np.std(intervals)) / math.sqrt(2.0)
