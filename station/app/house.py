"""The shop's own limits and grades, as the file says now."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable
from pathlib import Path

from station.app.work import Job
from station.checks.house import House, house_for
from station.checks.limits import LIMITS_FILE
from station.judgement.limits import standard
from station.ui.ports import DeskEvent, RecordChanged, Said
from station.words import grades as words


class HouseFile:
    """`now` gives the same object until the file changed; a person may edit it while the program runs. Any thread."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock = threading.Lock()
        self._seen: tuple[int, int] | None = None
        self._house: House | None = None

    def now(self) -> House:
        """Limits and grades in force. InputError if those that ship cannot be read; a fault of the shop's own file is
        in the house's `problem`."""
        with self._lock:
            seen = self._state()
            if self._house is None or seen != self._seen:
                self._house, self._seen = house_for(self._folder, standard()), seen
            return self._house

    def _state(self) -> tuple[int, int] | None:
        try:
            there = (self._folder / LIMITS_FILE.name).stat()
        except OSError:
            return None
        return there.st_mtime_ns, there.st_size


LOOK_S = 2.0
"""seconds between two looks at the shop's file"""


class HouseWatch:
    """Says when the shop's file went wrong and when it is mended. `follow` belongs to the window's thread and never
    waits: the file is looked at by `submit`."""

    def __init__(self, now: Callable[[], House], submit: Callable[[Job], object]) -> None:
        self._now, self._submit = now, submit
        self._next_s = 0.0
        self._told = ""
        """the problem that was told last"""

    def follow(self) -> None:
        """Look at it now and then."""
        now_s = time.monotonic()
        if now_s >= self._next_s:
            self._next_s = now_s + LOOK_S
            self.look_now()

    def look_now(self) -> None:
        """Have the file looked at; what there is to say follows."""
        self._submit(self._look)

    def _look(self) -> Iterable[DeskEvent]:
        """A sentence where what is to be said changed; none otherwise."""
        problem = self._now().problem
        if problem == self._told:
            return ()
        self._told = problem
        if problem:
            return (Said(problem, bad=True, about="limits"),)
        return (Said(words.MENDED, about="limits"), RecordChanged(""))
