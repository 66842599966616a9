"""Results on their way into the records. What could not be stored yet is kept and tried again: nothing is lost."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace

from station.bench.types import Recorder
from station.records.types import Result

RETRY_AFTER_TICKS = 100
"""about half a second of a bench that ticks at 200 Hz"""


@dataclass(slots=True)
class Outgoing:
    """A result of step `index` with its evidence as a capture file (None: none, or stored already)."""

    index: int
    result: Result
    npz: bytes | None


class Outbox:
    """Commits in order; on a StationError everything waits and is tried again later."""

    def __init__(self, recorder: Recorder) -> None:
        self._recorder = recorder
        self._waiting: deque[Outgoing] = deque()
        self._pause = 0

    def __len__(self) -> int:
        return len(self._waiting)

    def put(self, outgoing: Outgoing) -> None:
        """Queue a result; the next `commit` tries at once."""
        self._waiting.append(outgoing)
        self._pause = 0

    def hurry(self) -> None:
        """Try again on the next `commit`."""
        self._pause = 0

    def commit(self) -> Outgoing | None:
        """Store the oldest result and return it; None while there is nothing to store, or too soon to try again.

        Raises:
            StationError: it could not be stored; it stays here.
        """
        if not self._waiting:
            return None
        if self._pause:
            self._pause -= 1
            return None
        first = self._waiting[0]
        self._pause = RETRY_AFTER_TICKS
        if first.npz is not None:
            sha256 = self._recorder.keep_capture(first.npz)
            first.result, first.npz = replace(first.result, capture_sha256=sha256), None
        first.result = self._recorder.add_result(first.result)
        self._pause = 0
        return self._waiting.popleft()
