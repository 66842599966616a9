"""The last seconds of every control, kept for drawing, and their reduction to pixels. No Qt.

A value holds until the next report, so each track keeps one entry from before the window: what held at its edge.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from station.sheets.signals import F64, I64, ButtonSignal, HatSignal, Signal, StickSignal, TriggerSignal

WINDOW_NS = 10_000_000_000
_I64 = np.empty(0, np.int64)
_F64 = np.empty(0, np.float64)


@dataclass(slots=True)
class StateTrack:
    """A contact or hat over time, as changes only: `state` 0 open or null, 1 closed, for a hat 1 + direction."""

    t_ns: I64 = field(default_factory=_I64.copy)
    state: NDArray[np.int8] = field(default_factory=lambda: np.empty(0, np.int8))

    @property
    def known(self) -> bool:
        return len(self.t_ns) > 0

    @property
    def now(self) -> int | None:
        """The present state; None if the control has never reported."""
        return int(self.state[-1]) if len(self.state) else None

    def add(self, t_ns: I64, state: NDArray[np.int8]) -> None:
        """Append what was reported; entries that repeat the state before them are dropped."""
        if not len(t_ns):
            return
        before = self.state[-1] if len(self.state) else np.int8(-1)
        change = np.empty(len(state), np.bool_)
        change[0] = state[0] != before
        np.not_equal(state[1:], state[:-1], out=change[1:])
        if change.any():
            self.t_ns = np.concatenate((self.t_ns, t_ns[change]))
            self.state = np.concatenate((self.state, state[change]))

    def prune(self, before_ns: int) -> None:
        """Forget what lies before, but keep the state that held then."""
        first = max(0, int(np.searchsorted(self.t_ns, before_ns, "right")) - 1)
        if first:
            self.t_ns, self.state = self.t_ns[first:], self.state[first:]


@dataclass(slots=True)
class ValueTrack:
    """One or two axes over time (`y` stays empty for a trigger), in chunks as they came."""

    chunks: list[tuple[I64, F64, F64]] = field(default_factory=list)

    @property
    def known(self) -> bool:
        return bool(self.chunks)

    @property
    def now(self) -> tuple[float, float] | None:
        """The present value; None if the control has never reported. Of a trigger the second is 0."""
        if not self.chunks:
            return None
        _, x, y = self.chunks[-1]
        return float(x[-1]), float(y[-1]) if len(y) else 0.0

    def add(self, t_ns: I64, x: F64, y: F64) -> None:
        if not len(t_ns):
            return
        if self.chunks and len(self.chunks[-1][0]) < 64:
            # small chunks are joined, or a slow device would leave thousands of them
            last = self.chunks.pop()
            t_ns, x, y = (np.concatenate((a, b)) for a, b in zip(last, (t_ns, x, y), strict=True))
        self.chunks.append((t_ns, x, y))

    def prune(self, before_ns: int) -> None:
        """Forget chunks that ended before, but keep the last of them: its value held then."""
        while len(self.chunks) > 1 and self.chunks[1][0][0] <= before_ns:
            del self.chunks[0]

    def since(self, from_ns: int) -> tuple[I64, F64, F64]:
        """Everything from `from_ns` on, and the entry before it."""
        picked = [c for c in self.chunks if c[0][-1] >= from_ns] or self.chunks[-1:]
        if not picked:
            return _I64, _F64, _F64
        t, x, y = (np.concatenate(parts) for parts in zip(*picked, strict=True))
        first = max(0, int(np.searchsorted(t, from_ns, "right")) - 1)
        return t[first:], x[first:], y[first:]


Track = StateTrack | ValueTrack


class Tracks:
    """All controls of the active device."""

    def __init__(self, window_ns: int = WINDOW_NS) -> None:
        self.window_ns = window_ns
        self.now_ns = 0
        self._tracks: dict[str, Track] = {}
        self._arrivals: list[tuple[int, int]] = []

    def clear(self) -> None:
        self.now_ns = 0
        self._tracks.clear()
        self._arrivals.clear()

    def take(self, now_ns: int, signals: Mapping[str, Signal], reports: int) -> None:
        """One tick's news. A clock that ran back means another source: everything before is forgotten."""
        if now_ns < self.now_ns:
            self.clear()
        self.now_ns = now_ns
        for control, signal in signals.items():
            self._add(control, signal)
        edge = now_ns - self.window_ns
        for track in self._tracks.values():
            track.prune(edge)
        self._arrivals.append((now_ns, reports))
        while self._arrivals and self._arrivals[0][0] < now_ns - 2_000_000_000:
            del self._arrivals[0]

    def state(self, control: str) -> StateTrack | None:
        track = self._tracks.get(control)
        return track if isinstance(track, StateTrack) else None

    def value(self, control: str) -> ValueTrack | None:
        track = self._tracks.get(control)
        return track if isinstance(track, ValueTrack) else None

    def rate_hz(self) -> float:
        """Reports per second over the last two seconds."""
        if len(self._arrivals) < 2:
            return 0.0
        span = self._arrivals[-1][0] - self._arrivals[0][0]
        return sum(n for _, n in self._arrivals[1:]) * 1e9 / span if span > 0 else 0.0

    def _add(self, control: str, signal: Signal) -> None:
        if isinstance(signal, ButtonSignal):
            self._state(control).add(signal.t_ns, signal.closed.astype(np.int8))
        elif isinstance(signal, HatSignal):
            self._state(control).add(signal.t_ns, (signal.direction + 1).astype(np.int8))
        elif isinstance(signal, StickSignal):
            self._value(control).add(signal.t_ns, signal.x_pct, signal.y_pct)
        elif isinstance(signal, TriggerSignal):
            self._value(control).add(signal.t_ns, signal.pct, np.zeros(len(signal.t_ns)))

    def _state(self, control: str) -> StateTrack:
        track = self._tracks.get(control)
        if not isinstance(track, StateTrack):
            track = self._tracks[control] = StateTrack()
        return track

    def _value(self, control: str) -> ValueTrack:
        track = self._tracks.get(control)
        if not isinstance(track, ValueTrack):
            track = self._tracks[control] = ValueTrack()
        return track


@dataclass(frozen=True, slots=True)
class Bars:
    """A contact as pixel columns: closed stretches (first, one past the last) and the columns of notches in them."""

    closed: tuple[tuple[int, int], ...] = ()
    notches: tuple[int, ...] = ()


def contact_bars(t_ns: I64, state: NDArray[np.int8], from_ns: int, to_ns: int, columns: int) -> Bars:
    """Reduce a contact to at most one bar and one notch for each pixel column.

    Both extremes survive however short they are: a closure of a microsecond fills its column, and an opening too short
    to leave a column open becomes a notch. Changes are `t_ns` int64[n] with `state` int8[n] (0 open); before the first
    change nothing is known and nothing is drawn.
    """
    if not len(t_ns) or to_ns <= from_ns or columns < 1 or (len(t_ns) == 1 and not state[0]):
        return Bars()
    begin = (t_ns - from_ns) * (columns / (to_ns - from_ns))
    end = np.append(begin[1:], float(columns))
    on = (state != 0) & (end >= 0) & (begin < columns)
    if not on.any():
        return Bars()
    first = np.maximum(begin[on], 0.0).astype(np.int64)
    last = np.minimum(np.maximum(np.ceil(end[on]).astype(np.int64), first + 1), columns)
    # openings that leave no open column between two closures: inside one column, or across a column edge
    short = first[1:] <= last[:-1]
    starts = first[np.append(True, ~short)]
    ends = last[np.append(~short, True)]
    notches = np.unique(np.minimum(first[1:][short], columns - 1))
    return Bars(tuple(zip(starts.tolist(), ends.tolist(), strict=True)), tuple(notches.tolist()))


def envelope(t_ns: I64, value: F64, from_ns: int, to_ns: int, columns: int) -> tuple[F64, F64]:
    """Reduce a value that holds between reports to ≤ 2 points per pixel column, lowest and highest of each.

    Returns (seconds before `to_ns`, value), ready to be drawn as one line; the value held at the left edge is kept.
    """
    if not len(t_ns) or to_ns <= from_ns:
        return _F64, _F64
    t = np.clip(t_ns, from_ns, to_ns).astype(np.float64)
    seconds = (t - to_ns) * 1e-9
    if len(t) <= 2 * columns:
        # hold until the next report: a step, not a slope
        x = np.repeat(seconds, 2)[1:]
        y = np.repeat(value, 2)[:-1]
        return np.append(x, 0.0), np.append(y, value[-1])
    column = np.minimum(((t - from_ns) * (columns / (to_ns - from_ns))).astype(np.int64), columns - 1)
    starts = np.flatnonzero(np.diff(column, prepend=-1))
    low, high = np.minimum.reduceat(value, starts), np.maximum.reduceat(value, starts)
    x = np.repeat(seconds[starts], 2)
    y = np.empty(2 * len(starts))
    y[0::2], y[1::2] = low, high
    return np.append(x, 0.0), np.append(y, value[-1])
