"""The unit on the bench: its source, its sheet, where in the stream the live view is, and the visit that runs on it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import cast

from station.app.shelf_of_sheets import Known
from station.bench.auto import AutoPerson, VirtualSource
from station.bench.outbox import Outgoing
from station.bench.runner import SessionThread
from station.bench.session import Session
from station.bench.stretch import join_blocks
from station.bench.types import Command, Event, SessionView
from station.hid.types import ReportBlock
from station.sheets.bind import join_signals
from station.sheets.model import Sheet
from station.sources.devices import same_device
from station.sources.follower import A_RING, Follower
from station.sources.port import DeviceInfo, Source, SourceStatus
from station.ui.ports import LiveView

MAX_BLOCKS_A_FRAME = 8
"""a frame never decodes more than this many blocks: a backlog is caught up over the next frames"""


PutByFile = Callable[[Sequence[Outgoing]], str]


def _no_file(left: Sequence[Outgoing]) -> str:
    return ""


@dataclass(frozen=True, slots=True)
class _Visit:
    """A visit that runs, who carries it out on a simulated unit, and its thread (none when time is moved by hand)."""

    session: Session
    person: AutoPerson | None
    runner: SessionThread | None


class ActiveUnit:
    """A source in use. `live`, `take_events` and `advance` belong to the window's thread; the session runs in its own.

    The visit is one reference that is replaced as a whole: whoever goes on with it while another thread stops it ends
    with the visit it began with.
    """

    def __init__(self, info: DeviceInfo, known: Known, source: Source, put_by: PutByFile = _no_file) -> None:
        """`put_by`: keeps what a visit that ends could not store; says why when it cannot."""
        self.info = info
        self._put_by = put_by
        self.known = known
        self.source = source
        self._reports = Follower(source, A_RING)
        self._visit: _Visit | None = None
        self._by_hand = not getattr(source, "realtime", True)
        self._lock = threading.Lock()

    def reads(self, info: DeviceInfo) -> bool:
        """Whether this is the device in use; after a re-plug it goes by its new key and by the one it had."""
        return info.key in (self.info.key, self.source.info.key) and same_device(self.info, info)

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
        hand = getattr(self.source, "hand", None)  # only a simulated unit brings its own
        person = AutoPerson(self.sheet, hand, session.do, self.source.now_ns) if hand is not None else None
        runner = None if self._by_hand else SessionThread(session)
        with self._lock:
            self._drop()
            self._visit = _Visit(session, person, runner)
            if runner is not None:
                runner.start()

    def do(self, command: Command) -> None:
        """Hand a command to the visit, if one runs."""
        if (visit := self._visit) is not None:
            visit.session.do(command)

    def view(self) -> SessionView | None:
        visit = self._visit
        return visit.session.view() if visit is not None else None

    def take_events(self) -> Sequence[Event]:
        if (visit := self._visit) is None:
            return ()
        events = visit.session.take_events()
        if visit.person is not None:
            for event in events:
                visit.person.handle(event, visit.session.view())  # a simulated unit's hand does what is asked
        return events

    def advance(self, seconds: float) -> None:
        """Move the clock of a simulated unit that does not run in real time, and let the visit do what is due."""
        if self._by_hand:
            cast("VirtualSource", self.source).advance(seconds)
        if (visit := self._visit) is not None:
            visit.session.tick()

    def live(self) -> LiveView:
        """What came since the last call, decoded."""
        pieces = []
        reports, binding = 0, self.known.binding
        for _ in range(MAX_BLOCKS_A_FRAME):
            block, _ = self._reports.take(4096)  # what a window that stood still did not show is of no matter
            if not len(block):
                break
            reports += len(block)
            pieces.append(binding.signals(block))
        return LiveView(self.source.now_ns(), join_signals(pieces), reports)

    def kept_reports(self) -> tuple[ReportBlock, int]:
        """All reports that are still to be had, and the time now on their clock. For the window's thread."""
        follower, blocks = Follower(self.source, A_RING), list[ReportBlock]()
        while len(block := follower.take(A_RING)[0]):
            blocks.append(block)
        return join_blocks(blocks), self.source.now_ns()

    def status(self) -> SourceStatus:
        return self.source.status()

    def halt(self) -> None:
        """End the visit's running try and store what waits; the visit stays in view until another one starts."""
        with self._lock:
            self._halt()

    def stop(self) -> None:
        """Stop the visit; what it committed stays, and it can go on later."""
        with self._lock:
            self._drop()
            self._visit = None

    def close(self) -> None:
        """Stop the visit, then let go of the device."""
        with self._lock:
            self._drop()
        self.source.close()

    def left(self) -> tuple[Outgoing, ...]:
        """The visit's results that could not be stored yet."""
        visit = self._visit
        return visit.session.left() if visit is not None else ()

    def wind_up(self) -> str:
        """Halt the visit and put by what it could not store; why that failed, and then the visit goes on."""
        self.halt()
        problem = self._put_by(self.left())
        if problem:
            self.go_on()
        return problem

    def go_on(self) -> None:
        """Go on with a visit that was halted."""
        with self._lock:
            visit = self._visit
            if visit is not None and visit.runner is not None and visit.runner.stopped:
                runner = SessionThread(visit.session, after=visit.runner)
                self._visit = _Visit(visit.session, visit.person, runner)
                runner.start()

    def _drop(self) -> None:
        """Nobody goes on with this visit here."""
        self._halt()
        self._put_by(self.left())

    def _halt(self) -> None:
        if self._visit is not None and self._visit.runner is not None:
            self._visit.runner.stop()
