"""What every source of reports offers, whoever feeds it: a device, a capture or a simulated unit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

from station.hid.types import ReportBlock

SourceState = Literal["live", "ended", "lost"]


@dataclass(frozen=True, slots=True)
class DeviceInfo:
    """Who is on the other end. Strings are already plain, printable and length-limited.

    `key` names the thing to open (a hidapi path, a capture's path, "simulated:…"); it is not an identity:
    node numbers are used again after an unplug. `usages` are the application usages (page << 16 | id).
    """

    key: str
    vendor_id: int
    product_id: int
    product: str
    serial: str
    bus: Literal["usb", "bluetooth", "simulated"]
    descriptor: bytes
    usages: tuple[int, ...] = ()
    problem: str = ""
    """why it cannot be opened, one sentence; empty when it can"""


@dataclass(frozen=True, slots=True)
class SourceStatus:
    """State of a source. `stamp_error_p99_us` is the reader's own measure of how late it stamps."""

    state: SourceState
    lost: int
    clock: Literal["process", "thread", "simulated", "capture"]
    stamp_error_p99_us: float | None
    message: str = ""


class Source(Protocol):
    """A stream of reports. Each consumer keeps its own cursor (0 = from the beginning)."""

    @property
    def info(self) -> DeviceInfo: ...

    def now_ns(self) -> int:
        """The present on the clock that stamps the reports, ns since the source began."""
        ...

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        """Reports from `cursor` on (at most `limit`), and the next cursor. Never waits.

        A consumer that fell behind the ring gets the oldest there is and a higher `lost`.
        """
        ...

    def status(self) -> SourceStatus: ...

    def send(self, report: bytes, *, feature: bool = False) -> None:
        """Queue an output or feature report (id first) for the device."""
        ...

    def close(self) -> None: ...
