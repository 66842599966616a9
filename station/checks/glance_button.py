"""A button pressed freely, in the hand's own rhythm: presses that break up or are short, and gaps in the rhythm.

Nobody counts beats here, so a press that did not register shows only as an interval of about twice or three times the
usual one; and a hand that paused looks the same.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.checks.base import button_of
from station.checks.types import Take
from station.measure.arrays import F64
from station.measure.beats import SHORT_NS
from station.measure.contacts import closures, press_number, without_bounce

GAP_FROM, GAP_TO = 1.6, 3.6
"""an interval of so many times the median is a gap; a longer one is a pause (common practice, no source)"""
EVEN_SHARE = 0.25
"""a rhythm whose other intervals lie farther than this share from their median on the mean is none"""
LEAST_INTERVALS = 4


@dataclass(frozen=True, slots=True)
class Pressed:
    """How many presses ended, how many of them broke up or were short, and how many the rhythm seems to lack."""

    presses: int = 0
    split: int = 0
    short: int = 0
    gaps: int = 0


def pressed_freely(take: Take) -> Pressed:
    """What became of the presses of the take's button."""
    signal = button_of(take)
    if signal is None:
        return Pressed()
    found = without_bounce(closures(signal.t_ns, signal.closed, take.end_ns))
    if len(found) == 0:
        return Pressed()
    number = press_number(found)
    lasted = np.bincount(number, weights=found.end_ns - found.start_ns)
    pieces = np.bincount(number)
    whole = np.ones(len(pieces), dtype=np.bool_)
    whole[0] &= not found.held_before
    whole[-1] &= not found.held_after
    starts = found.start_ns[np.searchsorted(number, np.arange(len(pieces)))][whole]
    split = (pieces > 1) & whole
    short = (lasted < SHORT_NS) & whole & ~split
    return Pressed(int(whole.sum()), int(split.sum()), int(short.sum()), gaps(np.diff(starts).astype(np.float64)))


def gaps(intervals: F64) -> int:
    """How many presses the rhythm lacks: an interval of about k times the median lacks k − 1.

    None where the other intervals are not even enough to speak of a rhythm.
    """
    if len(intervals) < LEAST_INTERVALS:
        return 0
    times = intervals / np.median(intervals)
    usual = times[times < GAP_FROM]
    if len(usual) < LEAST_INTERVALS - 1 or float(np.abs(usual - np.median(usual)).mean()) > EVEN_SHARE:
        return 0
    lacking = times[(times >= GAP_FROM) & (times <= GAP_TO)]
    return int((np.round(lacking) - 1.0).clip(min=1.0).sum()) if len(lacking) else 0
