"""The journal's reading half: what a visit left on disk, whole or cut short by a crash.

A torn tail is normal (the process was killed, the power failed) and costs only itself. The writing half
stands in `capture.journal_writer`, where the file's form is described.
"""

from __future__ import annotations

import json
import os
import struct
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from station.capture.file import mark_object, parse_mark
from station.capture.journal_writer import FRAME, HEAD, MAGIC, MAX_PAYLOAD, NOTE, REPORTS, JournalWriter
from station.capture.regular import read_regular
from station.capture.types import (
    MAX_DESCRIPTOR,
    MAX_REPORT,
    MAX_REPORT_BYTES,
    MAX_REPORTS,
    Capture,
    CaptureMeta,
    Mark,
    check_block,
    check_meta,
)
from station.errors import CaptureError
from station.hid.types import ReportBlock
from station.words import captures as words

__all__ = ["JournalWriter", "join_captures", "journal_header", "note_mark", "read_journal"]

_Batch = tuple[NDArray[np.int64], NDArray[np.uint16], NDArray[np.uint8]]


def journal_header(meta: CaptureMeta, descriptor: bytes) -> dict[str, object]:
    """The header that a JournalWriter wants."""
    return {"format": "restpoint-journal", "version": 1, "descriptor": descriptor.hex(), **asdict(check_meta(meta))}


def read_journal(path: str | os.PathLike[str]) -> Capture:
    """The journal as a capture, with the marks noted in it; whatever follows the last whole frame is left out.

    CaptureError when the file cannot be opened, is no journal, or is larger than a capture may be.
    """
    name = Path(path).name
    try:
        if os.path.getsize(path) > 2 * MAX_REPORT_BYTES:
            raise CaptureError(words.JOURNAL_TOO_LARGE.format(name=name))
        data = read_regular(Path(path), 2 * MAX_REPORT_BYTES)
    except OSError as error:
        reason = error.strerror or words.UNREADABLE
        raise CaptureError(words.JOURNAL_CANNOT_OPEN.format(name=name, reason=reason)) from error
    try:
        return _capture(_frames(data))
    except CaptureError as error:
        raise CaptureError(words.IN_FILE.format(name=name, message=error)) from None


def join_captures(parts: Sequence[Capture]) -> Capture:
    """One capture from parts on one clock (the journals of a unit that was unplugged in between).

    The first part gives descriptor and meta; lost reports add up. CaptureError when there are no parts,
    when they are of different devices, or when the times run backwards.
    """
    if not parts:
        raise CaptureError(words.NOTHING_TO_JOIN)
    first = parts[0]
    if any((p.meta.vendor_id, p.meta.product_id) != (first.meta.vendor_id, first.meta.product_id) for p in parts):
        raise CaptureError(words.DIFFERENT_DEVICES)
    block = _joined([(p.block.t_ns, p.block.size, p.block.raw) for p in parts], sum(p.block.lost for p in parts))
    marks = tuple(mark for part in parts for mark in part.marks)
    return Capture(first.descriptor, block, replace(first.meta, lost=block.lost), marks)


def _frames(data: bytes) -> Iterator[tuple[bytes, memoryview]]:
    """Tag and payload of each whole frame."""
    if data[: len(MAGIC)] != MAGIC:
        raise CaptureError(words.NOT_A_JOURNAL)
    view, at = memoryview(data), len(MAGIC)
    while at + FRAME.size <= len(data):
        tag, length, crc = FRAME.unpack_from(data, at)
        payload = view[at + FRAME.size : at + FRAME.size + length]
        if length > MAX_PAYLOAD or len(payload) < length or zlib.crc32(payload) != crc:
            return
        yield tag, payload
        at += FRAME.size + length


def _capture(frames: Iterator[tuple[bytes, memoryview]]) -> Capture:
    tag, payload = next(frames, (b"", memoryview(b"")))
    if tag != HEAD:
        raise CaptureError(words.JOURNAL_EMPTY)
    descriptor, meta = _parse_header(bytes(payload))
    batches: list[_Batch] = []
    marks: list[Mark] = []
    lost = 0
    for tag, payload in frames:
        if tag == REPORTS:
            batches.append(_parse_reports(payload))
        elif tag == NOTE:
            lost = max(lost, _parse_lost(bytes(payload)))
            marks += _parse_mark(bytes(payload))
    return Capture(descriptor, _joined(batches, lost), replace(meta, lost=lost), tuple(marks))


def _parse_header(payload: bytes) -> tuple[bytes, CaptureMeta]:
    try:
        found: dict[str, Any] = json.loads(payload)
        if found.pop("format") != "restpoint-journal" or found.pop("version") != 1:
            raise CaptureError(words.JOURNAL_VERSION)
        descriptor = bytes.fromhex(found.pop("descriptor"))
        meta = check_meta(CaptureMeta(**found))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        raise CaptureError(words.JOURNAL_HEAD) from None
    if len(descriptor) > MAX_DESCRIPTOR:
        raise CaptureError(words.JOURNAL_DESCRIPTOR)
    return descriptor, meta


def _parse_lost(payload: bytes) -> int:
    try:
        lost = json.loads(payload).get("lost", 0)
        return min(max(int(lost), 0), 2**62)
    except (ValueError, TypeError, AttributeError, OverflowError, RecursionError):
        return 0


def note_mark(journal: JournalWriter, mark: Mark) -> None:
    """Remember a mark for the next flush."""
    journal.note(mark=mark_object(mark))


def _parse_mark(payload: bytes) -> tuple[Mark, ...]:
    try:
        return (parse_mark(json.loads(payload)["mark"]),)
    except (CaptureError, ValueError, TypeError, KeyError, RecursionError):
        return ()


def _parse_reports(payload: memoryview) -> _Batch:
    """Stamps, sizes and zero-padded rows of one frame."""
    bad = CaptureError(words.JOURNAL_CONTRADICTS)
    if len(payload) < 4:
        raise bad
    (n,) = struct.unpack_from("<I", payload)
    if len(payload) < 4 + 10 * n:
        raise bad
    t_ns = np.frombuffer(payload, "<i8", n, 4).astype(np.int64)
    size = np.frombuffer(payload, "<u2", n, 4 + 8 * n).astype(np.uint16)
    body = np.frombuffer(payload, np.uint8, offset=4 + 10 * n)
    if int(size.sum(dtype=np.int64)) != len(body) or (n and int(size.max()) > MAX_REPORT):
        raise bad
    width = int(size.max()) if n else 0
    raw = np.zeros((n, width), np.uint8)
    raw[np.arange(width) < size[:, None]] = body
    return t_ns, size, raw


def _joined(batches: Iterable[_Batch], lost: int) -> ReportBlock:
    """One checked block of all batches, padded to the widest."""
    batches = list(batches)
    n = sum(len(t) for t, _, _ in batches)
    width = max((raw.shape[1] for _, _, raw in batches), default=0)
    if n > MAX_REPORTS or n * width > MAX_REPORT_BYTES:
        raise CaptureError(words.RECORDING_TOO_LARGE)
    t_ns, size, raw = np.zeros(n, np.int64), np.zeros(n, np.uint16), np.zeros((n, width), np.uint8)
    at = 0
    for part_t, part_size, part_raw in batches:
        rows = slice(at, at + len(part_t))
        t_ns[rows], size[rows], raw[rows, : part_raw.shape[1]] = part_t, part_size, part_raw
        at += len(part_t)
    return check_block(ReportBlock(0, t_ns, size, raw, lost))
