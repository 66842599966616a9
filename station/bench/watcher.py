"""The whole visit watched: every control's movements, in tries and pauses alike, and what was asked meanwhile.

It reads the reports that the visit takes anyway, a second of them at a time, keeps a few numbers for each movement, and
of the reports those around movements of controls that nobody was asked to touch: the evidence.
"""

from __future__ import annotations

from collections import deque
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from station.bench.stretch import join_blocks
from station.capture.types import Capture, CaptureMeta, Mark
from station.checks.watched import Asked, Moved, Watched, explained
from station.hid.types import ReportBlock
from station.measure.held import grid_ns, held_at
from station.sheets.bind import Binding
from station.sheets.signals import F64, I64, ButtonSignal, HatSignal, MotionSignal, Signal, StickSignal, TouchSignal
from station.sources.port import DeviceInfo

PIECE_NS = 1_000_000_000
STICK_MOVES_PCT = 25.0
TRIGGER_MOVES_PCT = 20.0
"""% of half travel and of travel: a hand that holds the unit nudges a stick by less (common practice, no source)"""
SAME_NS = 60_000_000
"""what comes back within this is the same movement: bounce, noise at the threshold"""
MOST_MOVES = 20_000
MOST_KEPT = 120
"""seconds of reports kept as evidence"""
_GRID_NS = 10_000_000


class Watcher:
    """One visit, from when the unit is on the bench. For one thread."""

    def __init__(self, binding: Binding, begin_ns: int) -> None:
        self._binding = binding
        self._begin_ns = begin_ns
        self._asked: list[Asked] = [Asked(begin_ns)]
        self._moved: list[Moved] = []
        self._open: dict[str, int] = {}
        """control → when the movement began that is still going on"""
        self._rest: dict[str, tuple[float, ...]] = {}
        self._before: set[str] = set()
        """those that are off since before anything was known of them"""
        self._latest: dict[str, tuple[float, ...]] = {}
        self._fresh: list[ReportBlock] = []
        self._seen_ns = begin_ns
        self._watched_ns = 0
        self._last: deque[ReportBlock] = deque(maxlen=2)
        self._kept: list[ReportBlock] = []
        self._unclear = 0

    def ask(
        self, at_ns: int, check: str = "", controls: tuple[str, ...] = (), *, running: bool, hands_off: bool = False
    ) -> None:
        """From now on this is asked, or (not running) comes next."""
        one = Asked(at_ns, check, controls, running, hands_off)
        if replace(self._asked[-1], begin_ns=at_ns) != one:
            self._asked.append(one)

    def add(self, block: ReportBlock) -> None:
        """Reports that arrived."""
        if len(block):
            self._fresh.append(block)

    def look(self, now_ns: int) -> None:
        """Work off what arrived, if it is time to."""
        if now_ns - self._seen_ns >= PIECE_NS:
            self._work_off(now_ns)

    def lose(self, now_ns: int) -> None:
        """The unit went away, or reports did: what moves is not known any more, and nothing is watched from here on
        until reports come again."""
        self._work_off(now_ns)
        self._open.clear()
        self._before.clear()
        self._latest.clear()

    def skip(self, now_ns: int) -> None:
        """The unit is away: this time is not watched."""
        self._seen_ns = now_ns

    def watched(self, now_ns: int) -> Watched:
        """Everything up to the present. What still goes on ends now."""
        self._work_off(now_ns)
        going = [Moved(control, begin, now_ns) for control, begin in self._open.items() if control not in self._before]
        moved = _joined([*self._moved, *going])
        return Watched(self._begin_ns, self._watched_ns, moved, tuple(self._asked))

    def age_us(self, now_ns: int) -> float:
        """Microseconds since the time of the capture began."""
        first = min((int(b.t_ns[0]) for b in self._kept or list(self._last)[-1:]), default=self._begin_ns)
        return (now_ns - min(self._begin_ns, first)) / 1000.0

    def capture(self, info: DeviceInfo, sheet_name: str, end_ns: int, started_at: str, check: str) -> Capture:
        """The reports around what was not asked for, as evidence; time counts from the beginning of the visit."""
        kept = join_blocks(self._kept) if self._kept else join_blocks([self._last[-1]] if self._last else [])
        base = min(self._begin_ns, int(kept.t_ns[0])) if len(kept) else self._begin_ns
        marks = (Mark(self._begin_ns - base, "begin", check, ""), Mark(end_ns - base, "end", check, ""))
        meta = CaptureMeta(
            info.vendor_id, info.product_id, info.product, info.serial, info.bus, started_at, sheet_name, 0
        )
        return Capture(info.descriptor, ReportBlock(0, kept.t_ns - base, kept.size, kept.raw, 0), meta, marks)

    # --- a piece of time --------------------------------------------------------------------------------

    def _work_off(self, now_ns: int) -> None:
        block, self._fresh = join_blocks(self._fresh), []
        self._watched_ns += max(0, now_ns - self._seen_ns)
        begin_ns, self._seen_ns = self._seen_ns, max(now_ns, self._seen_ns)
        before = len(self._moved) + len(self._open)
        signals = self._binding.signals(block)
        for control in [c for c in self._open if c in self._rest and c not in signals]:
            self._rest[control] = self._latest.get(control, self._rest[control])  # it says nothing: it stands there
            self._close(control, begin_ns)
        if len(block):
            self._last.append(block)
            for control, signal in signals.items():
                self._follow(control, signal, begin_ns)
        if len(self._moved) + len(self._open) > before:
            self._keep()

    def _follow(self, control: str, signal: Signal, begin_ns: int) -> None:
        known = control in self._latest
        off = self._off(control, signal, begin_ns)
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
        elif len(self._moved) < MOST_MOVES:
            self._moved.append(Moved(control, begin_ns, at_ns))

    def _off(self, control: str, signal: Signal, begin_ns: int) -> NDArray[np.bool_]:
        """bool[n]: away from its rest."""
        if isinstance(signal, ButtonSignal | HatSignal):
            self._latest[control] = ()
        if isinstance(signal, ButtonSignal):
            return signal.closed
        if isinstance(signal, HatSignal):
            return np.asarray(signal.direction >= 0)
        if isinstance(signal, StickSignal):
            return self._away(control, signal.t_ns, (signal.x_pct, signal.y_pct), STICK_MOVES_PCT, begin_ns)
        if isinstance(signal, MotionSignal | TouchSignal):  # the whole unit moves them
            return np.zeros(len(signal.t_ns), dtype=np.bool_)
        return self._away(control, signal.t_ns, (signal.pct,), TRIGGER_MOVES_PCT, begin_ns)

    def _away(self, control: str, t_ns: I64, values: tuple[F64, ...], most: float, begin_ns: int) -> NDArray[np.bool_]:
        """Farther from where it rests than `most`. It rests where it last stood still for a piece of time."""
        earlier = self._latest.get(control, tuple(float(v[0]) for v in values))
        self._latest[control] = tuple(float(v[-1]) for v in values)
        since = min(begin_ns, int(t_ns[0]))
        moments = grid_ns(since, max(self._seen_ns, int(t_ns[-1])) + 1, _GRID_NS)
        times = np.append(np.int64(since), t_ns)
        held = [held_at(times, np.append(e, v), moments) for e, v in zip(earlier, values, strict=True)]
        if control not in self._rest or all(np.ptp(v) < most / 2.0 for v in values):
            self._rest[control] = tuple(float(np.median(v)) for v in held)
        apart = [v - r for v, r in zip(values, self._rest[control], strict=True)]
        return np.asarray(np.sqrt(sum(a * a for a in apart)) > most)

    def _keep(self) -> None:
        """Keep the reports of this second and the one before if what began moving was not asked for."""
        sheet = self._binding.sheet
        since = self._last[0].t_ns[0]
        recent = [m for m in self._moved[-64:] if m.end_ns >= since]
        recent += [Moved(c, begin, self._seen_ns) for c, begin in self._open.items() if begin >= since]
        seen = explained(Watched(self._begin_ns, 0, tuple(recent), tuple(self._asked[-4:])), sheet)
        if any(one.cause not in ("asked", "along") for one in seen) and len(self._kept) < MOST_KEPT:
            self._kept += [b for b in self._last if all(b is not k for k in self._kept[-2:])]


def _joined(moved: list[Moved]) -> tuple[Moved, ...]:
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
