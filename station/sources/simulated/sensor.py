"""From the wiper's place to the code in the report: the track's faults, noise, converter."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from station.hid.types import Field
from station.sources.simulated.parts import Track

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]


def clean_output(part: Track, place_pct: F64) -> F64:
    """What the track would say without noise, play and bad spots, %, within its range."""
    if part.dead:
        return np.full(len(place_pct), _middle(part))
    out = place_pct
    for at, width in part.gaps:
        over = (out > at - width / 2) & (out < at + width / 2)
        out = np.where(over, np.where(out < at, at - width / 2, at + width / 2), out)
    for at, depth in part.folds:
        # back by `depth` over as much travel, then catching up at twice the slope
        behind = np.clip(np.minimum(2.0 * (out - at), 3.0 * depth - (out - at)), 0.0, 2.0 * depth)
        out = out - behind
    return np.clip(part.gain * out + part.offset_pct, part.low_pct, part.high_pct)


def _middle(part: Track) -> float:
    return (part.low_pct + part.high_pct) / 2.0


class TrackSensor:
    """One axis, sampled at the polls. Chunk by chunk; `poll_s` is the time between samples."""

    def __init__(self, part: Track, poll_s: float, rng: np.random.Generator) -> None:
        self._part = part
        self._rng = rng
        self._jump_rng = rng.spawn(1)[0]  # a stream of its own, so that chunks make no difference
        self._lag = math.exp(-poll_s / part.wander_s)
        self._filter: Any = rng.normal(0.0, part.wander_pct, 1) * self._lag
        self._leave = -math.expm1(-poll_s / part.jump_s)
        self._level = 0.0
        self._play_at: float | None = None
        self._poll_s = poll_s
        self._polls = 0

    def run(self, place_pct: F64) -> tuple[F64, F64]:
        """(what the converter sees, what it would see without noise and bad spots), float[n] in %."""
        part = self._part
        place = self._with_play(place_pct) if part.play_pct else place_pct
        true = clean_output(part, place)
        if part.dead:
            return true, true
        out = true + self._noise(len(place))
        for spot in part.spots:
            out = out + np.where(np.abs(place - spot.at_pct) <= spot.width_pct / 2, spot.height_pct, 0.0)
        spell, height = part.twitch
        if height or part.drift.over_s:
            at_s = (np.arange(1.0, len(place) + 1.0, dtype=np.float64) + self._polls) * self._poll_s
            out = out + height * spell.at(at_s)
            if part.drift.over_s:
                out, true = out + part.drift.at(at_s), true + part.drift.at(at_s)
        self._polls += len(place)
        return np.clip(out, part.low_pct, part.high_pct), true

    def _noise(self, count: int) -> F64:
        part = self._part
        both = self._rng.standard_normal((count, 2))
        drive = part.wander_pct * math.sqrt(1.0 - self._lag**2)
        wander, self._filter = lfilter([drive], [1.0, -self._lag], both[:, 0], zi=self._filter)
        noise = np.asarray(wander + part.white_pct * both[:, 1])
        return noise + self._jumps(count) if part.jumps_pct else noise

    def _jumps(self, count: int) -> F64:
        """Levels evenly spread over ±jumps/2, each held for a random time."""
        draw = self._jump_rng.random((count, 2))
        new = draw[:, 0] < self._leave
        level = np.where(new, (draw[:, 1] - 0.5) * self._part.jumps_pct, self._level)
        last = np.maximum.accumulate(np.where(new, np.arange(count), -1))
        out = np.where(last >= 0, level[np.maximum(last, 0)], self._level)
        self._level = float(out[-1])
        return np.asarray(out)

    def _with_play(self, place: F64) -> F64:
        """Play: the sensor is dragged along only when the shaft has crossed the slack."""
        slack = self._part.play_pct / 2
        at = self._play_at if self._play_at is not None else float(place[0])
        out = []
        for p in place.tolist():
            at = min(max(at, p - slack), p + slack)
            out.append(at)
        self._play_at = at
        return np.array(out)


def codes(out_pct: F64, field: Field, low_pct: float, high_pct: float, adc_bits: int, turned: bool) -> I64:
    """The report's numbers for an output in %, through a converter of `adc_bits`; `turned`: high is low.

    The scale is that of the checks: low_pct … high_pct is the field's logical range.
    """
    share = (out_pct - low_pct) / (high_pct - low_pct)
    if turned:
        share = 1.0 - share
    span = field.logical_max - field.logical_min
    steps = (1 << adc_bits) - 1
    if steps < span:
        share = np.rint(share * steps) / steps
    return np.clip(np.rint(share * span), 0, span).astype(np.int64) + field.logical_min
