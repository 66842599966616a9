"""A copy of a records file that somebody else may be writing, or may have made to do harm: bounded in size and time."""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from station.capture.regular import is_regular, open_regular
from station.errors import InputError
from station.records.connection import connect
from station.records.faults import no_room
from station.words import records as words

MOST_BYTES = 8_000_000_000
"""of the other records; a bench writes some hundred megabytes in a year"""
MOST_VALUE_BYTES = 4_000_000
MOST_MINUTES = 10
_BESIDE = ("-wal", "-shm", "-journal")
_NO_LOG = b"\x01\x01"
"""bytes 18 and 19 of a file that keeps no write-ahead log (https://www.sqlite.org/fileformat.html)"""


def database_in(other: Path, file_name: str) -> Path:
    """The database file of a records folder, or the file itself. InputError if there is none, or it is no file."""
    path = other / file_name if other.is_dir() else other
    if not path.exists():
        raise InputError(words.NO_OTHER_RECORDS.format(place=other))
    refuse_no_file(path)
    return path


def refuse_no_file(path: Path) -> None:
    """InputError if it, or what SQLite keeps beside it, is a pipe, a device or a folder."""
    for file in (path, *(path.with_name(path.name + suffix) for suffix in _BESIDE)):
        if os.path.lexists(file) and not is_regular(file):
            raise InputError(words.OTHER_NOT_ORDINARY.format(file=file))


@contextmanager
def bounded(db: sqlite3.Connection, path: Path) -> Iterator[None]:
    """No value of more than a few megabytes is loaded inside the block, and nothing takes more than MOST_MINUTES."""
    until = time.monotonic() + 60 * MOST_MINUTES
    before = db.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, MOST_VALUE_BYTES)
    db.set_progress_handler(lambda: time.monotonic() > until, 100_000)
    try:
        yield
    except sqlite3.OperationalError as fault:
        if getattr(fault, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_INTERRUPT:
            raise InputError(words.OTHER_TAKES_TOO_LONG.format(file=path, minutes=MOST_MINUTES)) from fault
        raise
    finally:
        db.set_progress_handler(None, 0)
        db.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, before)


def need_room(path: Path, beside: Path) -> None:
    """InputError if the file is too large for anybody; RecordFull if our disk has no room for a copy of it."""
    log = path.with_name(path.name + "-wal")
    size = path.stat().st_size + (log.stat().st_size if log.exists() else 0)
    if size > MOST_BYTES:
        raise InputError(words.OTHER_TOO_LARGE.format(file=path, most=MOST_BYTES // 10**9))
    if shutil.disk_usage(beside).free < 2 * size:
        raise no_room(beside / path.name)


def copy_records(path: Path, copy: Path) -> None:
    """By SQLite's back-up where others may be writing; a file that nobody has open (a back-up, a shared folder) as it
    is, without its locks; so too where SQLite cannot open it (a write-protected stick), with the log beside it."""
    log = path.with_name(path.name + "-wal")
    with open_regular(path) as file:
        head = file.read(20)
    is_still = head[18:20] == _NO_LOG and not path.with_name(path.name + "-journal").exists()
    if not is_still:
        try:
            source = connect(path, read_only=True, busy_ms=5000)
        except sqlite3.OperationalError:
            pass
        else:
            with closing(source), closing(sqlite3.connect(copy)) as target:
                source.backup(target)
            return
    for source_file, target_file in ((path, copy), (log, copy.with_name(copy.name + "-wal"))):
        if source_file is path or source_file.exists():
            _copy_file(source_file, target_file)


def _copy_file(path: Path, copy: Path) -> None:
    """Not more than MOST_BYTES, however it grows meanwhile."""
    left = MOST_BYTES
    with open_regular(path) as source, copy.open("xb") as target:
        while left > 0 and (piece := source.read(min(left, 1 << 20))):
            target.write(piece)
            left -= len(piece)
