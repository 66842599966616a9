"""How well the reader keeps time: its own lateness, and reports that the system's queue must have dropped.

Lateness is measured, not assumed: a thread of the reader process sleeps to deadlines and notes how late it
woke. It waits for the same scheduler and the same interpreter lock as the reading thread does, so its
99th percentile is an estimate of the stamps' error.

Overflow cannot be seen directly: the kernel keeps 63 unread reports and drops the newest without a word. But
then 63 reports come out one after the other without waiting, faster than any device sends (at 8 kHz they take 7.8 ms),
and the gap before them, divided by the device's mean step, tells about how many there should have been.
"""

from __future__ import annotations

from collections import deque

QUEUE = 63
"""reports that wait in the kernel's hidraw queue (a ring of 64 slots, one stays empty)"""
LIBRARY_QUEUE = 30
"""reports that wait in hidapi's queue where it reads through libusb; it drops the oldest"""
BURST_NS = 3_700_000 / 63
"""a report of a full queue takes less than this: twice the pace of 8 kHz"""
FASTEST_NS = 120_000
"""no device reports more often than 8 kHz"""
HISTORY = 512


class LatenessMeter:
    """The last `window` latenesses and their 99th percentile."""

    def __init__(self, window: int = 1024) -> None:
        self._window = window
        self._values: list[int] = []
        self._at = 0

    def add(self, late_ns: int) -> None:
        """One lateness in nanoseconds."""
        if len(self._values) < self._window:
            self._values.append(late_ns)
        else:
            self._values[self._at] = late_ns
            self._at = (self._at + 1) % self._window

    def p99_ns(self) -> int | None:
        """The 99th percentile (nearest rank); None below 100 values."""
        if len(self._values) < 100:
            return None
        return sorted(self._values)[-(-99 * len(self._values) // 100) - 1]


class OverflowGuess:
    """Counts reports that a full queue must have dropped. Feed it every stamp in order.

    The pace is the mean over the last reports and not their median: a reader that wakes late sees short
    steps in clumps, but the mean stays that of the device as long as nothing is lost.
    """

    def __init__(self, queue: int = QUEUE) -> None:
        self.lost = 0
        self._queue = queue
        self._stamps: deque[int] = deque(maxlen=HISTORY)
        self._since = 0

    def saw(self, t_ns: int) -> bool:
        """Note a report; True when it shows that some were dropped (`lost` has grown)."""
        stamps = self._stamps
        stamps.append(t_ns)
        self._since += 1
        if self._since <= self._queue or t_ns - stamps[-self._queue] > self._queue * BURST_NS:
            return False
        missing = self._missing()
        if missing > 0:
            self.lost += missing
            self._since = 0
        return missing > 0

    def _missing(self) -> int:
        """Reports that the gap before the burst had room for, less those that were kept."""
        before = list(self._stamps)[: -self._queue]
        gap_ns = self._stamps[-self._queue] - before[-1]
        if len(before) < 8:
            return 1  # too few to know the device's pace; the burst alone says that something was dropped
        pace_ns = max((before[-1] - before[0]) // (len(before) - 1), FASTEST_NS)
        return gap_ns // pace_ns - self._queue
