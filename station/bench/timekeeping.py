"""Notices that the computer slept, or that somebody set its clock, while a visit runs.

Three clocks tell the two apart: one that stands still while the machine sleeps, one that goes on, and the wall clock.
Sleep is where the second ran ahead of the first; a set clock is where the third left the second. A clock that is only
steered (NTP slews at most 500 ppm, adjtimex(2)) stays far below `NOTICED_NS` between two looks.
"""

from __future__ import annotations

import ctypes
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass

from station.words import bench as words

NOTICED_NS = 2_000_000_000
"""shorter sleeps and smaller steps are not worth a word: no result changes its date by them"""


@dataclass(frozen=True, slots=True)
class Clocks:
    """Readings in ns: `awake` stands still during sleep, `always` goes on, `wall` is the time of day."""

    awake: Callable[[], int]
    always: Callable[[], int]
    wall: Callable[[], int] = time.time_ns


def system_clocks() -> Clocks:
    """This machine's. Where a system does not tell sleep (`always` is `awake`), sleep looks like a set clock."""
    if sys.platform == "linux":
        return Clocks(time.monotonic_ns, lambda: time.clock_gettime_ns(time.CLOCK_BOOTTIME))
    elif sys.platform == "darwin":  # noqa: RET505 - the type checker follows the branches of one `if` only
        return Clocks(
            lambda: time.clock_gettime_ns(time.CLOCK_UPTIME_RAW), lambda: time.clock_gettime_ns(time.CLOCK_MONOTONIC)
        )
    elif sys.platform == "win32":
        return Clocks(_windows("QueryUnbiasedInterruptTime"), _windows("QueryInterruptTime"))
    else:
        return Clocks(time.monotonic_ns, time.monotonic_ns)


def _windows(name: str) -> Callable[[], int]:
    """A clock of Windows in units of 100 ns; QueryInterruptTime lives in another library than the older one."""
    library = ctypes.CDLL("kernel32" if name == "QueryUnbiasedInterruptTime" else "kernelbase")
    function, value = getattr(library, name), ctypes.c_ulonglong()

    def read() -> int:
        function(ctypes.byref(value))
        return 100 * value.value

    return read


@dataclass(frozen=True, slots=True)
class Noticed:
    """Since the look before: ns slept, and ns that the wall clock was set forward (negative: back); 0 for nothing."""

    slept_ns: int = 0
    set_ns: int = 0

    def sentence(self) -> str:
        """One line for the person; "" when there is nothing to say."""
        if self.slept_ns:
            return words.SLEPT_FOR.format(span=_span(self.slept_ns))
        if self.set_ns:
            was_set = words.CLOCK_SET_FORWARD if self.set_ns > 0 else words.CLOCK_SET_BACK
            return was_set.format(span=_span(abs(self.set_ns)))
        return ""


class Timekeeper:
    """Looks at the clocks now and then. For one thread."""

    def __init__(self, clocks: Clocks | None = None) -> None:
        self._clocks = clocks or system_clocks()
        self._before = self._read()

    def look(self) -> Noticed:
        """What happened since the last look."""
        awake, always, wall = now = self._read()
        was, self._before = self._before, now
        passed = always - was[1]
        slept, moved = passed - (awake - was[0]), (wall - was[2]) - passed
        return Noticed(slept if slept >= NOTICED_NS else 0, moved if abs(moved) >= NOTICED_NS else 0)

    def _read(self) -> tuple[int, int, int]:
        return self._clocks.awake(), self._clocks.always(), self._clocks.wall()


def _span(ns: int) -> str:
    seconds = round(ns / 1e9)
    if seconds < 120:
        return words.SECONDS.format(n=seconds)
    minutes = round(seconds / 60)
    if minutes < 120:
        return words.MINUTES.format(n=minutes)
    hours = round(minutes / 60)
    return words.HOURS.format(n=hours) if hours < 48 else words.DAYS.format(n=round(hours / 24))
