"""What a slow movement along one sensor track shows; shared by the slow sweep and the trigger pull."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.checks.types import Reading
from station.measure.arrays import F64, I64
from station.measure.gaps import Gap, code_gaps
from station.measure.passes import Pass
from station.measure.reversal import reversals
from station.measure.spikes import Spike, departures, spikes
from station.measure.uncertainty import difference_resolution, expanded

REVERSAL_PCT = 3.0
SAME_PLACE_PCT = 5.0
INSIDE = 0.95
"""the part of the swept range in which gaps are looked for; the ends belong to the turning hand"""


@dataclass(frozen=True, slots=True)
class Track:
    """What the passes over a track show. Values in % of the control's range; `gap` None: swept too fast to tell."""

    spikes: tuple[Spike, ...]
    largest: float
    largest_at: float
    reversals: tuple[tuple[float, float], ...]
    repeated_reversal_at: float | None
    gap: Gap | None
    step: float
    passes: int


def track(
    t_ns: I64, values: F64, step: float, found: list[Pass], report_ns: float, threshold: float, widest_ok: float
) -> Track:
    """Examine the passes `found` of one value. `widest_ok` is the gap that the speed must be able to show."""
    inside = np.zeros(len(values), dtype=bool)
    for one in found:
        inside[one.first : one.stop] = True
    median, departure = departures(t_ns, values)
    counted = spikes(t_ns, median, departure, threshold, inside)
    size = np.where(inside, np.abs(departure), 0.0)
    top = int(np.argmax(size))
    clean = np.where(np.abs(departure) > threshold, median, values)
    back = [(depth, at, k) for k, one in enumerate(found) for depth, at in _backwards(median, one)]
    return Track(
        spikes=tuple(counted),
        largest=float(size[top]),
        largest_at=float(median[top]),
        reversals=tuple((depth, at) for depth, at, _ in back),
        repeated_reversal_at=_repeated(back),
        gap=_gap(t_ns, clean, found, report_ns, step, widest_ok),
        step=step,
        passes=len(found),
    )


def _backwards(median: F64, one: Pass) -> list[tuple[float, float]]:
    return reversals(median[one.first : one.stop], one.up, REVERSAL_PCT)


def _repeated(back: list[tuple[float, float, int]]) -> float | None:
    """The place at which two different passes went backwards: the track's doing, not the hand's."""
    for depth_a, at_a, pass_a in back:
        for _, at_b, pass_b in back:
            if pass_a < pass_b and abs(at_a - at_b) <= max(SAME_PLACE_PCT, depth_a):
                return (at_a + at_b) / 2.0
    return None


def _gap(t_ns: I64, clean: F64, found: list[Pass], report_ns: float, step: float, widest_ok: float) -> Gap | None:
    """The widest gap; of those that would not pass only one that speed does not explain, and None if speed may
    explain them all."""
    parts = [(t_ns[one.first : one.stop], clean[one.first : one.stop]) for one in found]
    low = INSIDE * max(float(values.min()) for _, values in parts)
    high = INSIDE * min(float(values.max()) for _, values in parts)
    passing = max(widest_ok - expanded(difference_resolution(step)), step)
    gaps = code_gaps(parts, report_ns, low, high)
    if gaps and gaps[0].width <= passing:
        return gaps[0]
    return next((gap for gap in gaps if gap.called and gap.width > passing), None)


def track_readings(one: Track, suffix: str = "") -> tuple[Reading, ...]:
    """spikes, largest_spike, reversals and gap of a track, with `suffix` "_x", "_y" or none."""
    u = expanded(difference_resolution(one.step))
    gap = (
        Reading(f"gap{suffix}", None, "%", reason="swept too fast to tell a gap from the speed")
        if one.gap is None
        else Reading(f"gap{suffix}", one.gap.width, "%", u, n=one.passes)
    )
    return (
        Reading(f"spikes{suffix}", float(len(one.spikes)), "", n=one.passes),
        Reading(f"largest_spike{suffix}", one.largest, "%", u, n=one.passes),
        Reading(f"reversals{suffix}", float(len(one.reversals)), "", n=one.passes),
        gap,
    )
