"""Hand-made movements as arrays: waypoints joined smoothly, with tremor and drift."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, lfilter

F64 = NDArray[np.float64]
Bool = NDArray[np.bool_]

_TREMOR_HZ = (7.0, 12.0)
"""physiological tremor lies at some 8…12 Hz (common practice, no source)"""
_DRIFT_S = 0.35


@dataclass(frozen=True, slots=True)
class Move:
    """Where the hand wants the control, float[n, 2] (sticks) or float[n] (triggers), and whether it holds it."""

    place: F64
    held: Bool


class Path:
    """Builds a Move step by step; all times in seconds."""

    def __init__(self, tick_s: float, start: tuple[float, float] = (0.0, 0.0)) -> None:
        self._tick_s = tick_s
        self._at = np.array(start)
        self._places: list[F64] = []
        self._held: list[Bool] = []

    def to(self, x: float, y: float, seconds: float) -> Path:
        """Move there smoothly (minimum jerk: Flash & Hogan, J. Neurosci. 5, 1985, 1688)."""
        return self.follow(self._at + smooth(self._count(seconds))[:, None] * (np.array([x, y]) - self._at))

    def evenly_to(self, x: float, y: float, seconds: float, unevenness: F64 | None = None) -> Path:
        """Move there at an almost even speed. `unevenness` float[k] > 0: relative speeds along the way."""
        share = even(self._count(seconds), unevenness)
        return self.follow(self._at + share[:, None] * (np.array([x, y]) - self._at))

    def follow(self, places: F64) -> Path:
        """Go along the given places, one a tick."""
        if len(places):
            self._places.append(places)
            self._held.append(np.ones(len(places), dtype=np.bool_))
            self._at = places[-1]
        return self

    def stay(self, seconds: float) -> Path:
        return self.follow(np.repeat(self._at[None, :], self._count(seconds), axis=0))

    def off(self, seconds: float) -> Path:
        """Hands off; the next movement starts from the middle."""
        count = self._count(seconds)
        self._places.append(np.zeros((count, 2)))
        self._held.append(np.zeros(count, dtype=np.bool_))
        self._at = np.zeros(2)
        return self

    def _count(self, seconds: float) -> int:
        return max(1, round(seconds / self._tick_s))

    def move(self, tremor: float, drift: float, rng: np.random.Generator) -> Move:
        """The whole movement with tremor and drift of the given rms, %."""
        place = np.concatenate(self._places)
        place = place + unsteady(place.shape, self._tick_s, tremor, drift, rng)
        return Move(place, np.concatenate(self._held))


def smooth(count: int) -> F64:
    """0 → 1 in `count` ticks, minimum jerk."""
    u = np.arange(1, count + 1) / count
    return np.asarray(u**3 * (10.0 - 15.0 * u + 6.0 * u * u))


def even(count: int, unevenness: F64 | None = None) -> F64:
    """0 → 1 in `count` ticks at an even speed with short soft ends, or at speeds that vary as given."""
    u = (np.arange(count) + 0.5) / count
    speed = np.minimum(1.0, np.minimum(u, 1.0 - u) / 0.08)
    if unevenness is not None:
        speed = speed * np.interp(u, np.linspace(0.0, 1.0, len(unevenness)), unevenness)
    run = np.cumsum(speed)
    return np.asarray(run / run[-1])


def unsteady(shape: tuple[int, ...], tick_s: float, tremor: float, drift: float, rng: np.random.Generator) -> F64:
    """Tremor and slow drift of the given rms in each column."""
    count, columns = shape
    out = np.zeros(shape)
    if tremor > 0.0:
        b, a = butter(1, _TREMOR_HZ, btype="bandpass", fs=1.0 / tick_s)
        settle = int(0.3 / tick_s)
        noise = lfilter(b, a, rng.standard_normal((count + settle, columns)), axis=0)[settle:]
        out += tremor * noise / _band_rms(tick_s)
    if drift > 0.0:
        knots = max(4, int(count * tick_s / _DRIFT_S) + 2)
        at = np.linspace(0.0, knots - 1.0, count)
        for column in range(columns):
            out[:, column] += drift * np.interp(at, np.arange(knots), rng.standard_normal(knots))
    return out


def _band_rms(tick_s: float) -> float:
    """Rms of unit white noise behind the tremor's band filter (noise bandwidth of a first-order band-pass: π/2 · B)."""
    return float(np.sqrt(np.pi * (_TREMOR_HZ[1] - _TREMOR_HZ[0]) * tick_s))
