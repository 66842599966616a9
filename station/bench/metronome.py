"""When the next beat is due, and how fast they come."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

LEAD_NS = 1_000_000_000
"""from the start of a try to its first click: time to find the button"""
COUNT_IN = 4
"""clicks before the first beat that counts, so that the hand is in step by then"""
KNOWN_LEAD_NS, KNOWN_COUNT_IN = 500_000_000, 2
"""the same for a hand that has pressed in this tempo before in the same visit"""
LATE_NS = 25_000_000
"""A beat that the bench could only give later than this is stamped when it is really given."""
SLOWEST, FASTEST = 90.0, 180.0
"""beats a minute; a tempo of 0.57…3.8 Hz comes naturally (spontaneous tempo: Front. Psychol. 12:677201, 2021)"""
STEP = 1.2
"""the tempo changes by this factor at once, which a hand follows within a beat or two (common practice, no source)"""
IN_STEP = 4
"""so many beats in a row are looked at; all of them answered, and evenly, it goes faster"""
AWAY = 2
"""so many of them that nothing answered, and it goes slower"""
EVEN_SHARE, UNEVEN_SHARE = 0.12, 0.2
"""rms of the presses about their beats, as a share of the interval: below the first at the faster tempo it may go
faster, beyond the second it goes slower (common practice, no source)"""


class Tempo:
    """How many beats a minute suit the person: from what became of the beats, over all tries of a visit."""

    def __init__(self) -> None:
        self._beats_per_minute = 0.0
        self._since_ns = 0
        self.known = False
        """true once a hand was in step with it"""

    def of(self, asked: int) -> float:
        """Beats a minute for a check that asks for so many as long as nobody is known; 0 for one without beats."""
        if asked <= 0:
            return 0.0
        return self._beats_per_minute or float(asked)

    def follow(self, beats: Sequence[tuple[int, bool, int | None]], asked: int) -> float:
        """Look at beats, oldest first: when each was, whether anything answered it, and by how much later; beats a
        minute from now on. What was given in another tempo is not looked at again."""
        now = self.of(asked)
        last = [beat for beat in beats if beat[0] > self._since_ns][-IN_STEP:]
        if len(last) < IN_STEP:
            return now
        delays = [delay for _, _, delay in last if delay is not None]
        spread_s = float(np.std(delays)) / 1e9 if delays else 0.0
        if all(answered for _, answered, _ in last) and len(delays) == IN_STEP:
            self.known = True
            faster = min(now * STEP, FASTEST)
            if faster > now and spread_s <= EVEN_SHARE * 60.0 / faster:
                return self._change(faster, last[-1][0])
        if sum(not answered for _, answered, _ in last) >= AWAY or spread_s > UNEVEN_SHARE * 60.0 / now:
            return self._change(max(now / STEP, SLOWEST), last[-1][0])
        return now

    def _change(self, beats_per_minute: float, at_ns: int) -> float:
        self._beats_per_minute, self._since_ns = beats_per_minute, at_ns
        return beats_per_minute


class Metronome:
    """Clicks, the first of them some time after `begin_ns`; the first few are counted in and no beats yet.

    `known`: the hand is in this tempo already. A bench that was held up skips clicks.
    """

    def __init__(self, beats_per_minute: float, begin_ns: int, *, known: bool = False) -> None:
        self._period_ns = _period_ns(beats_per_minute)
        self._next_ns = begin_ns + (KNOWN_LEAD_NS if known else LEAD_NS)
        self._count_in = KNOWN_COUNT_IN if known else COUNT_IN
        self._given = 0

    @property
    def counting_in(self) -> bool:
        """True while the click given last was one of the count-in."""
        return self._given <= self._count_in

    def go(self, beats_per_minute: float) -> None:
        """The next interval and all after it in this tempo."""
        self._period_ns = _period_ns(beats_per_minute)

    def due(self, now_ns: int) -> int | None:
        """The moment of the click to give now, None while none is due."""
        if not self._period_ns or now_ns < self._next_ns:
            return None
        at_ns = self._next_ns if now_ns - self._next_ns <= LATE_NS else now_ns
        self._next_ns = at_ns + self._period_ns
        self._given += 1
        return at_ns


def _period_ns(beats_per_minute: float) -> int:
    return round(60e9 / beats_per_minute) if beats_per_minute > 0 else 0
