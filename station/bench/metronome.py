"""When the next beat is due."""

from __future__ import annotations

LEAD_NS = 1_000_000_000
"""from the start of a try to its first click: time to find the button"""
COUNT_IN = 4
"""clicks before the first beat that counts, so that the hand is in step by then"""
LATE_NS = 25_000_000
"""A beat that the bench could only give later than this is stamped when it is really given."""


class Metronome:
    """Clicks at a steady rate, LEAD_NS after `begin_ns` the first; the first COUNT_IN of them are no beats yet.

    A bench that was held up skips clicks.
    """

    def __init__(self, beats_per_minute: int, begin_ns: int) -> None:
        self._period_ns = round(60e9 / beats_per_minute) if beats_per_minute > 0 else 0
        self._next_ns = begin_ns + LEAD_NS
        self._given = 0

    @property
    def counting_in(self) -> bool:
        """True while the click given last was one of the count-in."""
        return self._given <= COUNT_IN

    def due(self, now_ns: int) -> int | None:
        """The moment of the click to give now, None while none is due."""
        if not self._period_ns or now_ns < self._next_ns:
            return None
        at_ns = self._next_ns if now_ns - self._next_ns <= LATE_NS else now_ns
        self._next_ns = at_ns + self._period_ns
        self._given += 1
        return at_ns
