"""From the unit to the host: which reports are sent, which arrive, and when."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from station.sources.simulated.parts import Link

I64 = NDArray[np.int64]
U8 = NDArray[np.uint8]
Bool = NDArray[np.bool_]
NS = 1_000_000_000


class Wire:
    """The link of one unit. `polls_per_s` polls; a fault only shows while the cable is flexed."""

    def __init__(self, part: Link, on_change: bool, rng: np.random.Generator) -> None:
        self._part = part
        self._on_change = on_change
        self._rng = rng
        self._period_ns = NS / part.rate_hz * (1.0 + part.clock_ppm * 1e-6)
        self._last_raw: U8 | None = None
        self._last_ns = -1
        self._silent_until_ns = -1.0
        self._was_silent = False
        self._off = False
        self.dropped = 0
        """reports that were sent and never arrived; the host cannot know"""
        self.away: list[tuple[int, int]] = []
        """(from, to) in ns: the unit was off the bus"""

    def poll_ns(self, first: int, count: int) -> NDArray[np.float64]:
        """Moments of the polls first … first + count − 1."""
        return np.asarray((np.arange(first, first + count) + 1) * self._period_ns)

    def deliver(self, first: int, raw: U8, flexed: bool) -> tuple[I64, U8]:
        """Arrival times (µs steps, never decreasing) and the reports that arrive, of the polls from `first` on."""
        at_ns = self.poll_ns(first, len(raw))
        silent = self._silent(at_ns, flexed)
        sent = self._changed(raw) if self._on_change else np.ones(len(raw), dtype=np.bool_)
        sent |= np.concatenate(([self._was_silent], silent[:-1]))  # what changed meanwhile is sent when it can be
        sent &= ~silent
        self._was_silent = bool(silent[-1])
        if self._part.lost:
            gone = sent & (self._rng.random(len(raw)) < self._part.lost)
            self.dropped += int(gone.sum())
            sent &= ~gone
        index = np.flatnonzero(sent)
        due: NDArray[np.float64] = at_ns
        if self._part.burst > 1:
            last = (first + np.arange(len(raw))) // self._part.burst * self._part.burst + self._part.burst - 1
            due = np.asarray((last + 1) * self._period_ns, dtype=np.float64)
        arrival = due[index] + self._part.jitter_s * NS * np.abs(self._rng.standard_normal(len(index)))
        t_ns = np.rint(arrival / 1000.0).astype(np.int64) * 1000
        if self._part.merged and len(index) > 1:
            late = np.flatnonzero(self._rng.random(len(index) - 1) < self._part.merged)
            t_ns[late] = t_ns[late + 1]
        t_ns = np.maximum.accumulate(np.maximum(t_ns, self._last_ns)) if len(t_ns) else t_ns
        if len(t_ns):
            self._last_ns = int(t_ns[-1])
        return t_ns, raw[index]

    def _changed(self, raw: U8) -> Bool:
        """Reports that differ from the one before. The first one ever is what the host takes as known: not sent."""
        before = raw[:1] if self._last_raw is None else self._last_raw[None, :]
        self._last_raw = raw[-1].copy()
        return np.asarray((raw != np.concatenate((before, raw[:-1]))).any(axis=1))

    def _silent(self, at_ns: NDArray[np.float64], flexed: bool) -> Bool:
        """Polls in a gap or while the unit is away. Gaps begin at random moments while the cable is flexed."""
        silent = at_ns < self._silent_until_ns
        if self._part.leaves.every_s:
            silent |= self._leave(at_ns)
        if not flexed:
            return np.asarray(silent)
        seconds = len(at_ns) / self._part.rate_hz
        for (rate, lasts_s), is_away in ((self._part.gaps, False), (self._part.away, True)):
            if rate <= 0.0:
                continue
            for _ in range(self._rng.poisson(rate * seconds)):
                begin = float(at_ns[self._rng.integers(len(at_ns))])
                if begin < self._silent_until_ns:
                    continue
                self._silent_until_ns = begin + lasts_s * NS
                silent |= (at_ns >= begin) & (at_ns < self._silent_until_ns)
                if is_away:
                    self.away.append((int(begin), int(self._silent_until_ns)))
        return np.asarray(silent)

    def _leave(self, at_ns: NDArray[np.float64]) -> Bool:
        """Polls at which the unit is off the bus although nobody touches it."""
        off = self._part.leaves.at(at_ns / NS)
        for at in np.flatnonzero(off & ~np.concatenate(([self._off], off[:-1]))).tolist():
            begin = int(at_ns[at])
            self.away.append((begin, begin + round(self._part.leaves.lasts_s * NS)))
        self._off = bool(off[-1])
        return off
