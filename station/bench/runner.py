"""A session in a thread of its own, so that neither the device nor the disk ever holds up the window."""

from __future__ import annotations

import logging
import threading

from station.bench.bugs import in_words, tell_crash_hook
from station.bench.session import Session
from station.words import bench as words

log = logging.getLogger(__name__)

PERIOD_S = 0.005
GIVE_UP_AFTER = 3
"""ticks that fail one after the other"""


class SessionThread:
    """Ticks a session some 200 times a second until `stop`, or until the visit is finished."""

    def __init__(self, session: Session, period_s: float = PERIOD_S, *, after: SessionThread | None = None) -> None:
        """`after`: one that was told to stop; this one begins when that has ended."""
        self._session, self._after = session, after
        self._period_s = period_s
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._work, name="visit", daemon=True)

    def start(self) -> None:
        """Begin; once for each thread."""
        self._thread.start()

    def stop(self, timeout_s: float = 20.0) -> None:
        """End the running try as interrupted, store what waits, and wait for the thread. Safe to call again."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join(timeout_s)

    def is_alive(self) -> bool:
        """True while the session is being worked through."""
        return self._thread.is_alive()

    @property
    def stopped(self) -> bool:
        """Whether it was told to stop."""
        return self._stop.is_set()

    def _work(self) -> None:
        if self._after is not None:
            self._after.stop(float(threading.TIMEOUT_MAX))
            self._after = None
        failed = 0
        while not self._stop.wait(self._period_s) and not self._session.finished and failed < GIVE_UP_AFTER:
            try:
                self._session.tick()
                failed = 0
            except Exception as error:
                log.exception("a tick of the visit failed")
                failed += 1
                self._recover(error)
        if failed >= GIVE_UP_AFTER:
            self._session.fault(words.VISIT_GAVE_UP)
        try:
            self._session.close()
        except Exception:
            log.exception("the visit could not be closed cleanly")

    def _recover(self, error: Exception) -> None:
        """Say what happened and end the running try with what came, so that the visit can go on."""
        said = in_words(error)
        tell_crash_hook(error)
        self._session.fault(words.CHECK_INTERRUPTED.format(error=said))
        try:
            self._session.interrupt(words.INTERRUPTED_BY.format(error=said))
        except Exception:
            log.exception("the interrupted try could not be kept")
