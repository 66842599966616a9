"""The journal's writing half: reports to disk as they arrive, in a form that a crash cannot spoil.

Only the standard library and words, because the reader process imports it and must start fast.

File: 8 magic bytes, then frames `tag[4] length:u32 crc32:u32 payload`, little-endian.
`HEAD` (first): JSON, the capture's meta and its descriptor in hexadecimal. `REPT`: `n:u32`, n stamps (i64),
n sizes (u16), then the bytes of the n reports one after the other. `NOTE`: JSON, later facts such as `lost`.

Why frames of many reports and not one for each: one checksum and one system call ten times a second cost
next to nothing, and what a kill can lose is bounded by the time between two flushes either way.
`append` never touches the disk; `flush` may, and is meant for a thread of its own.
"""

from __future__ import annotations

import json
import os
import struct
import zlib
from array import array
from collections import deque
from collections.abc import Callable, Mapping

from station.words import captures as words

MAGIC = b"RPJRNL\r\n"
FRAME = struct.Struct("<4sII")
HEAD, REPORTS, NOTE = b"HEAD", b"REPT", b"NOTE"
MAX_PAYLOAD = 64 << 20
FLUSH_EVERY_S = 0.1
SYNC_EVERY_S = 1.0
MAX_BATCH = 1024
"""reports of one frame: small enough that a nearly full disk still takes some"""
MAX_WAITING = 2_000_000
"""reports kept in memory while the disk takes nothing (over 4 minutes at 8 kHz)"""


def frame(tag: bytes, payload: bytes) -> bytes:
    """One frame with its checksum."""
    return FRAME.pack(tag, len(payload), zlib.crc32(payload)) + payload


class JournalWriter:
    """Append-only journal. One thread appends, one (or the same) flushes.

    The constructor raises OSError when the file cannot be made or exists: evidence is never overwritten.
    Later trouble is no exception: `problem` holds the system's word until a flush succeeds again, and
    nothing that waits is thrown away before `MAX_WAITING` reports.
    """

    def __init__(
        self,
        path: str | os.PathLike[str],
        header: Mapping[str, object],
        *,
        write: Callable[[int, bytes], int] = os.write,
    ) -> None:
        self._file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
        self._write = write
        self._good = 0
        self._waiting: deque[tuple[int, bytes]] = deque(maxlen=MAX_WAITING)
        self._frames: deque[bytes] = deque([MAGIC + frame(HEAD, json.dumps(dict(header)).encode())])
        self.problem = ""
        self.flush()

    def append(self, t_ns: int, report: bytes) -> None:
        """Remember a report for the next flush."""
        self._waiting.append((t_ns, report))

    def note(self, **facts: object) -> None:
        """Remember a later fact, e.g. `lost=3`."""
        self._frames.append(frame(NOTE, json.dumps(facts).encode()))

    def flush(self, *, sync: bool = False) -> bool:
        """Hand everything that waits to the system (and to the disk with `sync`); False when it would not go."""
        try:
            while self._frames or self._waiting:
                if not self._frames:
                    self._frames.append(self._report_frame())
                self._write_all(self._frames[0])
                self._frames.popleft()
            if sync:
                os.fsync(self._file)
        except OSError as error:
            self.problem = error.strerror or words.NO_REASON
            self._cut_torn_frame()
            return False
        self.problem = ""
        return True

    def close(self) -> None:
        """Flush, sync and close; what the disk still refuses is lost (`problem` says so)."""
        self.flush(sync=True)
        os.close(self._file)

    def _report_frame(self) -> bytes:
        batch = [self._waiting.popleft() for _ in range(min(len(self._waiting), MAX_BATCH))]
        stamps = array("q", [t for t, _ in batch])
        sizes = array("H", [len(report) for _, report in batch])
        payload = struct.pack("<I", len(batch)) + stamps.tobytes() + sizes.tobytes() + b"".join(r for _, r in batch)
        return frame(REPORTS, payload)

    def _write_all(self, data: bytes) -> None:
        done = 0
        while done < len(data):
            done += self._write(self._file, data[done:] if done else data)
        self._good += len(data)

    def _cut_torn_frame(self) -> None:
        """Back to the end of the last whole frame, so that frames written later can be read."""
        try:
            os.ftruncate(self._file, self._good)
            os.lseek(self._file, self._good, os.SEEK_SET)
        except OSError:
            pass
