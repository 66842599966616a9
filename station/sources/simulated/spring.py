"""A mass on a spring with damping and Coulomb friction, let go from rest: solved exactly, half-wave by half-wave.

m s″ + c s′ + k s + F_c sign(s′) = 0. While the motion keeps its direction, friction only shifts the equilibrium by
F_c/k, so each half-wave is that of a plain damped oscillator about ±F_c/k. It ends where the speed is zero; if the
spring cannot overcome friction there (|s| ≤ F_c/k), the mass stays. That is the return hysteresis of a stick.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]

_MOST_HALF_WAVES = 16


@dataclass(frozen=True, slots=True)
class _HalfWave:
    """From `at_s` on, s moves from `start` about `equilibrium`."""

    at_s: float
    start: float
    equilibrium: float


@dataclass(frozen=True, slots=True)
class Return:
    """The motion of a mass let go at `start` > 0. `end`: where it stays."""

    natural_hz: float
    damping: float
    waves: tuple[_HalfWave, ...]
    end: float
    end_s: float
    """from here on the mass is at its end for good (exponential tails are cut at 1 ‰ of the start)"""

    def at(self, t_s: F64) -> F64:
        """Position at the given times since letting go."""
        if len(t_s) and t_s[0] >= self.end_s:
            return np.full(len(t_s), self.end)
        out = np.full(len(t_s), self.waves[0].start if self.waves else self.end)
        for wave in self.waves:
            later = t_s >= wave.at_s
            share = step_response(t_s[later] - wave.at_s, self.natural_hz, self.damping)
            out[later] = wave.equilibrium + (wave.start - wave.equilibrium) * share
        out[t_s >= self.end_s] = self.end
        return out


def release(start: float, friction: float, natural_hz: float, damping: float) -> Return:
    """Let go at `start` ≥ 0 with friction F_c/k = `friction` (same unit)."""
    omega = 2.0 * math.pi * natural_hz
    tail_s = _tail_s(omega, damping)
    waves: list[_HalfWave] = []
    at_s, s = 0.0, start
    if damping >= 1.0:
        if s > friction:
            waves.append(_HalfWave(0.0, s, friction))
            s = friction
        return Return(natural_hz, damping, tuple(waves), s, tail_s if waves else 0.0)
    swing = math.sqrt(1.0 - damping * damping)
    half_s = math.pi / (omega * swing)
    shrink = math.exp(-math.pi * damping / swing)
    while abs(s) > max(friction, 1e-3 * start) and len(waves) < _MOST_HALF_WAVES:
        equilibrium = math.copysign(friction, s)
        waves.append(_HalfWave(at_s, s, equilibrium))
        s = equilibrium - (s - equilibrium) * shrink
        at_s += half_s
    return Return(natural_hz, damping, tuple(waves), s, at_s)


def step_response(t_s: F64, natural_hz: float, damping: float) -> F64:
    """Share of the deflection that is left t after letting go from rest, without friction; 1 at t = 0."""
    omega = 2.0 * math.pi * natural_hz
    if damping < 1.0:
        swing = math.sqrt(1.0 - damping * damping)
        phase = omega * swing * t_s
        wave = np.cos(phase) + damping / swing * np.sin(phase)
        return np.asarray(np.exp(-damping * omega * t_s) * wave)
    if damping == 1.0:
        return np.asarray((1.0 + omega * t_s) * np.exp(-omega * t_s))
    root = math.sqrt(damping * damping - 1.0)
    slow, fast = omega * (damping - root), omega * (damping + root)
    return np.asarray((fast * np.exp(-slow * t_s) - slow * np.exp(-fast * t_s)) / (fast - slow))


def _tail_s(omega: float, damping: float) -> float:
    """When the slower exponential has fallen to 1 ‰ (with room for the critically damped case)."""
    if damping < 1.0:
        return 0.0
    slow = omega * (damping - math.sqrt(damping * damping - 1.0))
    return math.log(1000.0) * 1.4 / slow
