"""A mean over time with its standard uncertainty; the effective resolution of a code."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS
from station.measure.correlation import effective_size
from station.measure.uncertainty import combined, resolution, type_a

MOST_MOMENTS = 4096
ENOUGH_CODES, MOST_CODES = 24, 1 << 20
SLOW_NS = 80 * NS_PER_MS
"""over so long fast noise averages out, and the slow part of the noise does not last as long"""
ALIKE = 0.25
NEIGHBOURS = (1.0 + 2.0 * ALIKE) / (1.0 - ALIKE)
"""by how much the variance of a mean of such parts is greater than their own scatter tells: neighbours have a
correlation of 0.4 where all noise is slow and lasts 50 ms (computed for a first-order process), of 0.2 to 0.35 beside
twice as much fast noise at 125 Hz to 1 kHz (common practice, no source); a mean of k then varies by (1 + 2ρ)/k, and
they about it by 1 − ρ"""


@dataclass(frozen=True, slots=True)
class Mean:
    """Time-weighted mean, its standard uncertainty, the rms about it, and the effective number of observations."""

    value: float
    u: float
    rms: float
    n: float


def measured_mean(t_ns: I64, values: F64, begin_ns: int, end_ns: int, step: float) -> Mean:
    """Mean over [begin, end] with u from δ/√12 and s/√n_eff (JCGM 100, F.2.2.1, 4.2.3 and 4.2.7)."""
    part = held.stretch(t_ns, begin_ns, end_ns)
    t, v = t_ns[part], values[part]
    hold = held.hold_s(t, begin_ns, end_ns)
    rms = held.std(v, hold)
    n = effective_observations(t, v, begin_ns, end_ns) if rms > 0 else 1.0
    return Mean(held.mean(v, hold), combined(resolution(step), type_a(rms, n)), rms, n)


def effective_observations(t_ns: I64, values: F64, begin_ns: int, end_ns: int) -> float:
    """Effective number of observations: the value seen once each usual interval, correlation taken off.

    1 where no time passes.
    """
    if end_ns <= begin_ns or len(t_ns) == 0:
        return 1.0
    finest = max((end_ns - begin_ns) // MOST_MOMENTS, NS_PER_MS // 8)
    usual = (end_ns - begin_ns) // max(len(t_ns), 1)
    moments = held.grid_ns(begin_ns, end_ns, int(max(finest, usual, 1)))
    return effective_size(held.held_at(t_ns, values, moments))


def effective_step(codes: I64, declared: float) -> float:
    """The resolution that the codes really have: a report of 16 bits may carry a converter of 12.

    `declared` is the change of value for one code. The least distance between neighbouring codes ever seen counts, if
    enough different codes were seen to tell; else the device is taken at its word. O(n + range of the codes).
    """
    if len(codes) == 0:
        return declared
    low = int(codes.min())
    span = int(codes.max()) - low
    seen = np.flatnonzero(np.bincount(codes - low)) if span <= MOST_CODES else np.unique(codes)
    return declared * int(np.diff(seen).min()) if len(seen) >= ENOUGH_CODES else declared


def least_change(values: F64) -> float:
    """The least change from one entry to the next, 0 where nothing changes: firmware may send a value only when it has
    changed by more than its codes are apart."""
    changes = np.abs(np.diff(values))
    return float(changes[changes > 0].min()) if changes.any() else 0.0


def code_at(codes: I64, values: F64, step: float, value: float) -> float:
    """The code that stands for a value, by the scale that the codes seen have; `step` is the value of one code."""
    return float(codes[0]) + (value - float(values[0])) / step
