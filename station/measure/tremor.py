"""Telling a hand on the stick from noise of the sensor, by frequency.

A hand trembles with a clear peak between 6 and 12 Hz (physiological tremor: Lakie et al., J. Physiol. 593, 2015,
4411); what a hand does to a stick lies below some 14 Hz (common practice, no source). Noise of a sensor or a converter
is spread over all frequencies.
"""

from __future__ import annotations

import numpy as np

from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS, NS_PER_S

LOW_HZ, HIGH_HZ = 3.0, 14.0
GRID_NS = 4 * NS_PER_MS


def hand_share(t_ns: I64, values: F64, begin_ns: int, end_ns: int) -> float:
    """Share (0…1) of the power above `LOW_HZ` that lies below `HIGH_HZ`, from a periodogram over [begin, end].

    About 0.09 for white noise at a grid of 250 Hz, near 1 for tremor; 0 for a constant or less than a second.
    """
    if end_ns - begin_ns < NS_PER_S:
        return 0.0
    moments = held.grid_ns(begin_ns, end_ns, GRID_NS)
    sampled = held.held_at(t_ns, values, moments)
    power = np.abs(np.fft.rfft((sampled - sampled.mean()) * np.hanning(len(sampled)))) ** 2
    hz = np.fft.rfftfreq(len(sampled), GRID_NS / NS_PER_S)
    total = float(power[hz >= LOW_HZ].sum())
    return float(power[(hz >= LOW_HZ) & (hz <= HIGH_HZ)].sum()) / total if total > 0 else 0.0
