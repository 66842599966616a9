"""From what a field was seen to do to its logical range."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.sheets.learn.fields import Found
from station.sheets.signals import I64

REACHED = 0.85
"""share of the way from rest to the end of the range that must have been seen; less, and the range is another one"""
CENTRED = 0.12
"""share of half the range by which a stick's rest may lie off the middle"""
RESTS_AT_END = 0.12


@dataclass(frozen=True, slots=True)
class Range:
    """`sure` is False where the codes seen do not fill the range that the bits suggest."""

    low: int
    high: int
    sure: bool


def stick_range(found: Found, value: I64, rest: float) -> Range:
    """The whole range of the bits if the stick rests in its middle and fills it; else what was seen."""
    low, high = found.full
    half = (high - low) / 2
    seen_low, seen_high = (float(v) for v in np.percentile(value, (0.5, 99.5)))
    filled = min((seen_high - rest) / (high - rest), (rest - seen_low) / (rest - low)) if low < rest < high else 0.0
    if filled >= REACHED and abs(rest - (low + high) / 2) <= CENTRED * half:
        return Range(low, high, True)
    return Range(*_apart(int(value.min()), int(value.max()), found), False)


def trigger_range(found: Found, value: I64, rest: float) -> tuple[Range, bool]:
    """The range, and whether the trigger rests at its high end."""
    low, high = found.full
    seen_low, seen_high = (float(v) for v in np.percentile(value, (0.5, 99.5)))
    rests_high = seen_high - rest < rest - seen_low
    size = high - low
    gap, reached = (high - rest, rest - seen_low) if rests_high else (rest - low, seen_high - rest)
    if gap <= RESTS_AT_END * size and reached >= REACHED * (size - gap):
        return Range(low, high, True), rests_high
    return Range(*_apart(int(value.min()), int(value.max()), found), False), rests_high


def _apart(low: int, high: int, found: Found) -> tuple[int, int]:
    return (low, high) if low < high else found.full
