"""A session in a thread of its own, so that neither the device nor the disk ever holds up the window."""

from __future__ import annotations

import logging
import threading

from station.bench.session import Session
from station.errors import StationError
from station.words import bench as words

log = logging.getLogger(__name__)

PERIOD_S = 0.005
GIVE_UP_AFTER = 3
"""ticks that fail one after the other"""


class SessionThread:
    """Ticks a session some 200 times a second until `stop`, or until the visit is finished."""

    def __init__(self, session: Session, period_s: float = PERIOD_S) -> None:
        self._session = session
        self._period_s = period_s
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._work, name="visit", daemon=True)

    def start(self) -> None:
        """Begin; once for each thread."""
        self._thread.start()

    def stop(self, timeout_s: float = 10.0) -> None:
        """End the running try as interrupted, store what waits, and wait for the thread. Safe to call again."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join(timeout_s)

    def is_alive(self) -> bool:
        """True while the session is being worked through."""
        return self._thread.is_alive()

    def _work(self) -> None:
        failed = 0
        while not self._stop.wait(self._period_s) and not self._session.finished and failed < GIVE_UP_AFTER:
            try:
                self._session.tick()
                failed = 0
            except Exception as error:
                log.exception("a tick of the visit failed")
                failed += 1
                self._recover(error)
        try:
            self._session.close()
        except Exception:
            log.exception("the visit could not be closed cleanly")

    def _recover(self, error: Exception) -> None:
        """Say what happened and end the running try with what came, so that the visit can go on."""
        said = str(error) if isinstance(error, StationError) else words.PROGRAM_ERROR.format(error=type(error).__name__)
        self._session.fault(words.CHECK_INTERRUPTED.format(error=said))
        try:
            self._session.interrupt(words.INTERRUPTED_BY.format(error=said))
        except Exception:
            log.exception("the interrupted try could not be kept")
