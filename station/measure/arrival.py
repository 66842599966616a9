"""When does a value that comes down arrive at a level, where noise carries it across before and after?

The first report at the level is early: of many looks near it one is carried over by noise. The time that the value is
above the level is not: P(v(t) + noise > level) summed over time is the moment of arrival of a value that comes down
evenly, for noise that goes as far up as down, whatever its distribution (the integral of a distribution function on
either side of its middle: Papoulis, *Probability, Random Variables, and Stochastic Processes*, chapter 5).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_MS
from station.measure.steps import first_reached

LOOK_NS = NS_PER_MS
"""noise is looked at so often; on a faster link it seems to last so long, which makes its part of U too wide"""
NEAR_PCT, ABOVE_PCT = 1.0, 1.5
"""how fast a value comes down is taken from so far above the level to so far below it; of one that stays above that,
from farther above to the level"""
NOISE_REACHES = 3.0
"""standard deviations: no farther does noise lead across the level and back, as a rule"""
AVERAGED = math.sqrt(math.pi)
"""white noise of σ on a value that comes down by s in a time of d: u² of the time above a level is d/s · σ T/√π for
looks T apart (∫ Φ(1 − Φ) = 1/√π), as much as that of a mean over √π σ d/s"""


@dataclass(frozen=True, slots=True)
class Noise:
    """Noise as it is where nothing moves, %: its rms, the values about their means every `LOOK_NS`, one float[n] for
    each stretch, and the standard uncertainty of such a mean, which is what lasts longer than a stretch."""

    rms: float
    still: tuple[F64, ...] = ()
    u_mean: float = 0.0

    def over(self, lasts_ns: float) -> float:
        """Standard deviation of its means over so long, %, which differ from the mean of a stretch and with it; all of
        the noise where no stretch is so long."""
        size = round(lasts_ns / LOOK_NS)
        if size < 2:
            return self.rms
        sums = [np.concatenate(([0.0], np.cumsum(one))) for one in self.still if len(one) >= 2 * size]
        means = [(total[size:] - total[:-size]) / size for total in sums]
        return math.hypot(float(np.sqrt(np.mean(np.concatenate(means) ** 2))), self.u_mean) if means else self.rms


@dataclass(frozen=True, slots=True)
class Arrival:
    """`index`: the first entry at or below the level; `ns`: the moment of arrival; `u_ns`: its standard uncertainty by
    noise; `slope_ns`: time for one % there."""

    index: int
    ns: float
    u_ns: float
    slope_ns: float


def arrival(t_ns: I64, values: F64, level: float, start: int, noise: Noise, step: float) -> Arrival | None:
    """Of a value that comes down to `level` after entry `start`; None if it never gets there. `step`: width of a code.

    A value of codes is at or below the level once it has passed the edge between two of them, which lies up to half a
    code from the level: the way between is gone at the speed there.
    """
    index = first_reached(-values, -level, start)
    if index is None:
        return None
    slope_ns = _slope_ns(t_ns, values, level, start, index)
    reach_ns = NOISE_REACHES * noise.rms * slope_ns
    stop = max(int(np.searchsorted(t_ns, t_ns[index] + 2.0 * reach_ns, side="right")), index + 1)
    hold = np.diff(t_ns[index:stop])
    ns = float(t_ns[index]) + float(hold[values[index : stop - 1] > level].sum())
    edge = _edge(level, float(values[index]), step)
    averaged_ns = AVERAGED * noise.rms * slope_ns
    return Arrival(index, ns + (edge - level) * slope_ns, noise.over(averaged_ns) * slope_ns, slope_ns)


def _slope_ns(t_ns: I64, values: F64, level: float, start: int, index: int) -> float:
    """Time for one % about the level, from first reports on either side, which are as early."""
    above = first_reached(-values, -(level + NEAR_PCT), start)
    below = first_reached(-values, -(level - NEAR_PCT), start)
    if above is not None and below is not None:
        return float(t_ns[below] - t_ns[above]) / (2.0 * NEAR_PCT)
    higher = first_reached(-values, -(level + ABOVE_PCT), start)
    return 0.0 if higher is None else float(t_ns[index] - t_ns[higher]) / ABOVE_PCT


def _edge(level: float, code: float, step: float) -> float:
    """The edge between the last code at or below the level and the next one; `code`: the value of any code."""
    if step <= 0.0:
        return level
    return code + (math.floor((level - code) / step + 1e-6) + 0.5) * step


def movement_noise(values: F64, low: float, high: float) -> float:
    """Rms (%) of fast noise on a value that moves, from second differences, which an even movement does not have: of
    white noise they have six times its variance; by their median, so that jerks do not count. Entries at an end of the
    range, where noise is cut off, are left out."""
    inside = (values > low) & (values < high)
    bends = np.abs(np.diff(values, 2))[inside[:-2] & inside[1:-1] & inside[2:]]
    return float(np.median(bends)) / (0.6745 * math.sqrt(6.0)) if len(bends) else 0.0


def noise_of(still: list[F64], u_means: F64, moving: float) -> Noise:
    """From the values about their means where it stood still (float[n], one for each stretch, empty where noise was cut
    off) and the standard uncertainties of those means, no less than what it has while it moves; only the latter where
    it never stood still in sight."""
    seen = np.array([len(one) > 0 for one in still], dtype=np.bool_)
    if not seen.any():
        return Noise(moving)
    parts = tuple(one for one in still if len(one))
    u_mean = float(np.sqrt(np.mean(u_means[seen] ** 2)))
    rms = math.hypot(float(np.sqrt(np.mean(np.concatenate(parts) ** 2))), u_mean)
    return Noise(max(rms, moving), parts, u_mean)
