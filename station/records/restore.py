"""Put a back-up in the place of the records; what was there is set aside, never thrown away."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from station.errors import InputError, RecordCorrupt, RecordLocked
from station.records import shape
from station.records.backup import first_problem
from station.records.beside import is_begun_only
from station.records.connection import connect, version_of
from station.records.copies import copy_records, refuse_no_file
from station.records.faults import told_plainly
from station.records.files import sync_folder
from station.words import records as words

_BESIDE = ("-wal", "-shm")


def check_backup(backup: Path) -> None:
    """Raise unless the file is a sound back-up that this version can read, made as it makes them, with anything in
    it."""
    if not backup.is_file():
        raise InputError(words.NO_SUCH_BACK_UP.format(file=backup))
    refuse_no_file(backup)
    with told_plainly(backup):
        db = connect(backup, read_only=True, busy_ms=0)
        with closing(db):
            version = version_of(db, backup)
            found = shape.differences(db, version) if version else ()
            empty = not version or is_begun_only(db)
            problem = shape.told(found) if found else words.EMPTY if empty else first_problem(db)
    if problem:
        raise RecordCorrupt(words.BACK_UP_DAMAGED.format(file=backup, problem=problem))


def put_back(path: Path, backup: Path, at: str) -> Path | None:
    """Replace the closed records file `path` by the back-up; returns where the old one was set aside.

    RecordLocked if another program has the records open: it would go on writing into the file that was set aside.
    """
    check_backup(backup)
    with told_plainly(path):
        _only_we(path)
        temporary = path.with_name(".restore.part")
        temporary.unlink(missing_ok=True)
        copy_records(backup, temporary)
        with temporary.open("rb+") as file:
            os.fsync(file.fileno())
        aside = _set_aside(path, at)
        temporary.replace(path)
        sync_folder(path.parent)
    return aside


def _only_we(path: Path) -> None:
    """Leaving the write-ahead log needs the only connection: fails while another program has the file open."""
    if not path.exists():
        return
    try:
        with closing(sqlite3.connect(path, timeout=0.5, isolation_level=None)) as connection:
            mode = connection.execute("PRAGMA journal_mode = DELETE").fetchone()[0]
    except sqlite3.Error as fault:
        if getattr(fault, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            mode = "wal"
        else:
            return  # too damaged to ask; that is why a back-up is put back
    if mode == "wal":
        raise RecordLocked(words.OPEN_ELSEWHERE)


def _set_aside(path: Path, at: str) -> Path | None:
    """Move the file and what lies beside it into backups/."""
    if not path.exists():
        return None
    folder = path.parent / "backups"
    folder.mkdir(exist_ok=True)
    stem = f"restpoint-{at[:10]}-before-restore"
    target, number = folder / f"{stem}.db", 2
    while target.exists():
        target, number = folder / f"{stem}-{number}.db", number + 1
    for suffix in _BESIDE:
        beside = path.with_name(path.name + suffix)
        if beside.exists():
            beside.replace(target.with_name(target.name + suffix))
    path.replace(target)
    return target
