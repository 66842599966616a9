"""Which controls leave their rest, and when: the one rule for a visit that is watched and for a unit left alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from station.checks.watched import Moved
from station.measure.held import grid_ns, held_at
from station.sheets.signals import F64, I64, ButtonSignal, HatSignal, MotionSignal, Signal, StickSignal, TouchSignal

STICK_MOVES_PCT = 25.0
TRIGGER_MOVES_PCT = 20.0
"""% of half travel and of travel: a hand that holds the unit nudges a stick by less (common practice, no source)"""
SAME_NS = 60_000_000
"""what comes back within this is the same movement: bounce, noise at the threshold"""
MOST_MOVES = 20_000
_GRID_NS = 10_000_000


class Movements:
    """Follows all controls, a piece of time after the other. Memory is bounded by `MOST_MOVES`. For one thread."""

    def __init__(self) -> None:
        self.moved: list[Moved] = []
        """those that are over, in the order in which they ended"""
        self._open: dict[str, int] = {}
        """control → when the movement began that is still going on"""
        self._rest: dict[str, tuple[float, ...]] = {}
        self._before: set[str] = set()
        """those that are off since before anything was known of them"""
        self._latest: dict[str, tuple[float, ...]] = {}

    @property
    def count(self) -> int:
        """How many began so far."""
        return len(self.moved) + len(self._open)

    def going(self, end_ns: int) -> tuple[Moved, ...]:
        """Those that still go on, as if they ended now."""
        return tuple(Moved(c, begin, end_ns) for c, begin in self._open.items() if c not in self._before)

    def follow(self, signals: Mapping[str, Signal], begin_ns: int, end_ns: int) -> None:
        """What the controls did from `begin_ns` to `end_ns`; one that said nothing stands where it stood."""
        for control in [c for c in self._open if c in self._rest and c not in signals]:
            self._rest[control] = self._latest.get(control, self._rest[control])
            self._close(control, begin_ns)
        for control, signal in signals.items():
            self._follow(control, signal, begin_ns, end_ns)

    def lose(self) -> None:
        """Nobody knows what the controls do from here on."""
        self._open.clear()
        self._before.clear()
        self._latest.clear()

    def _follow(self, control: str, signal: Signal, begin_ns: int, end_ns: int) -> None:
        known = control in self._latest
        off = self._off(control, signal, begin_ns, end_ns)
        if not known and off[0]:
            self._before.add(control)
        state = np.concatenate(([control in self._open], off))
        for at in np.flatnonzero(state[1:] != state[:-1]).tolist():
            if off[at]:
                self._open[control] = int(signal.t_ns[at])
            else:
                self._close(control, int(signal.t_ns[at]))

    def _close(self, control: str, at_ns: int) -> None:
        """It is back; what was off from the first is not known to have moved."""
        begin_ns = self._open.pop(control)
        if control in self._before:
            self._before.discard(control)
        elif len(self.moved) < MOST_MOVES:
            self.moved.append(Moved(control, begin_ns, at_ns))

    def _off(self, control: str, signal: Signal, begin_ns: int, end_ns: int) -> NDArray[np.bool_]:
        """bool[n]: away from its rest."""
        if isinstance(signal, ButtonSignal | HatSignal):
            self._latest[control] = ()
        if isinstance(signal, ButtonSignal):
            return signal.closed
        if isinstance(signal, HatSignal):
            return np.asarray(signal.direction >= 0)
        if isinstance(signal, StickSignal):
            return self._away(control, signal.t_ns, (signal.x_pct, signal.y_pct), STICK_MOVES_PCT, begin_ns, end_ns)
        if isinstance(signal, MotionSignal | TouchSignal):  # the whole unit moves them
            return np.zeros(len(signal.t_ns), dtype=np.bool_)
        return self._away(control, signal.t_ns, (signal.pct,), TRIGGER_MOVES_PCT, begin_ns, end_ns)

    def _away(
        self, control: str, t_ns: I64, values: tuple[F64, ...], most: float, begin_ns: int, end_ns: int
    ) -> NDArray[np.bool_]:
        """Farther from where it rests than `most`. It rests where it last stood still for a piece of time."""
        earlier = self._latest.get(control, tuple(float(v[0]) for v in values))
        self._latest[control] = tuple(float(v[-1]) for v in values)
        since = min(begin_ns, int(t_ns[0]))
        moments = grid_ns(since, max(end_ns, int(t_ns[-1])) + 1, _GRID_NS)
        times = np.append(np.int64(since), t_ns)
        held = [held_at(times, np.append(e, v), moments) for e, v in zip(earlier, values, strict=True)]
        if control not in self._rest or all(np.ptp(v) < most / 2.0 for v in values):
            self._rest[control] = tuple(float(np.median(v)) for v in held)
        apart = [v - r for v, r in zip(values, self._rest[control], strict=True)]
        return np.asarray(np.sqrt(sum(a * a for a in apart)) > most)


def joined(moved: Iterable[Moved]) -> tuple[Moved, ...]:
    """Movements of one control less than `SAME_NS` apart as one, in order of time."""
    last: dict[str, int] = {}
    found: list[Moved] = []
    for one in sorted(moved, key=lambda m: m.begin_ns):
        at = last.get(one.control)
        if at is not None and one.begin_ns - found[at].end_ns < SAME_NS:
            found[at] = replace(found[at], end_ns=max(found[at].end_ns, one.end_ns))
        else:
            last[one.control] = len(found)
            found.append(one)
    return tuple(found)
