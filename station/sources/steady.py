"""One stream for a unit that is unplugged and comes back: one clock, one numbering, one cursor.

A plain source ends with its device. This one holds the sources that followed one another and lets a consumer's
cursor run through them, so that a check goes on where it stopped. In between, `status` says lost.

A unit that was unplugged is reopened by whoever sees it come back (`reopen`). A reader process that died or hangs
while the unit is still plugged in is replaced from here, once for each that had read something: the person
would see nothing to plug in again.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from station.errors import DeviceLost, InputError, StationError
from station.hid.types import ReportBlock
from station.sources.devices import same_device
from station.sources.port import DeviceInfo, Request, Source, SourceStatus
from station.words import devices as words

__all__ = ["CountedSource", "SteadySource"]

log = logging.getLogger(__name__)
KEEP = 4
"""sources kept readable; a consumer that is further behind gets the oldest there is"""


class CountedSource(Source, Protocol):
    """A source that knows how many reports arrived, and whether its reader failed and not the device."""

    def written(self) -> int: ...

    def failed(self) -> bool: ...


Opener = Callable[[DeviceInfo, int, int], CountedSource]
"""device, origin on `time.perf_counter_ns`, number of the piece (0, 1, …: for the journal's name) → source"""


@dataclass(slots=True)
class _Piece:
    """One source in the chain. `base`: the number of its first report in the whole stream."""

    source: CountedSource
    base: int


class SteadySource:
    """The Source port over re-plugs. `open_source` makes each piece on the common clock; it may raise
    StationError, which `__init__` and `reopen` pass on."""

    def __init__(self, info: DeviceInfo, open_source: Opener, *, clock_ns: Callable[[], int] | None = None) -> None:
        self._clock_ns = clock_ns or time.perf_counter_ns
        self._origin_ns = self._clock_ns()
        self._open_source = open_source
        self._lock = threading.Lock()
        self._opening = threading.Lock()
        self._count = 0
        self._lost_before = 0
        """what the sources lost that are no longer kept"""
        self._closed = False
        self._pieces = [self._piece(info, 0)]

    @property
    def info(self) -> DeviceInfo:
        return self._pieces[-1].source.info

    def now_ns(self) -> int:
        return self._clock_ns() - self._origin_ns

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        """As the port says. A block never spans two pieces: call again until the cursor stands still."""
        with self._lock:
            pieces = list(self._pieces)
            first = max(cursor, pieces[0].base)
            lost = self._lost_before
        at = max(i for i, piece in enumerate(pieces) if piece.base <= first)
        piece = pieces[at]
        block, after = piece.source.take(first - piece.base, limit)
        if at + 1 < len(pieces):  # an ended piece: what its reader may still have written is not counted
            block, after = _before(block, after, pieces[at + 1].base - piece.base)
        lost += sum(before.source.status().lost for before in pieces[:at])
        return replace(block, seq0=block.seq0 + piece.base, lost=block.lost + lost), after + piece.base

    def status(self) -> SourceStatus:
        with self._lock:
            pieces, before = list(self._pieces), self._lost_before
        now = pieces[-1].source.status()
        lost = before + now.lost + sum(p.source.status().lost for p in pieces[:-1])
        if self._closed:
            return replace(now, state="ended", lost=lost)
        if now.state == "lost":
            self._replace_reader(pieces[-1])
        elif now.state == "ended":  # closed by `_go_on`; the next piece is being opened
            now = replace(now, state="lost", message=words.OPENING_AGAIN)
        return replace(now, lost=lost)

    def reopen(self, info: DeviceInfo) -> None:
        """Go on with the unit that came back. InputError when it is another one; errors of opening pass."""
        if not same_device(self.info, info):
            raise InputError(words.ANOTHER_UNIT)
        with self._opening:
            self._go_on(info)

    def send(self, report: bytes, *, feature: bool = False) -> None:
        self._pieces[-1].source.send(report, feature=feature)

    def at_end(self, reports: Sequence[tuple[bytes, bool]]) -> None:
        self._pieces[-1].source.at_end(reports)

    def ask_feature(self, report_id: int) -> Request:
        return self._pieces[-1].source.ask_feature(report_id)

    def ask_system(self) -> Request:
        return self._pieces[-1].source.ask_system()

    def close(self) -> None:
        self._closed = True
        self._pieces[-1].source.close()

    def _go_on(self, info: DeviceInfo) -> None:
        if self._closed:
            raise DeviceLost(words.VISIT_CLOSED)
        old = self._pieces[-1]
        old.source.close()
        piece = self._piece(info, old.base + old.source.written())
        with self._lock:
            self._pieces.append(piece)
            while len(self._pieces) > KEEP:
                self._lost_before += self._pieces.pop(0).source.status().lost

    def _replace_reader(self, piece: _Piece) -> None:
        """Start a new reader in the background when this one failed; not if it never read anything."""
        if not piece.source.failed() or not piece.source.written() or not self._opening.acquire(blocking=False):
            return

        def go_on() -> None:
            try:
                if self._pieces[-1] is piece:
                    self._go_on(piece.source.info)
            except StationError as error:
                log.warning("no new reader: %s", error)
            finally:
                self._opening.release()

        log.warning("the reader failed and is replaced: %s", piece.source.status().message)
        threading.Thread(target=go_on, name="replace-reader", daemon=True).start()

    def _piece(self, info: DeviceInfo, base: int) -> _Piece:
        source = self._open_source(info, self._origin_ns, self._count)
        self._count += 1
        return _Piece(source, base)


def _before(block: ReportBlock, after: int, end: int) -> tuple[ReportBlock, int]:
    """A block and the next cursor, without the reports from number `end` on."""
    kept = slice(0, max(0, end - block.seq0))
    cut = replace(block, seq0=min(block.seq0, end), t_ns=block.t_ns[kept], size=block.size[kept], raw=block.raw[kept])
    return cut, min(after, end)
