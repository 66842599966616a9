"""The reports that were kept with a result, read again: whole and unaltered, or one sentence that says why not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from station.capture.file import read_capture
from station.capture.types import Capture
from station.checks.types import Take
from station.errors import CaptureAltered, CaptureError, SheetError
from station.evidence.fitting import layout_of
from station.evidence.tries import Try, take_of, tries_of
from station.hid.types import Layout, ReportBlock
from station.records.files import is_sha256, places
from station.records.types import Result
from station.sheets.bind import bind
from station.sheets.model import Sheet
from station.sheets.signals import I64, Signal
from station.words import evidence_room as words


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """A result and the take that its reports give. `remark`: what may be other than when it was recorded. `whole`: with
    everything that a check needs; a recording longer than any try at the bench is only there to be drawn."""

    result: Result
    sheet: Sheet
    take: Take
    remark: str = ""
    whole: bool = True
    one: Try | None = None
    """the try as the marks of the recording bracket it"""


MOST_REPORTS, PIECE = 1_000_000, 1 << 16
"""a try at the bench has no more"""


def kept_of(result: Result, captures: Path, sheet: Sheet) -> Kept:
    """Read the reports of a result again. `captures`: the folder that the records keep them in; `sheet`: the unit's.

    CaptureError with one sentence, where there are none, where the file is gone, altered, damaged, of another version
    or without a report, and where it does not fit the sheet: nothing of it may be shown as evidence then.
    """
    if not result.capture_sha256:
        raise CaptureError(words.MARKED_BY_HAND if result.by_hand else words.NONE_KEPT)
    return take_from(_read(result.capture_sha256, captures), result, sheet)


def take_from(capture: Capture, result: Result, sheet: Sheet) -> Kept:
    """The take of the try that the result is of, cut out of its recording. CaptureError as `kept_of`."""
    if not sheet.controls:
        raise CaptureError(words.NO_SHEET.format(sheet=sheet.name))
    if not len(capture.block.t_ns):
        raise CaptureError(words.EMPTY)
    tries = [one for one in tries_of(capture.marks) if one.key == (result.check, result.control)]
    if not tries:
        raise CaptureError(words.NOT_IN_CAPTURE)
    one = next((t for t in reversed(tries) if t.end_ns is not None), tries[-1])
    try:
        whole = len(capture.block.t_ns) <= MOST_REPORTS
        layout = layout_of(capture)
        signals = bind(sheet, layout).signals(capture.block) if whole else _to_draw(one.control, sheet, layout, capture)
        take = take_of(one, capture, sheet, signals)
    except (CaptureError, SheetError) as error:
        raise CaptureError(words.SHEET_CHANGED.format(why=str(error).rstrip("."))) from error
    named = capture.meta.sheet
    remarks = [words.OTHER_SHEET.format(was=named, now=sheet.name)] if named and named != sheet.name else []
    remarks += [] if whole else [words.TOO_LONG_TO_MARK]
    return Kept(result, sheet, take, " ".join(remarks), whole, one)


def _to_draw(control: str, sheet: Sheet, layout: Layout, capture: Capture) -> dict[str, Signal]:
    """The signals of one control, or of all, without their codes, read piece by piece: what a long recording is drawn
    from takes a third of the memory that measuring it would."""
    copied = {c.seen_as for c in sheet.controls if c.id == control}
    wanted = tuple(c for c in sheet.controls if control in ("", c.id) or c.id in copied)
    binding = bind(replace(sheet, controls=wanted), layout)
    block, room = capture.block, dict[str, _Room]()
    for first in range(0, len(block), PIECE):
        part = slice(first, first + PIECE)
        piece = ReportBlock(block.seq0 + first, block.t_ns[part], block.size[part], block.raw[part], block.lost)
        for name, signal in binding.signals(piece).items():
            room.setdefault(name, _Room(signal, len(block))).add(signal)
    return {name: one.signal(block.t_ns) for name, one in room.items()}


class _Room:
    """The arrays of a signal, with room for a value at each report, so that what is decoded in between can be let go of
    at once. Codes are left out."""

    def __init__(self, like: Signal, most: int) -> None:
        self._like, self._used = like, 0
        arrays = {name: getattr(like, name) for name in type(like).__slots__ if name not in CODES}
        self._arrays = {
            n: np.empty((most, *a.shape[1:]), a.dtype) for n, a in arrays.items() if isinstance(a, np.ndarray)
        }

    def add(self, signal: Signal) -> None:
        stop = self._used + len(signal.t_ns)
        for name, array in self._arrays.items():
            array[self._used : stop] = getattr(signal, name)
        self._used = stop

    def signal(self, all_t_ns: I64) -> Signal:
        """`all_t_ns`: of all reports; they are shared where each carried this control."""
        arrays: dict[str, Any] = {name: array[: self._used] for name, array in self._arrays.items()}
        if self._used == len(all_t_ns):
            arrays["t_ns"] = all_t_ns
        arrays |= {name: NONE for name in CODES if name in type(self._like).__slots__}
        return replace(self._like, **arrays)


CODES = ("x_code", "y_code", "code")
NONE = np.empty(0, dtype=np.int64)


def _read(sha256: str, captures: Path) -> Capture:
    name = f"{sha256}.npz"
    if not is_sha256(sha256):
        raise CaptureError(words.NONE_KEPT)
    path = next((p for p in places(captures, sha256, "captures") if p.exists()), None)
    if path is None:
        raise CaptureError(words.MISSING.format(name=name))
    try:
        return read_capture(path)
    except CaptureAltered:
        raise CaptureError(words.ALTERED.format(name=name)) from None
