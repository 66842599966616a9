"""The motors during the rumble ask: left only, right only, both, with pauses, so that a hand can feel which one fails.

Which reports run them stands in the sheet (`rumble`). Pure but for the reports handed out: the session sends them.
"""

from __future__ import annotations

from collections.abc import Mapping

from station.sheets.model import MOTORS

ON_NS, PAUSE_NS = 900_000_000, 500_000_000
ROUNDS = 3
"""a motor must not run for as long as somebody is away"""
_WORDS = {"left": "Now: left only.", "right": "Now: right only.", "both": "Now: both.", "off": "Now: pause."}
_STOPPED = "The motors have stopped; do it again to feel them once more."


class Motors:
    """Follows the ask. `begin` starts the rounds, `end` stops them; `due` gives the report to send now, if one is."""

    def __init__(self, reports: Mapping[str, bytes]) -> None:
        self._reports = reports
        self._turns = [motor for motor in MOTORS if motor in reports]
        self._begin_ns: int | None = None
        self._state = "off"

    @property
    def running(self) -> bool:
        """True between `begin` and the end of the last round."""
        return self._begin_ns is not None

    def begin(self, now_ns: int) -> None:
        """Start from the first motor. Does nothing for a sheet without motors."""
        self._begin_ns = now_ns if self._turns else None

    def end(self) -> bytes | None:
        """Stop; the report that does it, None when they stand still anyway."""
        self._begin_ns = None
        return self._switch("off")

    def due(self, now_ns: int) -> bytes | None:
        """The report that is due now, None while nothing changes."""
        if self._begin_ns is None:
            return None
        turn, in_turn_ns = divmod(now_ns - self._begin_ns, ON_NS + PAUSE_NS)
        if turn >= ROUNDS * len(self._turns):
            return self.end()
        return self._switch(self._turns[turn % len(self._turns)] if in_turn_ns < ON_NS else "off")

    def said(self) -> str:
        """What the hand should feel now; empty for a sheet without motors."""
        if not self._turns:
            return ""
        return _WORDS[self._state] if self.running else _STOPPED

    def _switch(self, state: str) -> bytes | None:
        if state == self._state:
            return None
        self._state = state
        return self._reports[state]
