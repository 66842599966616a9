"""Hand movements and plain devices for the tests of the axis checks.

A path is (t_s, x_pct, y_pct) on a grid of 4 kHz; a `Device` turns it into what a controller would have reported.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from station.checks.limits import load_limits
from station.checks.types import Take
from station.measure.arrays import F64, I64
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal, TriggerSignal

LIMITS = load_limits()
STICK = Control("left_stick", "stick", "Left stick")
SQUARE = Control("left_stick", "stick", "Left stick", gate="square")
TRIGGER = Control("left_trigger", "trigger", "Left trigger")
SHEET = Sheet("Plover T2", controls=(STICK, TRIGGER))
GRID_HZ = 4000

Path = tuple[F64, F64, F64]


@dataclass(frozen=True)
class Device:
    """How a controller reports: rate, resolution, whether only on change, sensor noise (rms, %)."""

    rate_hz: int = 1000
    bits: int = 8
    on_change: bool = False
    noise: float = 0.1
    seed: int = 1

    @property
    def name(self) -> str:
        return f"{self.bits} bit at {self.rate_hz} Hz{', on change' if self.on_change else ''}"

    def _times(self, end_s: float) -> F64:
        rng = np.random.default_rng(self.seed + 1000)
        n = int(end_s * self.rate_hz)
        return np.arange(n) / self.rate_hz + rng.uniform(0, 0.05 / self.rate_hz, n)

    def _noisy(self, t_s: F64, path_t: F64, values: F64, rng: np.random.Generator) -> F64:
        return np.interp(t_s, path_t, values) + self.noise * rng.standard_normal(len(t_s))

    def _code(self, values: F64, low: float, high: float) -> tuple[I64, F64, float]:
        top = 2**self.bits - 1
        code = np.clip(np.round((values - low) / (high - low) * top), 0, top).astype(np.int64)
        return code, low + code * ((high - low) / top), (high - low) / top

    def stick(self, path: Path, control: Control = STICK, fault: Callable[[F64, F64], F64] | None = None) -> Take:
        """The take of one try; `fault(t_s, x)` changes what the horizontal sensor gives before it is coded."""
        t_s, x, y = path
        rng = np.random.default_rng(self.seed)
        moments = self._times(float(t_s[-1]))
        x_now = self._noisy(moments, t_s, x, rng)
        y_now = self._noisy(moments, t_s, y, rng)
        if fault is not None:
            x_now = fault(moments, x_now)
        x_code, x_pct, step = self._code(x_now, -100.0, 100.0)
        y_code, y_pct, _ = self._code(y_now, -100.0, 100.0)
        t = (moments * 1e9).astype(np.int64)
        if self.on_change:
            kept = np.concatenate(([True], (np.diff(x_code) != 0) | (np.diff(y_code) != 0)))
            t, x_code, x_pct, y_code, y_pct = t[kept], x_code[kept], x_pct[kept], y_code[kept], y_pct[kept]
        signal = StickSignal(t, x_pct, y_pct, x_code, y_code, step, step)
        return Take(SHEET, control, {control.id: signal}, 0, int(t_s[-1] * 1e9), t)

    def trigger(self, path: tuple[F64, F64], fault: Callable[[F64, F64], F64] | None = None) -> Take:
        """The take of one try at a trigger, 0…100 %."""
        t_s, v = path
        moments = self._times(float(t_s[-1]))
        now = self._noisy(moments, t_s, v, np.random.default_rng(self.seed))
        if fault is not None:
            now = fault(moments, now)
        code, pct, step = self._code(now, 0.0, 100.0)
        t = (moments * 1e9).astype(np.int64)
        if self.on_change:
            kept = np.concatenate(([True], np.diff(code) != 0))
            t, code, pct = t[kept], code[kept], pct[kept]
        return Take(SHEET, TRIGGER, {TRIGGER.id: TriggerSignal(t, pct, code, step)}, 0, int(t_s[-1] * 1e9), t)


DEVICES = (
    Device(1000, 8),
    Device(125, 8, on_change=True),
    Device(250, 10),
    Device(1000, 16, noise=0.2),
    Device(8000, 12, on_change=True),
)


def seconds(duration: float) -> F64:
    """A time grid."""
    return np.arange(int(duration * GRID_HZ)) / GRID_HZ


def ramp(start: float, stop: float, duration: float) -> F64:
    """An even movement."""
    return np.linspace(start, stop, max(2, int(duration * GRID_HZ)))


def stay(value: float, duration: float) -> F64:
    """No movement."""
    return np.full(int(duration * GRID_HZ), value)


def smooth(start: float, stop: float, duration: float) -> F64:
    """A hand's movement of least jerk (Flash & Hogan 1985, from memory)."""
    s = np.linspace(0.0, 1.0, max(2, int(duration * GRID_HZ)))
    return start + (stop - start) * s**3 * (10 - 15 * s + 6 * s * s)


def rest(x: float, y: float, duration: float = 3.0) -> Path:
    """Hands off."""
    t = seconds(duration)
    return t, np.full_like(t, x), np.full_like(t, y)


def along(bearings_deg: list[float], deflection: list[F64], settle: list[tuple[float, float]] | None = None) -> Path:
    """One deflection (%, over time) after the other in the given bearings; `settle`: where the stick stands at 0 %."""
    points = settle or [(0.0, 0.0)] * len(bearings_deg)
    xs, ys = [], []
    for bearing, d, (px, py) in zip(bearings_deg, deflection, points, strict=True):
        left = 1.0 - d / 100.0
        xs.append(np.sin(np.deg2rad(bearing)) * d + px * left)
        ys.append(np.cos(np.deg2rad(bearing)) * d + py * left)
    x, y = np.concatenate(xs), np.concatenate(ys)
    return np.arange(len(x)) / GRID_HZ, x, y


def flick(tau_s: float = 0.010, wait_s: float = 0.6, back: F64 | None = None) -> F64:
    """Out in 60 ms, held 150 ms, let go: an exponential return with time constant τ (or the given way back)."""
    returned = 100.0 * np.exp(-seconds(wait_s) / tau_s) if back is None else np.concatenate((back, stay(0.0, wait_s)))
    return np.concatenate((ramp(0, 100, 0.06), stay(100, 0.15), returned))


def flicks(one: F64, settle: list[tuple[float, float]] | None = None, off_deg: float = 0.0) -> Path:
    """The same flick in all eight directions."""
    return along([45.0 * k + off_deg for k in range(8)], [one] * 8, settle)


def push(top: float = 100.0, rise_s: float = 0.04, lag_s: float = 0.0, hold_s: float = 0.7) -> F64:
    """Out evenly, held, back; `lag_s`: first-order lag of the sensor."""
    d = np.concatenate((ramp(0, top, rise_s), stay(top, hold_s), ramp(top, 0, 0.03), stay(0, 0.4)))
    return lagged(d, lag_s) if lag_s else d


def lagged(values: F64, tau_s: float) -> F64:
    """First-order lag."""
    share = 1.0 - np.exp(-1.0 / (GRID_HZ * tau_s))
    out, now = np.empty_like(values), float(values[0])
    for k, value in enumerate(values):
        now += share * (float(value) - now)
        out[k] = now
    return out


def pushes(up: F64, right: F64, down: F64, left: F64, off_deg: float = 0.0) -> Path:
    """A push in each of the four directions."""
    return along([off_deg, 90.0 + off_deg, 180.0 + off_deg, 270.0 + off_deg], [up, right, down, left])


def roll(turns: float = 2.0, turn_s: float = 1.0, reach: Callable[[F64, F64], F64] | None = None) -> Path:
    """Up to the rim, around it clockwise, then back; `reach(bearing_deg, turned_deg)` in % (default 100)."""
    turned = np.concatenate((ramp(0, 360 * turns, turns * turn_s), ramp(360 * turns, 0, turns * turn_s)))
    so_far = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(turned)))))
    r = np.full_like(turned, 100.0) if reach is None else reach(turned % 360.0, so_far)
    out = ramp(0, r[0], 0.1)
    angle = np.deg2rad(turned)
    x = np.concatenate((0 * out, r * np.sin(angle)))
    y = np.concatenate((out, r * np.cos(angle)))
    return np.arange(len(x)) / GRID_HZ, x, y


def dent(at_deg: float, depth: float, width_deg: float) -> Callable[[F64, F64], F64]:
    """A rim with a flat: depth in %, width as the standard deviation of its shape."""

    def reach(bearing: F64, turned: F64) -> F64:
        off = (bearing - at_deg + 180.0) % 360.0 - 180.0
        return 100.0 - depth * np.exp(-0.5 * (off / width_deg) ** 2)

    return reach


def sweeps(way_s: float = 2.0, times: int = 3, top: float = 100.0, axes: str = "xy") -> Path:
    """Across and back, the given number of times, one axis after the other."""
    there = np.concatenate((ramp(-top, top, way_s), stay(top, 0.2), ramp(top, -top, way_s), stay(-top, 0.2)))
    one = np.concatenate((ramp(0, -top, 0.5), np.tile(there, times), ramp(-top, 0, 0.5), stay(0, 0.1)))
    none = np.zeros_like(one)
    x = np.concatenate([one if axis == "x" else none for axis in axes])
    y = np.concatenate([one if axis == "y" else none for axis in axes])
    return np.arange(len(x)) / GRID_HZ, x, y


def shaken(path: Path, amplitude: float, hz: float = 9.0) -> Path:
    """The same path by a hand with tremor."""
    t, x, y = path
    return t, x + amplitude * np.sin(2 * np.pi * hz * t), y + amplitude * np.cos(2 * np.pi * hz * 1.07 * t)


def pulls(rest_at: float = 0.0, top: float = 100.0, pull_s: float = 1.5, times: int = 3) -> tuple[F64, F64]:
    """Pull slowly, hold, let go."""
    one = (ramp(rest_at, top, pull_s), stay(top, 0.3), ramp(top, rest_at, 0.04), stay(rest_at, 0.5))
    v = np.concatenate((stay(rest_at, 0.3), *(one * times)))
    return np.arange(len(v)) / GRID_HZ, v


def value(readings: tuple, name: str) -> float:
    """The value of the reading of that name."""
    found = next(r.value for r in readings if r.name == name)
    assert found is not None, name
    return float(found)
