"""A contact under a finger: snap, bounce, film, and the ways in which it goes wrong; four of them make a hat."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from station.sources.simulated.parts import Contact, Hat

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]
Bool = NDArray[np.bool_]

MOST_BOUNCE_S = 0.005
"""when new (6 mm tact-switch datasheet)"""
_BLIND_S = 0.25
"""contacts that are blind together are so for a quarter of a second: a press, and none of the next beat"""
_SPLIT_AFTER_S = (0.025, 0.055)
_FORCE_NOISE = 0.01
"""rms by which contact pressure wavers about the finger's force (common practice)"""


class Switch:
    """State of one contact. Force in multiples of the snap force. Chunk by chunk; `tick_s` is the step of time."""

    def __init__(self, part: Contact, tick_s: float, rng: np.random.Generator) -> None:
        self._part = part
        self._tick_s = tick_s
        self._rng = rng
        self._down = False
        self._tick = 0
        self._film = 0.0
        self._open_spans: list[tuple[int, int]] = []
        self._more_rng = rng.spawn(1)[0]  # a stream of its own, so that these faults change nothing else
        self._missing = False
        self._stays = False
        self._closed_spans: list[tuple[int, int]] = []
        self._next_dropout = -1
        self.presses = 0
        """how often the dome snapped: the presses that a sound contact would register"""

    def run(self, force: F64 | None, count: int, tilt: F64 | None = None) -> Bool:
        """Closed or open at each tick, bool[count]. `force` float[count], None: not touched; `tilt`: of a finger that
        rocks it, float[count] in degrees."""
        part, begin = self._part, self._tick
        self._tick += count
        if force is None and not self._down and not self._closed_spans:
            return np.full(count, part.stuck)
        wanted = np.zeros(count) if force is None else force
        down = _snapped(wanted, self._down, part.release)
        edges = np.diff(down, prepend=self._down)
        starts, ends = np.flatnonzero(edges & down), np.flatnonzero(edges & ~down)
        self._down = bool(down[-1])
        closed = self._conducting(wanted, down, starts, ends, begin)
        if tilt is not None:
            closed &= np.abs(tilt) <= part.tilt_deg
        for first, stop in self._open_spans:
            closed[max(first - begin, 0) : max(stop - begin, 0)] = False
        self._open_spans = [span for span in self._open_spans if span[1] > self._tick]
        for first, stop in self._closed_spans:
            closed[max(first - begin, 0) : max(stop - begin, 0)] = True
        self._closed_spans = [span for span in self._closed_spans if span[1] > self._tick]
        if part.stuck or part.never:
            closed[:] = part.stuck
        return closed

    def _conducting(self, force: F64, down: Bool, starts: I64, ends: I64, begin: int) -> Bool:
        """Snapped and pressed hard enough for the film; each press draws its film and its faults."""
        pressure = force
        if self._part.film[0] > 0.5:  # a film that no press can notice needs no wavering pressure
            pressure = force * (1.0 + _FORCE_NOISE * self._rng.standard_normal(len(force)))
        closed = down & (pressure >= self._film)
        self._let_go(ends[ends < starts[0]] if len(starts) else ends, begin)
        for k, first in enumerate(starts.tolist()):
            stop = int(starts[k + 1]) if k + 1 < len(starts) else len(force)
            self._draw(begin + first)
            closed[first:stop] = down[first:stop] & (pressure[first:stop] >= self._film)
            self._let_go(ends[(ends >= first) & (ends < stop)], begin)
        if self._part.dropouts[0] > 0.0 and down.any():
            self._drop_out(down, begin)
        return np.asarray(closed)

    def _draw(self, at: int) -> None:
        """A new press at tick `at`: its film, and when its contact opens."""
        part, rng = self._part, self._rng
        self.presses += 1
        self._open_spans = [(a, min(b, at)) for a, b in self._open_spans]
        median, spread = part.film
        self._film = median * float(np.exp(spread * rng.standard_normal()))
        if self._misses(at):
            self._film = np.inf
        self._stays = part.stays[0] > 0.0 and bool(self._more_rng.random() < part.stays[0])
        chance = rng.random(2)
        bounce_s = min(float(rng.exponential(part.bounce_s)), MOST_BOUNCE_S)
        bouncing = np.flatnonzero(rng.random(int(bounce_s / self._tick_s) + 1) < 0.5)
        self._open_spans += [(at + 1 + b, at + 2 + b) for b in bouncing.tolist() if (b + 1) * self._tick_s <= bounce_s]
        if chance[0] < part.short[0]:
            self._open_spans.append((at + self._ticks(part.short[1]), at + self._ticks(60.0)))
        elif chance[1] < part.split[0]:
            opens = at + self._ticks(float(rng.uniform(*_SPLIT_AFTER_S)))
            self._open_spans.append((opens, opens + self._ticks(part.split[1])))

    def _let_go(self, ends: I64, begin: int) -> None:
        """The finger let go at these ticks of the stretch."""
        if self._stays:
            self._closed_spans += [(begin + at, begin + at + self._ticks(self._part.stays[1])) for at in ends.tolist()]

    def _misses(self, at: int) -> bool:
        """Does the press at tick `at` not register at all, in a run or with others of its group?"""
        (share, length), (blind, group) = self._part.runs, self._part.blind
        if share:
            again = 1.0 - 1.0 / length
            chance = again if self._missing else share * (1.0 - again) / (1.0 - share)
            self._missing = bool(self._more_rng.random() < (chance if self.presses > 1 else share))
        slot = int(at * self._tick_s / _BLIND_S)
        together = blind > 0.0 and bool(np.random.default_rng([group, slot]).random() < blind)
        return self._missing or together

    def _drop_out(self, down: Bool, begin: int) -> None:
        rate, lasts_s = self._part.dropouts
        share = rate * self._tick_s
        lost = np.flatnonzero(down & (self._rng.random(len(down)) < share))
        self._open_spans += [(begin + at, begin + at + self._ticks(lasts_s)) for at in lost.tolist()]

    def _ticks(self, seconds: float) -> int:
        return max(1, round(seconds / self._tick_s))


def _snapped(force: F64, was_down: bool, release: float) -> Bool:
    """Down from force 1 on, up again from `release` on; in between as before."""
    mark = np.zeros(len(force), dtype=np.int8)
    mark[force >= 1.0] = 1
    mark[force < release] = -1
    index = np.maximum.accumulate(np.where(mark != 0, np.arange(len(mark)), -1))
    return np.asarray(np.where(index >= 0, mark[np.maximum(index, 0)] > 0, was_down))


def hat_direction(part: Hat, bearing_deg: F64 | None, force: F64 | None, count: int) -> I64:
    """Direction that the four contacts give at each tick: eighths clockwise from up, −1 for none.

    A contact closes within 67.5° of its side; two neighbours make a diagonal; opposite ones cancel (common practice).
    """
    closed = np.zeros((4, count), dtype=np.bool_)
    if bearing_deg is not None and force is not None:
        sides = 90.0 * np.arange(4)[:, None]
        off = np.abs((bearing_deg[None, :] - sides + 180.0) % 360.0 - 180.0)
        closed = (off < 67.5) & (force >= 1.0)[None, :]
    for direction in part.missing:
        closed = _without(closed, direction)
    if part.stuck is not None:
        closed[part.stuck // 2] = True
        closed[(part.stuck // 2 + 2) % 4] = False
    x = closed[1].astype(np.int64) - closed[3]
    y = closed[0].astype(np.int64) - closed[2]
    return np.asarray(_OF_CONTACTS[1 - y, x + 1])


_OF_CONTACTS = np.array([[7, 0, 1], [6, -1, 2], [5, 4, 3]], dtype=np.int64)


def _without(closed: Bool, direction: int) -> Bool:
    """A side's contact that never closes, or a rocker that no longer closes two neighbours at a time."""
    closed = closed.copy()
    if direction % 2 == 0:
        closed[direction // 2] = False
    else:
        one, other = direction // 2, (direction // 2 + 1) % 4
        closed[other] &= ~closed[one]
    return closed
