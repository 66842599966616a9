"""What every source of reports offers, whoever feeds it: a device, a capture or a simulated unit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, Protocol

from station.capture.types import Bus
from station.hid.types import ReportBlock
from station.words import devices as words

SourceState = Literal["live", "ended", "lost"]
PRESENT = 1 << 62
"""a cursor beyond every report: `take(PRESENT, 0)` gives no report and the number that the next one gets"""


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
    bus: Bus
    descriptor: bytes
    usages: tuple[int, ...] = ()
    problem: str = ""
    """why it cannot be opened, one sentence; empty when it can"""
    interface: str = ""
    """class, subclass and protocol in hexadecimal ("ff5d01") of an interface that no HID driver presents"""
    held: bool = False
    """the problem is that another program has it"""
    place: int = 0
    """which pad of a receiver it is, from 1; 0: it is none of a receiver's"""

    @property
    def called(self) -> str:
        """What a list calls it: the pads of one receiver are told apart. Empty where it gives no name."""
        if not self.place:
            return self.product
        return words.PAD_OF_RECEIVER.format(name=self.product or words.RECEIVER, place=self.place)


@dataclass(frozen=True, slots=True)
class SourceStatus:
    """State of a source. `stamp_error_p99_us` is the reader's own measure of how late it stamps.

    `lost` counts as that of a `ReportBlock` does: what the device's queue or its reader lost, for nobody to see.
    """

    state: SourceState
    lost: int
    clock: Literal["process", "thread", "simulated", "capture"]
    stamp_error_p99_us: float | None
    message: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of a request. `problem` says why nothing came, in a few plain words.

    `report` is the feature report as its layout counts it: id first where ids are used. It may be shorter than the
    device announced, never longer. `system` are the system's own words on the cell, empty where it has none.
    """

    report: bytes = b""
    system: Mapping[str, str] = field(default_factory=dict)
    problem: str = ""


class Request:
    """Something asked of a device. `answer` is None until it has come; any thread may look, nobody has to."""

    __slots__ = ("answer",)

    def __init__(self, answer: Answer | None = None) -> None:
        self.answer = answer


class Source(Protocol):
    """A stream of reports. Each consumer keeps its own cursor (0 = from the beginning), as `sources.follower` does.

    Nothing that a consumer does or leaves undone shows in what another one takes, nor in `status`.
    """

    @property
    def info(self) -> DeviceInfo: ...

    def now_ns(self) -> int:
        """The present on the clock that stamps the reports, ns since the source began."""
        ...

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        """Reports from `cursor` on (at most `limit`), and the next cursor. Never waits.

        A consumer that fell behind what is kept gets the oldest there is: the block's `seq0` is higher than its
        cursor. A cursor beyond the present counts as the present.
        """
        ...

    def status(self) -> SourceStatus: ...

    def send(self, report: bytes, *, feature: bool = False) -> None:
        """Queue an output or feature report (id first) for the device."""
        ...

    def at_end(self, reports: Sequence[tuple[bytes, bool]]) -> None:
        """What to send when nobody is left to send it, because the program was killed: reports, and whether each is a
        feature report. The newest list counts; errors as `send`."""
        ...

    def ask_feature(self, report_id: int) -> Request:
        """Ask the device for a feature report (id 0 where ids are not used). Never waits; errors as `send`."""
        ...

    def ask_system(self) -> Request:
        """Ask the system what it keeps of the device's battery. Never waits; errors as `send`."""
        ...

    def close(self) -> None: ...
