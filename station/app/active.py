"""The unit on the bench: its source, its sheet, the live view's own cursor, and the visit that runs on it."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from typing import cast

from station.app.shelf_of_sheets import Known
from station.bench.auto import AutoPerson, VirtualSource
from station.bench.runner import SessionThread
from station.bench.session import Session
from station.bench.types import Command, Event, SessionView
from station.sheets.bind import join_signals
from station.sheets.model import Sheet
from station.sources.port import DeviceInfo, Source, SourceStatus
from station.ui.ports import LiveView

MAX_BLOCKS_A_FRAME = 8
"""a frame never decodes more than this many blocks: a backlog is caught up over the next frames"""


class ActiveUnit:
    """A source in use. `live` belongs to the window's thread; the session runs in its own."""

    def __init__(self, info: DeviceInfo, known: Known, source: Source) -> None:
        self.info = info
        self.known = known
        self.source = source
        self._cursor = 0
        self._runner: SessionThread | None = None
        self._session: Session | None = None
        self._person: AutoPerson | None = None
        self._by_hand = not getattr(source, "realtime", True)
        self._lock = threading.Lock()

    def reads(self, info: DeviceInfo) -> bool:
        """Whether this is the device in use; after a re-plug it goes by its new key and by the one it had."""
        return info.key in (self.info.key, self.source.info.key)

    @property
    def sheet(self) -> Sheet:
        return self.known.sheet

    def use(self, known: Known) -> None:
        """Read the reports by another sheet from now on; a visit by the old one stops (what it committed stays)."""
        self.stop()
        self.known = known

    def start(self, session: Session) -> None:
        """Run a visit; one that runs already is stopped first (what it committed stays).

        On a source whose clock is moved by hand nothing runs by itself: see `advance`.
        """
        with self._lock:
            self._stop_runner()
            self._session = session
            hand = getattr(self.source, "hand", None)  # only a simulated unit brings its own
            self._person = AutoPerson(self.sheet, hand, session.do, self.source.now_ns) if hand is not None else None
            if not self._by_hand:
                self._runner = SessionThread(session)
                self._runner.start()

    def do(self, command: Command) -> None:
        """Hand a command to the visit, if one runs."""
        if self._session is not None:
            self._session.do(command)

    def view(self) -> SessionView | None:
        return self._session.view() if self._session is not None else None

    def take_events(self) -> Sequence[Event]:
        if self._session is None:
            return ()
        events = self._session.take_events()
        if self._person is not None:
            for event in events:
                self._person.handle(event, self._session.view())  # a simulated unit's hand does what is asked
        return events

    def advance(self, seconds: float) -> None:
        """Move the clock of a simulated unit that does not run in real time, and let the visit do what is due."""
        if self._by_hand:
            cast("VirtualSource", self.source).advance(seconds)
        if self._session is not None:
            self._session.tick()

    def live(self) -> LiveView:
        """What came since the last call, decoded."""
        pieces = []
        reports = 0
        for _ in range(MAX_BLOCKS_A_FRAME):
            block, self._cursor = self.source.take(self._cursor, 4096)
            if not len(block):
                break
            reports += len(block)
            pieces.append(self.known.binding.signals(block))
        return LiveView(self.source.now_ns(), join_signals(pieces), reports)

    def status(self) -> SourceStatus:
        return self.source.status()

    def stop(self) -> None:
        """Stop the visit; what it committed stays, and it can go on later."""
        with self._lock:
            self._stop_runner()
            self._session = self._person = None

    def close(self) -> None:
        """Stop the visit, then let go of the device."""
        with self._lock:
            self._stop_runner()
        self.source.close()

    def _stop_runner(self) -> None:
        if self._runner is not None:
            self._runner.stop()
            self._runner = None
