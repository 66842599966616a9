"""Back-ups: whole copies of the database by SQLite's online back-up, checked before they count.

https://www.sqlite.org/backup.html: the copy is a picture of one moment, others go on reading and writing meanwhile.
Copying the file by hand would miss what still lies in the write-ahead log beside it.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from station.errors import RecordCorrupt
from station.records.files import sync_folder
from station.words import records as words

KEPT_DAILY = 14


def back_up(db: sqlite3.Connection, folder: Path, label: str, at: str) -> Path:
    """Write folder/restpoint-<date>-<label>.db (a number is added if it is there) and return it.

    Raises sqlite3.Error, OSError, and RecordCorrupt if the copy does not stand its check (nor would the original).
    """
    folder.mkdir(parents=True, exist_ok=True)
    temporary = folder / f".restpoint-{label}.part"
    temporary.unlink(missing_ok=True)
    try:
        with closing(sqlite3.connect(temporary, isolation_level=None)) as copy:
            db.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, nothing beside it
            problem = first_problem(copy)
        if problem:
            raise RecordCorrupt(words.NO_BACK_UP_MADE.format(problem=problem))
        with temporary.open("rb+") as file:
            os.fsync(file.fileno())
        target = _free_name(folder, f"restpoint-{at[:10]}-{label}")
        temporary.replace(target)
        sync_folder(folder)
    finally:
        temporary.unlink(missing_ok=True)
    return target


def _free_name(folder: Path, stem: str) -> Path:
    target, number = folder / f"{stem}.db", 2
    while target.exists():
        target, number = folder / f"{stem}-{number}.db", number + 1
    return target


def first_problem(connection: sqlite3.Connection) -> str:
    """What PRAGMA integrity_check and foreign_key_check find first; empty if the file is sound."""
    found = str(connection.execute("PRAGMA integrity_check(1)").fetchone()[0])
    if found != "ok":
        return found
    broken = connection.execute("PRAGMA foreign_key_check").fetchone()
    return words.BROKEN_REFERENCE.format(table=broken[0], other=broken[2]) if broken else ""


def daily(folder: Path, today: str) -> Path | None:
    """Today's back-up, if it was made."""
    path = folder / f"restpoint-{today}-daily.db"
    return path if path.exists() else None


def prune(folder: Path) -> None:
    """Keep the newest 14 daily back-ups; others (before a migration, before a restore) stay."""
    for old in sorted(folder.glob("restpoint-????-??-??-daily.db"))[:-KEPT_DAILY]:
        old.unlink(missing_ok=True)
