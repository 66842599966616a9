"""A recording as immutable values, and the caps that every reader and writer of one keeps.

The caps are explicit because a capture may come from anybody: they bound what is allocated before a byte
of the recording is looked at. They leave room for a 60-minute recording at 1 kHz with 64-byte reports
(230 MB) and for 10 minutes at 8 kHz (307 MB).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Literal, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from station.capture.text import plain_text
from station.errors import CaptureError
from station.hid.types import ReportBlock
from station.words import captures as words

_A = TypeVar("_A", bound=NDArray[Any])
Bus = Literal["usb", "bluetooth", "simulated"]
MarkEvent = Literal["begin", "end", "beat", "void", "away", "unwatched", "back", "cell"]
BUSES: tuple[Bus, ...] = ("usb", "bluetooth", "simulated")
MARK_EVENTS: tuple[MarkEvent, ...] = ("begin", "end", "beat", "void", "away", "unwatched", "back", "cell")

MAX_DESCRIPTOR = 65_535
"""bytes; wDescriptorLength of the HID class descriptor is 16 bits wide (HID 1.11 §6.2.1)"""
MAX_REPORT = 4_096
"""bytes of one report; our own cap, far above the 64 of a full-speed and the 1024 of a high-speed transfer"""
MAX_REPORTS = 40_000_000
MAX_REPORT_BYTES = 1 << 30
"""bytes of the whole report array"""
MAX_META_CHARS = 4 << 20
MAX_MARKS = 100_000
MAX_MASS_G = 5000.0
"""grams that a mark may name"""


@dataclass(frozen=True, slots=True)
class Mark:
    """A moment in the recording. `time_ns` is on the clock of the reports; `control` is "" for the whole unit.

    `mass_g`: at a "begin", the mass in grams that pressed in the finger's place. `level_pct`, `step_pct`: at a "cell",
    what the unit said of its charge, and in which steps it says so.
    """

    time_ns: int
    event: MarkEvent
    check: str
    control: str
    witness: str | None = None
    mass_g: float | None = None
    level_pct: float | None = None
    step_pct: float | None = None


@dataclass(frozen=True, slots=True)
class CaptureMeta:
    """What was recorded and when. `started_at` is ISO 8601 UTC; `lost` counts the reports known to be lost."""

    vendor_id: int
    product_id: int
    product: str = ""
    serial: str = ""
    bus: Bus = "usb"
    started_at: str = "1970-01-01T00:00:00Z"
    sheet: str | None = None
    lost: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Capture:
    """A recording: the device's own descriptor, all reports, who it was, and the marks of the checks."""

    descriptor: bytes
    block: ReportBlock
    meta: CaptureMeta
    marks: tuple[Mark, ...] = ()


def check_block(block: ReportBlock) -> ReportBlock:
    """The block as read-only arrays of the agreed types with zeroed padding; CaptureError if it breaks a rule."""
    time_ns, size, raw = block.t_ns, block.size, block.raw
    if time_ns.ndim != 1 or size.ndim != 1 or raw.ndim != 2 or not len(time_ns) == len(size) == len(raw):
        raise CaptureError(words.LENGTHS_DIFFER)
    if raw.shape[0] > MAX_REPORTS or raw.shape[1] > MAX_REPORT or raw.size > MAX_REPORT_BYTES:
        raise CaptureError(words.TOO_LARGE.format(most=MAX_REPORTS))
    if len(time_ns) and (time_ns[0] < 0 or bool((np.diff(time_ns) < 0).any())):
        raise CaptureError(words.TIMES_RUN_BACK)
    if len(size) and int(size.max()) > raw.shape[1]:
        raise CaptureError(words.SIZE_TOO_LARGE)
    clean = _zero_padded(size, raw)
    return replace(
        block,
        t_ns=_read_only(np.ascontiguousarray(time_ns, dtype=np.int64)),
        size=_read_only(np.ascontiguousarray(size, dtype=np.uint16)),
        raw=_read_only(np.ascontiguousarray(clean, dtype=np.uint8)),
    )


def _zero_padded(size: NDArray[np.uint16], raw: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """`raw` with every byte past its report's size set to 0; the same array when that already holds."""
    short = np.flatnonzero(size < raw.shape[1])
    if not len(short):
        return raw
    columns = np.arange(raw.shape[1])
    dirty = [at for at in np.array_split(short, -(-len(short) // 65536)) if _padding(size, raw, columns, at).any()]
    if not dirty:
        return raw
    clean = raw.copy()
    for at in dirty:
        clean[at] = np.where(columns < size[at, None], raw[at], 0)
    return clean


def _padding(
    size: NDArray[np.uint16], raw: NDArray[np.uint8], columns: NDArray[np.int_], at: NDArray[np.intp]
) -> NDArray[np.uint8]:
    return cast("NDArray[np.uint8]", np.where(columns < size[at, None], 0, raw[at]))


def _read_only(array: _A) -> _A:
    view = array.view()
    view.flags.writeable = False
    return view


def _whole(value: object) -> bool:
    return isinstance(value, int | np.integer) and not isinstance(value, bool)


def check_meta(meta: CaptureMeta) -> CaptureMeta:
    """The meta with plain strings; CaptureError if a number, the bus or the date cannot be right."""
    for name, value, top in (
        ("vendor_id", meta.vendor_id, 0xFFFF),
        ("product_id", meta.product_id, 0xFFFF),
        ("lost", meta.lost, 2**62),
    ):
        if not _whole(value) or not 0 <= value <= top:
            raise CaptureError(words.NO_WHOLE_NUMBER.format(name=name, most=top))
    if meta.bus not in BUSES:
        raise CaptureError(words.UNKNOWN_BUS.format(names=", ".join(BUSES)))
    for name, text in (
        ("product", meta.product),
        ("serial", meta.serial),
        ("sheet", "" if meta.sheet is None else meta.sheet),
    ):
        if type(text) is not str:
            raise CaptureError(words.NOT_TEXT.format(name=name))
    try:
        datetime.fromisoformat(meta.started_at)
    except (TypeError, ValueError):
        raise CaptureError(words.NOT_A_DATE) from None
    sheet = None if meta.sheet is None else plain_text(meta.sheet, 200)
    return replace(meta, product=plain_text(meta.product), serial=plain_text(meta.serial), sheet=sheet)


def check_mark(mark: Mark) -> Mark:
    """The mark with plain strings; CaptureError if it breaks a rule of docs/formats.md, "Captures"."""
    if not _whole(mark.time_ns) or not 0 <= mark.time_ns < 2**63:
        raise CaptureError(words.MARK_TIME)
    if mark.event not in MARK_EVENTS:
        raise CaptureError(words.MARK_EVENT.format(names=", ".join(MARK_EVENTS)))
    names = (mark.check, mark.control, "" if mark.witness is None else mark.witness)
    if not all(type(name) is str for name in names):
        raise CaptureError(words.MARK_NOT_TEXT)
    check, control, witness = (plain_text(name, 128) for name in names)
    mass_g = None if mark.mass_g is None else _mass(mark.mass_g)
    said = (None if share is None else _share(share) for share in (mark.level_pct, mark.step_pct))
    return Mark(int(mark.time_ns), mark.event, check, control, None if mark.witness is None else witness, mass_g, *said)


def _mass(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= MAX_MASS_G:
        raise CaptureError(words.MARK_MASS.format(most=MAX_MASS_G))
    return float(value)


def _share(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 100:
        raise CaptureError(words.MARK_SHARE)
    return float(value)
