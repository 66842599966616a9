"""What the firmware of a sound pad does to its values on their way into the report: habits, no faults.

All of them are common practice without a published source. A number of 0 leaves a habit out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Firmware:
    """Habits of all axes of a model. Lengths in % of half travel of a stick.

    dead_zone_pct   nearer to the middle than this an axis says middle; beyond it says what it is: it jumps
    scale           share of the report's range that is ever used, about its middle: 0.906 is 12…243 of 0…255
    smooth_s        time constant of a low-pass of first order
    hysteresis_pct  a new value is sent only when it differs by more than this from the one sent last
    burst           reports go out so many at a time, when the last of them is due
    lost            share of reports that never go out; the host cannot know
    """

    dead_zone_pct: float = 0.0
    scale: float = 1.0
    smooth_s: float = 0.0
    hysteresis_pct: float = 0.0
    burst: int = 1
    lost: float = 0.0


PLAIN = Firmware()


class AxisFirmware:
    """The habits at work on one axis of a stick. Chunk by chunk; `poll_s` is the time between samples."""

    def __init__(self, habits: Firmware, poll_s: float) -> None:
        self._habits = habits
        self._keep = math.exp(-poll_s / habits.smooth_s) if habits.smooth_s else 0.0
        self._smooth: float | None = None
        self._sent: float | None = None

    def run(self, pct: F64) -> F64:
        """float[n]: what goes into the report for what the converter saw, both in % of half travel."""
        habits = self._habits
        out = self._low_pass(pct) if self._keep else pct
        if habits.dead_zone_pct:
            out = np.where(np.abs(out) < habits.dead_zone_pct, 0.0, out)
        if habits.hysteresis_pct:
            out = self._hold_back(out)
        return np.asarray(out * habits.scale)

    def _low_pass(self, pct: F64) -> F64:
        at = float(pct[0]) if self._smooth is None else self._smooth
        out = []
        for value in pct.tolist():
            at = value + self._keep * (at - value)
            out.append(at)
        self._smooth = at
        return np.array(out)

    def _hold_back(self, pct: F64) -> F64:
        sent = float(pct[0]) if self._sent is None else self._sent
        out = []
        for value in pct.tolist():
            if abs(value - sent) > self._habits.hysteresis_pct:
                sent = value
            out.append(sent)
        self._sent = sent
        return np.array(out)
