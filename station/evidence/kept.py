"""The reports that were kept with a result, read again: whole and unaltered, or one sentence that says why not."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from station.capture.file import read_capture
from station.capture.types import Capture
from station.checks.types import Take
from station.errors import CaptureAltered, CaptureError, SheetError
from station.evidence.fitting import layout_of
from station.evidence.tries import take_of, tries_of
from station.records.files import is_sha256, places
from station.records.types import Result
from station.sheets.bind import bind
from station.sheets.model import Sheet
from station.words import evidence_room as words


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """A result and the take that its reports give. `remark`: what may be other than when it was recorded."""

    result: Result
    sheet: Sheet
    take: Take
    remark: str = ""


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
        signals = bind(sheet, layout_of(capture)).signals(capture.block)
        take = take_of(one, capture, sheet, signals)
    except (CaptureError, SheetError) as error:
        raise CaptureError(words.SHEET_CHANGED.format(why=str(error).rstrip("."))) from error
    named = capture.meta.sheet
    remark = words.OTHER_SHEET.format(was=named, now=sheet.name) if named and named != sheet.name else ""
    return Kept(result, sheet, take, remark)


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
