"""SQLite's and the file system's errors as our own, by code, each with a sentence that says what to do.

Codes: https://www.sqlite.org/rescode.html (primary code = the low byte of an extended one).
"""

from __future__ import annotations

import errno
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from station.errors import RecordCorrupt, RecordError, RecordFull, RecordLocked, RecordRefused
from station.words import records as words

_LOCKED = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_PROTOCOL}
_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT}
_UNWRITABLE = {sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH}
_REFUSED = {sqlite3.SQLITE_CONSTRAINT, sqlite3.SQLITE_MISMATCH, sqlite3.SQLITE_TOOBIG}
_VALUE_REFUSED = "binding"
"""the module gives no code for a value that is of no SQL type, only "Error binding parameter 3" (CPython, _sqlite)"""
_MOST_TOLD = 200
_LEAST_ROOM = 65_536
"""bytes that SQLite needs beside a file to open it: the log's index grows by half of that"""
_NO_ROOM = {errno.ENOSPC, errno.EDQUOT}
_NO_WRITE = {errno.EACCES, errno.EPERM, errno.EROFS}


def record_error(fault: sqlite3.Error, path: Path) -> RecordError:
    """The error to raise for an error of SQLite on the file `path`."""
    code = getattr(fault, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    if code in _LOCKED:
        return RecordLocked(words.LOCKED.format(folder=path.parent))
    if code == sqlite3.SQLITE_FULL:
        return no_room(path)
    if code in _DAMAGED:
        return damaged(path)
    if code in _UNWRITABLE:
        return not_writable(path)
    if code == sqlite3.SQLITE_IOERR:
        if _is_full(path.parent):  # so says a disk without room for the memory that the log's readers share
            return no_room(path)
        return RecordError(words.DISK_ERROR.format(folder=path.parent, fault=fault))
    if code in _REFUSED or _VALUE_REFUSED in str(fault):
        return RecordRefused(words.REFUSED.format(fault=fault))
    return RecordError(words.NOT_USABLE.format(fault=" ".join(str(fault).split())[:_MOST_TOLD]))


def _is_full(folder: Path) -> bool:
    try:
        return shutil.disk_usage(folder).free < _LEAST_ROOM
    except OSError:
        return False


def no_room(path: Path) -> RecordFull:
    return RecordFull(words.NO_ROOM.format(folder=path.parent))


def damaged(path: Path) -> RecordCorrupt:
    return RecordCorrupt(words.DAMAGED.format(file=path, backups=path.parent / "backups"))


def not_writable(path: Path) -> RecordError:
    return RecordError(words.NOT_WRITABLE.format(folder=path.parent))


def file_error(fault: OSError, path: Path) -> RecordError:
    """The error to raise for an error of the file system on the file `path`."""
    if fault.errno in _NO_ROOM:
        return no_room(path)
    if fault.errno in _NO_WRITE:
        return not_writable(path)
    return RecordError(
        words.FILE_NOT_USABLE.format(file=fault.filename2 or fault.filename or path, fault=fault.strerror)
    )


@contextmanager
def told_plainly(path: Path) -> Iterator[None]:
    """Translate what SQLite or the file system raises inside the block."""
    try:
        yield
    except sqlite3.Error as fault:
        raise record_error(fault, path) from fault
    except UnicodeDecodeError as fault:  # the module cannot even say what SQLite found
        raise damaged(path) from fault
    except OSError as fault:
        raise file_error(fault, path) from fault
