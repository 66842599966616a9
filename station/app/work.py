"""The thread that does slow things in order, so that the window never waits: records, opening devices, PDF."""

from __future__ import annotations

import itertools
import queue
import threading
from collections.abc import Callable, Iterable
from dataclasses import replace

from station.errors import StationError
from station.ui.ports import DeskEvent, PlanMade, RecordChanged, Said, SilentListed, SpreadsheetRead

Job = Callable[[], Iterable[DeskEvent] | None]
_numbers = itertools.count(1)
"""of all jobs of all workers, so that an answer names one job"""


class Worker:
    """Runs jobs one after the other; their events, and one sentence for each StationError, go to `tell`.

    Each job has a number of its own, which its answer carries (`answers`).

    Any other exception is a bug: it goes to the crash hook (threading.excepthook), and the next job runs.
    """

    def __init__(self, tell: Callable[[DeskEvent], None], name: str = "restpoint-work") -> None:
        self._tell = tell
        self._jobs: queue.SimpleQueue[tuple[int, Job] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._thread.start()

    def submit(self, job: Job) -> int:
        """Queue a job; returns its number at once."""
        number = next(_numbers)
        self._jobs.put((number, job))
        return number

    def settle(self, timeout_s: float = 30.0) -> None:
        """Wait for the jobs queued so far."""
        done = threading.Event()
        self.submit(lambda: done.set())
        done.wait(timeout_s)

    def close(self, timeout_s: float = 10.0) -> None:
        """Finish what is queued, then stop."""
        self._jobs.put(None)
        self._thread.join(timeout_s)

    def _run(self) -> None:
        while (queued := self._jobs.get()) is not None:
            number, job = queued
            try:
                for event in job() or ():
                    self._tell(_answering(event, number))
            except StationError as error:
                self._tell(Said(str(error), True, number))
            except Exception:  # noqa: BLE001 - a bug in one job must not take the others with it
                self._report_bug()

    def _report_bug(self) -> None:
        import sys

        kind, value, trace = sys.exc_info()
        threading.excepthook(threading.ExceptHookArgs((kind, value, trace, self._thread)))


def _answering(event: DeskEvent, number: int) -> DeskEvent:
    if isinstance(event, RecordChanged | Said | SilentListed | SpreadsheetRead | PlanMade):
        return replace(event, answers=number)
    return event
