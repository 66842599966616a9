"""A capture as a source: in real time, faster or slower, or all at once.

A replayed report becomes visible when its stamp has passed on the replay's clock, so whoever reads it
sees the same growing stream as from a device. With `speed=math.inf` everything is there at once and
`now_ns` is the last stamp: the way captures are assessed again. The clock is injected (nanoseconds,
monotonic); tests move it by hand.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence

import numpy as np

from station.capture.types import Capture
from station.errors import InputError
from station.hid.types import ReportBlock
from station.sources.port import Answer, DeviceInfo, Request, SourceStatus
from station.words import devices as words

__all__ = ["ReplaySource"]


class ReplaySource:
    """The Source port on a capture. `send` does nothing but remember (`sent`): a recording cannot rumble."""

    def __init__(
        self,
        capture: Capture,
        speed: float = 1.0,
        *,
        clock_ns: Callable[[], int] = time.monotonic_ns,
        key: str = "capture:",
    ) -> None:
        """`speed` 1.0 is real time, `math.inf` as fast as it goes; InputError unless it is above zero."""
        if not speed > 0:
            raise InputError(words.REPLAY_SPEED)
        meta = capture.meta
        self._info = DeviceInfo(
            key, meta.vendor_id, meta.product_id, meta.product, meta.serial, meta.bus, capture.descriptor
        )
        self._block = capture.block
        self._end_ns = int(capture.block.t_ns[-1]) if len(capture.block) else 0
        self._lost = meta.lost
        self._speed = speed
        self._clock_ns = clock_ns
        self._began_ns = clock_ns()
        self.sent: list[tuple[bytes, bool]] = []

    @property
    def info(self) -> DeviceInfo:
        return self._info

    def now_ns(self) -> int:
        if math.isinf(self._speed):
            return self._end_ns
        return min(self._end_ns, int((self._clock_ns() - self._began_ns) * self._speed))

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        block = self._block
        seen = len(block) if self._ended() else int(np.searchsorted(block.t_ns, self.now_ns(), side="right"))
        begin = min(max(cursor, 0), seen)
        end = min(begin + max(limit, 0), seen)
        at = slice(begin, end)
        return ReportBlock(begin, block.t_ns[at], block.size[at], block.raw[at], self._lost), end

    def status(self) -> SourceStatus:
        if self._ended():
            return SourceStatus("ended", self._lost, "capture", None, words.RECORDING_ENDED)
        return SourceStatus("live", self._lost, "capture", None)

    def send(self, report: bytes, *, feature: bool = False) -> None:
        self.sent.append((bytes(report), feature))

    def at_end(self, reports: Sequence[tuple[bytes, bool]]) -> None:
        """Nothing runs that would have to be stopped."""

    def ask_feature(self, report_id: int) -> Request:
        """A recording holds input reports only."""
        return Request(Answer(problem=words.RECORDING_CANNOT_ANSWER))

    def ask_system(self) -> Request:
        return Request(Answer())

    def close(self) -> None:
        """Nothing to free; a closed replay stays readable."""

    def _ended(self) -> bool:
        return self.now_ns() >= self._end_ns
