"""When the next beat is due, and how fast they come."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from station.measure.beats import SLOWEST, BeatPress
from station.measure.contacts import SAME_PRESS_NS

LEAD_NS = 1_000_000_000
"""from the start of a try to its first click: time to find the button"""
COUNT_IN = 4
"""clicks before the first beat that counts, so that the hand is in step by then"""
KNOWN_LEAD_NS, KNOWN_COUNT_IN = 500_000_000, 2
"""the same for a hand that has pressed in this tempo before in the same visit"""
LATE_NS = 25_000_000
"""A beat that the bench could only give later than this is stamped when it is really given."""
FASTEST = 180.0
"""beats a minute; the slowest tempo stands where beats are read (station/measure/beats.py)"""
STEP = 1.08
"""the tempo changes by this factor from one beat to the next at most, which a hand follows (common practice, no source)
"""
USUAL, LEAST = 24, 8
"""so many of the last presses tell how this hand presses, and no fewer than these"""
LONG_PRESS = 0.9
"""of the times closed the quantile that counts: nine presses of ten are shorter"""
ROOM = 5.5
"""The interval holds a long press, the opening that tells it from the next, and so many times the rms of the presses
about their beats. Two presses in a row come nearer to each other by √2 of it, so what is left runs out at 3.9 standard
deviations: once in 20,000 beats of a hand that scatters normally."""
NEARER = 2.0
"""the interval is so many times the delay at least: a press lies nearer to its own beat than to the next"""
IN_STEP = 4
"""so many beats in a row are looked at; answered all of them, and the hand is in the tempo"""
AWAY = 2
"""so many of them to which nothing closed, the newest among them, and it goes slower (common practice, no source)"""


class Tempo:
    """How many beats a minute suit the person: from what became of the beats, over all tries of a visit."""

    def __init__(self) -> None:
        self._beats_per_minute = 0.0
        self._beats: tuple[BeatPress, ...] = ()
        self._looked_ns = 0
        self.known = False
        """true once a hand was in step with it"""

    def of(self, asked: int) -> float:
        """Beats a minute for a check that asks for so many as long as nobody is known; 0 for one without beats."""
        if asked <= 0:
            return 0.0
        return self._beats_per_minute or float(asked)

    def follow(self, beats: Sequence[BeatPress], asked: int) -> float:
        """Look at the settled beats of a try, oldest first; beats a minute from now on, one step further at most."""
        now = self.of(asked)
        if not beats or beats[-1].t_ns <= self._looked_ns:
            return now
        self._looked_ns = beats[-1].t_ns
        before = (beat for beat in self._beats if beat.t_ns < beats[0].t_ns)
        self._beats = (*before, *(beat for beat in beats if beat.state != "void"))[-USUAL:]
        last = self._beats[-IN_STEP:]
        self.known = self.known or (len(last) == IN_STEP and all(beat.delay_ns is not None for beat in last))
        silent = [beat.state == "neither" for beat in last]
        away = sum(silent) >= AWAY and silent[-1]
        suits = now / STEP if away else self._suits(now)
        if now < suits < now * STEP:
            return now  # it would go up and down with each press
        self._beats_per_minute = min(max(suits, now / STEP, SLOWEST), now * STEP, FASTEST)
        return self._beats_per_minute

    def _suits(self, now: float) -> float:
        """Beats a minute that leave this hand room between two presses; as now while too few are known."""
        pressed = [(beat.delay_ns, beat.closed_ns) for beat in self._beats if beat.delay_ns is not None]
        if len(pressed) < LEAST:
            return now
        delay_ns, closed_ns = np.array(pressed, dtype=np.float64).T
        usual_ns = float(np.median(delay_ns))
        scatter_ns = float(np.sqrt(np.mean((delay_ns - usual_ns) ** 2)))
        room_ns = float(np.quantile(closed_ns, LONG_PRESS)) + SAME_PRESS_NS + ROOM * scatter_ns
        return 60e9 / max(room_ns, NEARER * abs(usual_ns))


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

    def lead_in(self, now_ns: int) -> None:
        """The hand was away: the next click comes after a moment, and a few of them are no beats."""
        self._next_ns = now_ns + KNOWN_LEAD_NS
        self._count_in = self._given + KNOWN_COUNT_IN

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
