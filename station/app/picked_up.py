"""Whether somebody holds a pad and works it: it was moved for a second. Pure.

A pad that lies at the hub may drift, jitter, or have a contact that closes by itself; that is one control, and it does
not travel to and fro. So it is picked up when for `MOVED_NS`, without a pause of more than `PAUSE_NS`, two controls or
more moved, or a stick or trigger went through half its range (customary, no published source).
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from station.sheets.signals import ButtonSignal, HatSignal, Signal, StickSignal, TriggerSignal

MOVED_NS = 1_000_000_000
PAUSE_NS = 400_000_000
TRAVEL_PCT = 25.0
"""a stick (of half its travel) or trigger moved: more than any drift or jitter at rest"""
WIDE_PCT = 100.0


class PickedUp:
    """Told what came from one pad, in order."""

    def __init__(self) -> None:
        self._since_ns: int | None = None
        self._last_ns = 0
        self._moved: set[str] = set()
        self._ends: dict[str, tuple[float, float]] = {}
        """control and axis → least and greatest value while it was moved"""
        self._before: dict[str, float] = {}

    def feed(self, now_ns: int, signals: Mapping[str, Signal]) -> bool:
        """What came since the last call; True once it was worked for a second, and then anew."""
        moved = {name for name, signal in signals.items() if self._moves(name, signal)}
        if self._since_ns is not None and now_ns - self._last_ns > PAUSE_NS:
            self._forget()
        if not moved:
            return False
        if self._since_ns is None:
            self._since_ns = now_ns
        self._last_ns = now_ns
        self._moved |= moved
        wide = any(high - low >= WIDE_PCT for low, high in self._ends.values())
        if now_ns - self._since_ns < MOVED_NS or not (len(self._moved) > 1 or wide):
            return False
        self._forget()
        return True

    def _forget(self) -> None:
        self._since_ns = None
        self._moved.clear()
        self._ends.clear()

    def _moves(self, name: str, signal: Signal) -> bool:
        moved = [self._axis(f"{name}.{k}", values) for k, values in enumerate(_values(signal))]
        return any(moved)

    def _axis(self, axis: str, values: np.ndarray) -> bool:
        if not len(values):
            return False
        before = self._before.setdefault(axis, float(values[0]))
        low, high = float(values.min()), float(values.max())
        moved = max(high - before, before - low) >= TRAVEL_PCT
        if moved:
            self._before[axis] = float(values[-1])
            least, most = self._ends.get(axis, (before, before))
            self._ends[axis] = (min(least, low), max(most, high))
        return moved


def _values(signal: Signal) -> tuple[np.ndarray, ...]:
    """What of a control moves, in %; a contact that closes goes from 0 to 99 %, less than wide."""
    if isinstance(signal, StickSignal):
        return signal.x_pct, signal.y_pct
    if isinstance(signal, TriggerSignal):
        return (signal.pct,)
    if isinstance(signal, ButtonSignal):
        return (signal.closed * 99.0,)
    if isinstance(signal, HatSignal):
        return ((signal.direction >= 0) * 99.0,)
    return ()
