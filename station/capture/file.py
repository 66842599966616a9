"""The capture file, version 1 (docs/formats.md, "Captures"): a NumPy `.npz` that anybody can make or read.

Chosen because it needs no reader of our own: `numpy.load(path, allow_pickle=False)` shows everything.
Our own reader (`capture.npz`) is stricter, since a capture may come from anybody. Written bytes depend on
the content alone, so the SHA-256 of a capture names its evidence.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import tempfile
from pathlib import Path
from typing import IO, Any, BinaryIO, NoReturn, cast

import numpy as np

from station.capture import npz
from station.capture.regular import open_regular
from station.capture.types import (
    MAX_DESCRIPTOR,
    MAX_MARKS,
    MAX_META_CHARS,
    MAX_REPORT_BYTES,
    MAX_REPORTS,
    Capture,
    CaptureMeta,
    Mark,
    check_block,
    check_mark,
    check_meta,
)
from station.errors import CaptureAltered, CaptureError
from station.hid.types import ReportBlock
from station.words import captures as words
from station.words import grammar

__all__ = [
    "Capture",
    "CaptureMeta",
    "Mark",
    "capture_sha256",
    "make_block",
    "read_capture",
    "read_descriptor",
    "save_capture",
    "write_capture",
]

FORMAT = "restpoint-capture"
_KEPT = re.compile(r"[0-9a-f]{64}\.npz")
VERSION = 1
_WANTED = {
    "descriptor": npz.Wanted("u", 1, 1, MAX_DESCRIPTOR),
    "time_ns": npz.Wanted("i", 8, 1, 8 * MAX_REPORTS),
    "size": npz.Wanted("u", 2, 1, 2 * MAX_REPORTS),
    "report": npz.Wanted("u", 1, 2, MAX_REPORT_BYTES),
    "meta": npz.Wanted("U", 0, 0, 4 * MAX_META_CHARS),
}


def make_block(t_ns: list[int], reports: list[bytes], seq0: int = 0, lost: int = 0) -> ReportBlock:
    """A block from a list of reports, zero-padded to the longest (for tests and small recordings)."""
    width = max(map(len, reports), default=0)
    raw = np.frombuffer(b"".join(r.ljust(width, b"\0") for r in reports), dtype=np.uint8)
    return ReportBlock(
        seq0,
        np.array(t_ns, dtype=np.int64),
        np.array([len(r) for r in reports], dtype=np.uint16),
        raw.reshape(len(reports), width),
        lost,
    )


def capture_sha256(data: bytes) -> str:
    """The SHA-256 of a capture file's bytes, in hexadecimal: its name as evidence."""
    return hashlib.sha256(data).hexdigest()


def read_capture(source: str | os.PathLike[str] | bytes) -> Capture:
    """The capture in a file (a path) or in its bytes.

    One that is named by its SHA-256, as the records keep it, is compared with that: CaptureAltered if it is another.
    Raises CaptureError with one sentence when it is not a capture, is damaged, is larger than the caps of
    `capture.types`, or contradicts itself. Nothing is unpickled and nothing is allocated unbounded.
    """
    if isinstance(source, bytes):
        return _read(io.BytesIO(source))
    path = Path(source)
    try:
        with open_regular(path) as file:
            _same_as_kept(path, file)
            return _read(file)
    except CaptureError as error:
        raise type(error)(words.IN_FILE.format(name=path.name, message=error)) from None
    except OSError as error:
        reason = error.strerror or words.UNREADABLE
        raise CaptureError(words.CANNOT_OPEN.format(name=path.name, reason=reason)) from error


def read_descriptor(path: Path) -> bytes:
    """The descriptor in a capture file, without its reports; b"" where it has none. CaptureError as for a capture; what
    its name says of its bytes is not looked at."""
    try:
        with open_regular(path) as file, npz.open_directory(file) as archive:
            return npz.read_member(archive, "descriptor", _WANTED["descriptor"]).tobytes()
    except OSError as error:
        reason = error.strerror or words.UNREADABLE
        raise CaptureError(words.CANNOT_OPEN.format(name=path.name, reason=reason)) from error


def _same_as_kept(path: Path, file: BinaryIO) -> None:
    """A file that bears a SHA-256 as its name was kept as evidence: CaptureAltered if it is not that one any more."""
    if _KEPT.fullmatch(path.name) is None:
        return
    if file.seek(0, io.SEEK_END) <= npz.MAX_FILE:  # a larger one is refused for that
        file.seek(0)
        if hashlib.file_digest(cast("io.BufferedReader", file), "sha256").hexdigest() != path.stem:
            raise CaptureAltered(words.ALTERED)
    file.seek(0)


def write_capture(capture: Capture) -> bytes:
    """The bytes of the capture file. CaptureError if the capture breaks a rule of the format."""
    block, meta = check_block(capture.block), check_meta(capture.meta)
    marks = tuple(check_mark(mark) for mark in capture.marks)
    if len(capture.descriptor) > MAX_DESCRIPTOR or len(marks) > MAX_MARKS:
        raise CaptureError(words.TOO_MUCH_BESIDE)
    text = json.dumps(_meta_object(meta, marks), ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return npz.pack(
        {
            "descriptor": np.frombuffer(capture.descriptor, dtype=np.uint8),
            "time_ns": block.t_ns.astype("<i8", copy=False),
            "size": block.size.astype("<u2", copy=False),
            "report": block.raw,
            "meta": np.array(text, dtype=f"<U{len(text)}"),
        }
    )


def save_capture(path: str | os.PathLike[str], capture: Capture) -> str:
    """Write the capture so that `path` is either as before or whole; returns its SHA-256."""
    data = write_capture(capture)
    target = Path(path)
    try:
        with tempfile.NamedTemporaryFile(dir=target.parent, prefix=".capture-", delete=False) as temporary:
            try:
                temporary.write(data)
                temporary.flush()
                os.fsync(temporary.fileno())
                temporary.close()
                os.replace(temporary.name, target)
            except BaseException:
                temporary.close()
                Path(temporary.name).unlink(missing_ok=True)
                raise
    except OSError as error:
        reason = error.strerror or words.NO_REASON
        raise CaptureError(words.CANNOT_SAVE.format(name=target.name, reason=reason)) from error
    return capture_sha256(data)


def _read(file: IO[bytes]) -> Capture:
    with npz.open_directory(file) as archive:
        arrays = {name: npz.read_member(archive, name, _WANTED[name]) for name in ("meta", "descriptor")}
        meta, marks = _parse_meta(str(arrays["meta"][()]))
        for name in ("time_ns", "size", "report"):
            arrays[name] = npz.read_member(archive, name, _WANTED[name])
    block = ReportBlock(0, arrays["time_ns"], arrays["size"], arrays["report"], meta.lost)
    return Capture(arrays["descriptor"].tobytes(), check_block(block), meta, marks)


def _meta_object(meta: CaptureMeta, marks: tuple[Mark, ...]) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "version": VERSION,
        "vendor_id": meta.vendor_id,
        "product_id": meta.product_id,
        "product": meta.product,
        "serial": meta.serial,
        "bus": meta.bus,
        "started_at": meta.started_at,
        "sheet": meta.sheet,
        "lost": meta.lost,
        "marks": [mark_object(mark) for mark in marks],
    }


_MARK_MORE = ("witness", "mass_g", "level_pct", "step_pct")
"""what only some marks have"""


def mark_object(mark: Mark) -> dict[str, Any]:
    """The mark as JSON."""
    shown = {"time_ns": mark.time_ns, "event": mark.event, "check": mark.check, "control": mark.control}
    given = {name: getattr(mark, name) for name in _MARK_MORE}
    return shown | {name: value for name, value in given.items() if value is not None}


def _refuse_constant(name: str) -> NoReturn:
    raise ValueError(name)


def _parse_meta(text: str) -> tuple[CaptureMeta, tuple[Mark, ...]]:
    try:
        found = json.loads(text, parse_constant=_refuse_constant)
    except (ValueError, RecursionError):
        raise CaptureError(words.NOT_JSON) from None
    if not isinstance(found, dict) or found.get("format") != FORMAT:
        raise CaptureError(words.NOT_A_CAPTURE)
    if found.get("version") != VERSION:
        raise CaptureError(words.UNKNOWN_VERSION)
    given = {name: found[name] for name in CaptureMeta.__dataclass_fields__ if name in found}
    if missing := {"vendor_id", "product_id"} - given.keys():
        raise CaptureError(words.META_LACKS.format(names=grammar.listed(sorted(missing))))
    listed = found.get("marks", [])
    if not isinstance(listed, list) or len(listed) > MAX_MARKS:
        raise CaptureError(words.MARKS_NO_LIST.format(most=MAX_MARKS))
    return check_meta(CaptureMeta(**given)), tuple(parse_mark(item) for item in listed)


def parse_mark(item: object) -> Mark:
    """The mark that a JSON object gives; CaptureError if it is none."""
    if not isinstance(item, dict) or not {"time_ns", "event", "check", "control"} <= item.keys():
        raise CaptureError(words.MARK_INCOMPLETE)
    what = (item["time_ns"], item["event"], item["check"], item["control"])
    return check_mark(Mark(*what, *(item.get(name) for name in _MARK_MORE)))
