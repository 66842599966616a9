"""What a line comes to between two cursors: weighted by time, since a value holds until the next report."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.evidence.drawing import Contact, Line
from station.measure import held
from station.measure.arrays import NS_PER_S


@dataclass(frozen=True, slots=True)
class Between:
    """Of a value from one moment to another: reports that arrived there, least, greatest, mean, median, rms about the
    mean; `first` and `last`: the values that held at both ends. All in the unit of the line."""

    reports: int
    least: float
    greatest: float
    mean: float
    median: float
    rms: float
    first: float
    last: float

    @property
    def change(self) -> float:
        return self.last - self.first

    @property
    def peak_to_peak(self) -> float:
        return self.greatest - self.least


@dataclass(frozen=True, slots=True)
class ClosedBetween:
    """Of a contact: how often it closed, and for what share of the time it was closed (0…1)."""

    closures: int
    share: float


def between(line: Line, begin_ns: int, end_ns: int) -> Between | None:
    """Statistics of a line over [begin, end]; None where it had not reported by then. O(n of the stretch)."""
    begin_ns, end_ns = min(begin_ns, end_ns), max(begin_ns, end_ns)
    if not len(line.t_ns) or end_ns < line.t_ns[0]:
        return None
    begin_ns = max(begin_ns, int(line.t_ns[0]))
    part = held.stretch(line.t_ns, begin_ns, end_ns + 1)
    t, v = line.t_ns[part], line.values[part]
    hold = held.hold_s(t, begin_ns, end_ns)
    if not hold.sum():
        hold = np.ones(len(v))
    arrived = int(np.searchsorted(line.t_ns, end_ns, side="right") - np.searchsorted(line.t_ns, begin_ns))
    return Between(
        arrived,
        float(v.min()),
        float(v.max()),
        held.mean(v, hold),
        held.quantile(v, hold, 0.5),
        held.std(v, hold),
        float(v[0]),
        float(v[-1]),
    )


def closed_between(contact: Contact, begin_ns: int, end_ns: int) -> ClosedBetween:
    """Of a contact over [begin, end]."""
    begin_ns, end_ns = min(begin_ns, end_ns), max(begin_ns, end_ns)
    starts, ends = np.clip(contact.start_ns, begin_ns, end_ns), np.clip(contact.end_ns, begin_ns, end_ns)
    closed = int(((contact.start_ns >= begin_ns) & (contact.start_ns <= end_ns)).sum())
    lasted = (end_ns - begin_ns) / NS_PER_S
    return ClosedBetween(closed, float((ends - starts).sum()) / NS_PER_S / lasted if lasted else 0.0)
