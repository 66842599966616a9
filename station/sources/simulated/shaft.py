"""The moving part of a stick or trigger over time: led by a hand, stopped by its gate, let go to its spring."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from station.sources.simulated.gates import gauge, inside
from station.sources.simulated.parts import CREEP_FROM_PCT, Lever, Stick
from station.sources.simulated.spring import Return, release

F64 = NDArray[np.float64]
Bool = NDArray[np.bool_]

_GRAB_S = 0.02
"""a thumb that takes hold of a stick off centre meets it within this time constant"""
_STICKY_WITHIN_DEG = 30.0
_CREEP_WITHIN_DEG = 45.0


@dataclass(slots=True)
class Release:
    """The stick let go at one place, off to another, and for how long it was left alone (so far)."""

    start: F64
    end: F64
    free_s: float = 0.0


class StickShaft:
    """Position of one stick, % of half travel of the shaft. Chunk by chunk; `tick_s` is the step of time."""

    def __init__(self, part: Stick, tick_s: float, rng: np.random.Generator) -> None:
        self._part = part
        self._tick_s = tick_s
        self._rng = rng
        self.position: F64 = np.zeros(2)
        self._held = False
        self._grab_off: F64 = np.zeros(2)
        self._grab_ticks = 0
        self._free_ticks = 0
        self._centre: F64 = np.zeros(2)
        self._along: F64 = np.zeros(2)
        self._return: Return | None = None
        self._beyond = 0.0
        self.releases: deque[Release] = deque(maxlen=64)
        """the latest times that it was let go, oldest first"""

    def run(self, hand: F64 | None, held: Bool | None, count: int) -> F64:
        """float[count, 2]. `hand` float[count, 2] is where the thumb wants it while `held`; None: hands off."""
        out = np.empty((count, 2))
        if hand is None or held is None:
            self._free(out)
            return out
        for a, b in _stretches(held):
            if held[a]:
                self._led(hand[a:b], out[a:b])
            else:
                self._free(out[a:b])
        return out

    def _led(self, hand: F64, out: F64) -> None:
        if not self._held:
            self._held, self._grab_ticks = True, 0
            self._grab_off = self.position - hand[0]
        since_s = (self._grab_ticks + np.arange(len(hand))) * self._tick_s
        self._grab_ticks += len(hand)
        wanted = hand
        if since_s[0] < 10 * _GRAB_S:
            wanted = hand + np.exp(-since_s / _GRAB_S)[:, None] * self._grab_off
        out[:] = inside(wanted, self._part.gate, self._part.cuts)
        if self._part.creep is not None:
            self._slow_down(out, *self._part.creep)
        self.position = out[-1].copy()

    def _slow_down(self, out: F64, bearing: float, tau_s: float) -> None:
        """The last part of the way outwards near `bearing` is followed with a time constant, the way back at once."""
        share = gauge(out, self._part.gate) * 100.0
        excess = np.maximum(share - CREEP_FROM_PCT, 0.0)
        if not excess.any() and self._beyond == 0.0:
            return
        off = np.degrees(np.arctan2(out[:, 0], out[:, 1])) - bearing
        near = (np.abs((off + 180.0) % 360.0 - 180.0) <= _CREEP_WITHIN_DEG).tolist()
        keep = -math.expm1(-self._tick_s / tau_s)
        beyond, followed = self._beyond, []
        for e, gummed in zip(excess.tolist(), near, strict=True):
            beyond = beyond + keep * (e - beyond) if gummed and e > beyond else e
            followed.append(beyond)
        self._beyond = beyond
        scale = np.where(excess > 0.0, (CREEP_FROM_PCT + np.array(followed)) / np.maximum(share, CREEP_FROM_PCT), 1.0)
        out *= scale[:, None]

    def _free(self, out: F64) -> None:
        if self._held:
            self._let_go()
        if self.releases:
            self.releases[-1].free_s += len(out) * self._tick_s
        if self._return is None:
            out[:] = self.position
            return
        since_s: F64 = np.arange(1.0, len(out) + 1.0) + self._free_ticks
        since_s *= self._tick_s
        self._free_ticks += len(out)
        out[:] = self._centre + self._return.at(since_s)[:, None] * self._along
        self.position = out[-1].copy()
        if since_s[-1] > self._return.end_s:
            self._return = None

    def _let_go(self) -> None:
        part = self._part
        self._held, self._free_ticks, self._beyond = False, 0, 0.0
        self._centre = self._rng.normal(0.0, part.scatter_pct, 2) if part.scatter_pct else np.zeros(2)
        away = self.position - self._centre
        distance = float(np.hypot(away[0], away[1]))
        self._along = away / max(distance, 1e-9)
        friction = friction_from(part, math.degrees(math.atan2(away[0], away[1])))
        self._return = release(distance, friction, part.natural_hz, part.damping)
        self.releases.append(Release(self.position.copy(), self._centre + self._return.end * self._along))


def friction_from(part: Stick, bearing_deg: float) -> float:
    """How far from its centre friction can hold the shaft when it comes back from a bearing, %."""
    if part.sticky is None:
        return part.friction_pct
    where, pct = part.sticky
    if where is not None and abs((bearing_deg - where + 180.0) % 360.0 - 180.0) > _STICKY_WITHIN_DEG:
        return part.friction_pct
    return max(part.friction_pct, pct)


class LeverShaft:
    """Position of one trigger, 0…100 % of travel."""

    def __init__(self, part: Lever, tick_s: float, rng: np.random.Generator) -> None:
        self._part = part
        self._turn = float(rng.random())
        """it hangs whenever this, which grows by the share with each pull, passes a whole number"""
        self._tick_s = tick_s
        self.position = 0.0
        self._held = False
        self._free_ticks = 0
        self._return: Return | None = None
        self._hangs_s = 0.0
        """for so long after it was let go now it does not come back below `part.hang`"""

    def run(self, pull: F64 | None, held: Bool | None, count: int) -> F64:
        """float[count]. `pull` float[count] is where the finger wants it while `held`; None: hands off."""
        out = np.empty(count)
        if pull is None or held is None:
            self._free(out)
            return out
        for a, b in _stretches(held):
            if held[a]:
                self._held = True
                out[a:b] = np.clip(pull[a:b], 0.0, self._part.stop_pct)
                self.position = float(out[b - 1])
            else:
                self._free(out[a:b])
        return out

    def _free(self, out: F64) -> None:
        if self._held:
            self._held, self._free_ticks = False, 0
            self._hangs_s = self._part.hang[2] if self._hangs() else 0.0
            start = self.position + self._part.preload_pct
            self._return = release(start, 0.0, self._part.natural_hz, self._part.damping)
        if self._return is None:
            out[:] = self.position
            return
        since_s: F64 = np.arange(1.0, len(out) + 1.0) + self._free_ticks
        since_s *= self._tick_s
        self._free_ticks += len(out)
        out[:] = np.maximum(self._return.at(since_s) - self._part.preload_pct, 0.0)
        if self._hangs_s:
            self._hang(since_s, out)
        self.position = float(out[-1])
        if since_s[-1] > self._return.end_s + self._hangs_s:
            self._return = None

    def _hangs(self) -> bool:
        """Whether it hangs this time; it cannot where it was not pulled so far."""
        share, at, _ = self._part.hang
        if share <= 0.0 or self.position <= at:
            return False
        before, self._turn = self._turn, self._turn + share
        return int(self._turn + 1e-9) > int(before + 1e-9)

    def _hang(self, since_s: F64, out: F64) -> None:
        """It stays where it hangs, and then is let go from there."""
        at = self._part.hang[1]
        after = since_s - self._hangs_s
        gone = after >= 0.0
        out[~gone] = np.maximum(out[~gone], at)
        back = release(at + self._part.preload_pct, 0.0, self._part.natural_hz, self._part.damping)
        if gone.any():
            out[gone] = np.maximum(back.at(after[gone]) - self._part.preload_pct, 0.0)


def _stretches(flag: Bool) -> list[tuple[int, int]]:
    """(first, stop) of each stretch of equal flags."""
    change = np.flatnonzero(np.diff(flag)) + 1
    edges = [0, *change.tolist(), len(flag)]
    return list(pairwise(edges))
