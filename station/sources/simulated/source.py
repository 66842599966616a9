"""A simulated unit as a source of reports, in real time or on a clock of its own."""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable, Sequence

from station.errors import DeviceLost
from station.hid.types import ReportBlock
from station.sources.port import Answer, DeviceInfo, Request, SourceStatus
from station.sources.simulated.hand import SimulatedHand
from station.sources.simulated.spec import UnitSpec
from station.sources.simulated.store import ReportStore
from station.sources.simulated.unit import SimulatedUnit
from station.sources.simulated.wire import NS
from station.words import devices as words

AHEAD_S = 0.05
"""computed ahead of the clock in pieces of this length, and released by their stamps"""
_PIECE_S = 2.0


class SimulatedSource:
    """The Source port on a simulated unit. Safe to use from several threads.

    `realtime`: reports appear as `clock_ns` (monotonic, injected) goes on. Otherwise the source has a clock of its
    own, which `advance` moves, so that a whole visit runs in seconds.
    """

    def __init__(
        self,
        spec: UnitSpec,
        hand: SimulatedHand,
        *,
        realtime: bool = True,
        clock_ns: Callable[[], int] = time.monotonic_ns,
    ) -> None:
        design = spec.design
        vendor_id, product_id = design.ids
        self._info = DeviceInfo(
            key=f"simulated:{spec.tag or spec.seed}",
            vendor_id=vendor_id,
            product_id=product_id,
            product=design.name,
            serial=spec.tag,
            bus="simulated",
            descriptor=design.descriptor,
            usages=design.layout.applications,
        )
        self.hand = hand
        self.unit = SimulatedUnit(spec, hand)
        self.sent: deque[tuple[bytes, bool]] = deque(maxlen=1000)
        """output and feature reports that were sent to it, newest last"""
        self.features: dict[int, bytes] = {}
        """feature reports that it gives when asked, by id, each as its layout counts it; a design announces none"""
        self._store = ReportStore(design.report.width)
        self._lock = threading.RLock()
        self._realtime = realtime
        self._clock_ns = clock_ns
        self._began_ns = clock_ns() if realtime else 0
        self._virtual_ns = 0
        self._plugged = True
        self._closed_ns: int | None = None

    @property
    def info(self) -> DeviceInfo:
        return self._info

    @property
    def realtime(self) -> bool:
        """True when reports appear as the clock goes on, False when `advance` moves it."""
        return self._realtime

    def now_ns(self) -> int:
        if self._closed_ns is not None:
            return self._closed_ns
        return self._clock_ns() - self._began_ns if self._realtime else self._virtual_ns

    def advance(self, seconds: float) -> None:
        """Let time pass on the source's own clock. Does nothing on a source in real time."""
        with self._lock:
            self._virtual_ns += round(seconds * NS)
            self._compute()

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        with self._lock:
            self._compute()
            return self._store.read(cursor, self.now_ns(), limit)

    def status(self) -> SourceStatus:
        with self._lock:
            self._compute()
            if self._closed_ns is not None:
                return SourceStatus("ended", 0, "simulated", None, words.SIMULATED_AWAY)
            if not self._plugged or self._off_the_bus():
                return SourceStatus("lost", 0, "simulated", None, words.SIMULATED_UNPLUGGED)
            return SourceStatus("live", 0, "simulated", None)

    def send(self, report: bytes, *, feature: bool = False) -> None:
        """Remembered in `sent`. DeviceLost while unplugged."""
        if self.status().state != "live":
            raise DeviceLost(words.SIMULATED_UNPLUGGED)
        self.sent.append((bytes(report), feature))

    def at_end(self, reports: Sequence[tuple[bytes, bool]]) -> None:
        """It ends with the program."""

    def ask_feature(self, report_id: int) -> Request:
        """Answered at once with what stands in `features`. DeviceLost while unplugged."""
        if self.status().state != "live":
            raise DeviceLost(words.SIMULATED_UNPLUGGED)
        found = self.features.get(report_id)
        return Request(Answer(problem=words.NO_SUCH_REPORT) if found is None else Answer(found))

    def ask_system(self) -> Request:
        return Request(Answer())

    def unplug(self) -> None:
        """Pull the cable: nothing arrives until `replug`, while the hand and time go on."""
        with self._lock:
            self._compute()
            self._plugged = False
            self._store.drop_after(self.now_ns())

    def replug(self) -> None:
        """Plug it in again; the clock has gone on meanwhile."""
        with self._lock:
            self._compute()
            self._plugged = True

    def close(self) -> None:
        with self._lock:
            if self._closed_ns is None:
                self._compute()
                self._closed_ns = self.now_ns()

    def _off_the_bus(self) -> bool:
        now = self.now_ns()
        return any(begin <= now < end for begin, end in self.unit.wire.away)

    def _compute(self) -> None:
        """Work out the reports up to the present and a little beyond."""
        if self._closed_ns is not None:
            return
        now_ns = self.now_ns()
        unit = self.unit
        if unit.polls_until(now_ns) < unit.polls:
            return
        piece = max(1, round(_PIECE_S * unit.rate_hz))
        wanted = max(unit.polls_until(now_ns + AHEAD_S * NS), unit.polls + 1)
        while unit.polls < wanted:
            t_ns, raw = unit.run(min(piece, wanted - unit.polls))
            if self._plugged:
                self._store.add(t_ns, raw)
