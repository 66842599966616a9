"""The thread that does slow things in order, so that the window never waits: records, opening devices, PDF."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterable

from station.errors import StationError
from station.ui.ports import DeskEvent, Said

Job = Callable[[], Iterable[DeskEvent] | None]


class Worker:
    """Runs jobs one after the other; their events, and one sentence for each StationError, go to `tell`.

    Any other exception is a bug: it goes to the crash hook (threading.excepthook), and the next job runs.
    """

    def __init__(self, tell: Callable[[DeskEvent], None], name: str = "restpoint-work") -> None:
        self._tell = tell
        self._jobs: queue.SimpleQueue[Job | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._thread.start()

    def submit(self, job: Job) -> None:
        """Queue a job; returns at once."""
        self._jobs.put(job)

    def settle(self, timeout_s: float = 30.0) -> None:
        """Wait for the jobs queued so far."""
        done = threading.Event()
        self._jobs.put(lambda: done.set())
        done.wait(timeout_s)

    def close(self, timeout_s: float = 10.0) -> None:
        """Finish what is queued, then stop."""
        self._jobs.put(None)
        self._thread.join(timeout_s)

    def _run(self) -> None:
        while (job := self._jobs.get()) is not None:
            try:
                for event in job() or ():
                    self._tell(event)
            except StationError as error:
                self._tell(Said(str(error), bad=True))
            except Exception:  # noqa: BLE001 - a bug in one job must not take the others with it
                self._report_bug()

    def _report_bug(self) -> None:
        import sys

        kind, value, trace = sys.exc_info()
        threading.excepthook(threading.ExceptHookArgs((kind, value, trace, self._thread)))
