"""Noise of a value that should stand still: rms and peak to peak."""

from __future__ import annotations

import numpy as np

from station.measure.arrays import F64

LASTING_S = 0.1
"""a code that holds this long counts for peak to peak even if it is visited only once"""


def visits(values: F64, hold: F64) -> tuple[F64, F64]:
    """Neighbouring reports of one value as one visit: its value and how long it held, in seconds."""
    if len(values) == 0:
        return values, hold
    first = np.concatenate(([True], values[1:] != values[:-1]))
    starts = np.flatnonzero(first)
    return values[starts], np.add.reduceat(hold, starts)


def peak_to_peak(values: F64, hold: F64) -> float:
    """Span of the values, without a single flicker of a code at either end.

    The states are the codes. The greatest visit counts only if it held for `LASTING_S`, or if a second visit went
    as far; likewise the least. So one stray code, or one step from a code to its neighbour and back, is no noise,
    while two of them are. Same unit as `values`; 0 for a value that never changed.
    """
    value, held = visits(values, hold)
    return max(0.0, _reached(value, held) + _reached(-value, held))


def _reached(value: F64, held: F64) -> float:
    """The second greatest visit, or the greatest lasting one if that is greater."""
    if len(value) == 1:
        return float(value[0])
    second = float(np.partition(value, -2)[-2])
    lasting = value[held >= LASTING_S]
    return max(second, float(lasting.max())) if len(lasting) else second
