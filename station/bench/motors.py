"""The motors during the rumble ask: one, the other, both, with pauses, so that a hand can feel which one fails.

Pure but for the reports handed out; `vibrate` sends them.
"""

from __future__ import annotations

from station.sheets.vibration import Ready, Send
from station.words import bench as words

ON_NS, PAUSE_NS = 900_000_000, 500_000_000
ROUNDS = 3
"""a motor must not run for as long as somebody is away"""


class Motors:
    """Follows the ask from `begin_ns` on: `due` gives the reports to send now, `end` those that stop what runs."""

    def __init__(self, ready: Ready, begin_ns: int) -> None:
        self.release = ready.release
        """reports that give back what was taken from the device; after `end`"""
        self.stopping = ready.stop
        """reports that stop them, whatever runs"""
        self._ready = ready
        self._begin_ns = begin_ns
        self._over = not ready.turns
        self._running = ""

    @property
    def over(self) -> bool:
        """True after the last round, or after `end`."""
        return self._over

    def end(self) -> tuple[Send, ...]:
        """Stop; nothing to send when they stand still anyway."""
        self._over = True
        return self._switch("", self.stopping)

    def due(self, now_ns: int) -> tuple[Send, ...]:
        """The reports that are due now; none while nothing changes."""
        if self._over:
            return ()
        turn, in_turn_ns = divmod(now_ns - self._begin_ns, ON_NS + PAUSE_NS)
        turns = self._ready.turns
        if turn >= ROUNDS * len(turns):
            return self.end()
        now = turns[turn % len(turns)]
        return self._switch(now.name, now.start) if in_turn_ns < ON_NS else self._switch("", self.stopping)

    def said(self) -> str:
        """What the hand should feel now, while they run."""
        motor = self._running or words.MOTORS_PAUSE
        if self._ready.remark:
            return words.MOTORS_NOW_AND_REMARK.format(motor=motor, remark=self._ready.remark)
        return words.MOTORS_NOW.format(motor=motor)

    def _switch(self, name: str, reports: tuple[Send, ...]) -> tuple[Send, ...]:
        if name == self._running:
            return ()
        self._running = name
        return reports
