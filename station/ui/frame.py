"""What the rooms of the window share: what is shown now, and what a room may ask of the window around it."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, Protocol

from PySide6.QtWidgets import QWidget

from station.bench.types import SessionView
from station.checks.looks import GLANCE
from station.records.types import Unit
from station.ui.keys import ViewName
from station.ui.painting.look import Look
from station.ui.panels.panel import Panel

if TYPE_CHECKING:
    from station.bench.teaching_types import TeachView

PanelMaker = Callable[[Look, QWidget], Panel]
"""makes a panel in a look, over a window"""

About = Literal["", "key", "call", "device", "opening", "reading", "storing", "limits"]
"""what a message waits for: another key; to be read and then another key, as one that answers what was asked for;
the device; that a device can be opened or went away; that what its reader says is over; that results are stored; that
the shop's limits are mended.
"": as "call", but a fault stays"""

LATE_KEY_S = 0.5
NOTICED = 5
"""times that: until a hand that was at the unit has come to the key (common practice, no source)"""
READING_S = 4.0


@dataclass(slots=True)
class Shown:
    """What is on the bench now. It belongs to the window's thread; the window and its rooms write it."""

    unit: Unit | None = None
    """whose record is shown"""
    session: SessionView | None = None
    lesson: TeachView | None = None
    beat_ns: int | None = None
    """when the last beat was called for"""
    late_key_s: float = LATE_KEY_S
    reading_s: float = READING_S
    """so long a message that answers no key stays, whatever is pressed"""
    ended_s: float = -math.inf
    """when a check ended last, on the monotonic clock"""
    look_ended_s: float = -math.inf
    """when a free run ended last, in which X said that a press had not come"""

    def take(self, session: SessionView | None) -> None:
        """A new picture of the visit."""
        looked, self.session = self.looks(), session
        if looked and not self.looks():
            self.look_ended_s = time.monotonic()

    def comes_late(self) -> bool:
        """X may be meant for the free run that has just ended; told once, as who strikes it again means it."""
        now = time.monotonic()
        if now - self.look_ended_s >= NOTICED * self.late_key_s:
            return False
        self.look_ended_s, self.ended_s = -math.inf, now
        return True

    def looks(self) -> bool:
        """The free run of a first look is under way, in which a press that did not come can be told."""
        session = self.session
        if session is None or not session.running:
            return False
        return any(session.steps[k].step.check == GLANCE for k in (*session.together, session.current))

    def just_ended(self) -> bool:
        """A check ended a moment ago: a key that was meant to end it comes too late, and starts nothing."""
        return time.monotonic() - self.ended_s < self.late_key_s

    def current(self) -> int | None:
        """Index of the current step of a visit that is not finished."""
        session = self.session
        if session is None or session.finished or not 0 <= session.current < len(session.steps):
            return None
        return session.current

    def asked(self) -> int | None:
        """Index of the current step if it runs and the person answers it."""
        at = self.current()
        if self.session is None or at is None or not self.session.running:
            return None
        return at if self.session.steps[at].step.person_answers else None

    def all_done(self) -> bool:
        """Whether nothing is left to do of a visit that is not finished."""
        session = self.session
        if session is None or session.finished or session.running:
            return False
        return bool(session.steps) and all(view.state == "done" for view in session.steps)

    def visit_unit(self) -> Unit | None:
        """The unit of a visit that is not finished."""
        return self.session.unit if self.session is not None and not self.session.finished else None

    def on_bench(self) -> str:
        """A name for what is worked at: the visit, else the unit that is shown."""
        if self.session is not None and not self.session.finished:
            return self.session.visit.id
        return self.unit.id if self.unit is not None else ""

    @property
    def checking(self) -> bool:
        """A check is running."""
        return self.session is not None and self.session.running


class Frame(Protocol):
    """The window as its rooms see it."""

    def say(self, text: str, bad: bool = False, about: About = "") -> None:
        """A message at the foot; an empty text puts it away. `about`: what it waits for, so that it goes by itself."""
        ...

    def answered(self, about: About) -> None:
        """What a message of this kind waited for has happened: it goes."""
        ...

    def announce(self, text: str, urgent: bool = False) -> None:
        """Said aloud where a screen reader listens."""
        ...

    def open_panel(self, make: PanelMaker) -> None:
        """A panel over the window; one that is open is closed first."""
        ...

    def show_file(self, path: str) -> bool:
        """A file is shown by the program that the system has for it; False where there is none."""
        ...

    def panel_open(self) -> bool: ...
    def view_name(self) -> ViewName: ...
    def show_view(self, view: ViewName) -> None: ...
    def fold(self) -> None:
        """Show the panes that there is room for."""
        ...

    def take_focus(self) -> None:
        """The keys go to what is in front."""
        ...
