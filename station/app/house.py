"""The shop's own limits and grades, as the file says now."""

from __future__ import annotations

import threading
from pathlib import Path

from station.checks.house import House, house_for
from station.checks.limits import LIMITS_FILE
from station.judgement.limits import standard


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
