"""Results on their way into the records. What could not be stored yet is kept and tried again: nothing is lost.

What can never be stored (a number that is not finite, a value of no kind that the records know) would keep everything
behind it waiting for good: in its place goes a try that was interrupted, with the same evidence.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace

from station.bench.bugs import in_words, tell_crash_hook
from station.bench.types import Recorder
from station.checks.types import Assessment, Outcome
from station.errors import InputError, RecordError, RecordRefused, StationError
from station.records.types import Result
from station.words import bench as words

RETRY_AFTER_TICKS = 100
"""about half a second of a bench that ticks at 200 Hz"""


@dataclass(slots=True)
class Outgoing:
    """A result of step `index` with its evidence as a capture file (None: none, or stored already).

    `problem`: why another one was stored in its place; empty: it is the one.
    """

    index: int
    result: Result
    npz: bytes | None
    problem: str = ""


class Outbox:
    """Commits in order; on a StationError everything waits and is tried again later."""

    def __init__(self, recorder: Recorder) -> None:
        self._recorder = recorder
        self._waiting: deque[Outgoing] = deque()
        self._pause = 0

    def __len__(self) -> int:
        return len(self._waiting)

    def waiting(self) -> tuple[Outgoing, ...]:
        """What is not stored yet, oldest first."""
        return tuple(self._waiting)

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
        self._store(first)
        self._pause = 0
        return self._waiting.popleft()

    def _store(self, first: Outgoing) -> None:
        try:
            first.result = self._recorder.add_result(first.result)
        except (InputError, RecordRefused) as error:
            self._store_instead(first, error)
        except StationError:
            raise
        except Exception as error:  # noqa: BLE001 - or everything behind it would wait for good
            tell_crash_hook(error)
            self._store_instead(first, error)

    def _store_instead(self, first: Outgoing, error: Exception) -> None:
        """Nothing of it is given up before what goes in its place is stored."""
        problem = _problem(error)
        try:
            first.result = self._recorder.add_result(instead(first.result, error))
        except StationError:
            raise
        except Exception as second:
            raise RecordError(problem) from second
        first.problem = problem


def instead(result: Result, error: Exception) -> Result:
    """What is stored in the place of a result that never can be: a try without what the check made of it.

    The word of a person who set its outcome by hand stands.
    """
    if result.by_hand:
        return replace(result, assessment=Assessment(result.assessment.outcome))
    return replace(result, assessment=Assessment(Outcome.INTERRUPTED), reason=_problem(error))


def _problem(error: Exception) -> str:
    return words.NOT_STORABLE.format(error=in_words(error))
