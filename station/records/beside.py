"""What lies beside a records file: captures, certificates and back-ups say whether records that hold nothing are new.

A file that was emptied or is gone must not be opened as new: the day after, back-ups of nothing would begin.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

from station.capture.regular import is_regular
from station.errors import RecordCorrupt
from station.records.backup import entries_in, held_in
from station.words import records as words


def refuse_as_new(path: Path) -> None:
    """RecordCorrupt when there are no records at `path` and something of theirs lies beside it."""
    _refuse(path, words.RECORDS_MISSING)


def refuse_emptied(db: sqlite3.Connection, path: Path) -> None:
    """The same of a file that is there and holds nothing."""
    if is_begun_only(db):
        _refuse(path, words.RECORDS_EMPTIED)


def is_begun_only(db: sqlite3.Connection) -> bool:
    """Whether the log has nothing but its own beginning."""
    return entries_in(db) == 0


def _refuse(path: Path, sentence: str) -> None:
    if (found := next(_left_of_records(path.parent), "")) == "":
        return
    backups = [backup.name for backup in _holding(path.parent)]
    way_out = words.RESTORE_THAT.format(name=backups[0]) if backups else words.NO_BACK_UP_HOLDS
    raise RecordCorrupt(sentence.format(file=path, found=found, way_out=way_out))


def _left_of_records(folder: Path) -> Iterator[str]:
    """The folders that hold what only records with entries bring about."""
    if next(_holding(folder), None):
        yield "backups"
    for name, pattern in (("captures", "*/*/*.npz"), ("photos", "*/*/*.*"), ("certificates", "*.pdf")):
        if any(not file.name.startswith(".") for file in (folder / name).glob(pattern)):
            yield name


def _holding(folder: Path) -> Iterator[Path]:
    """The back-ups that hold anything, newest first."""
    for backup in sorted((folder / "backups").glob("restpoint-*.db"), reverse=True):
        if is_regular(backup) and (held := held_in(backup)) is not None and held.entries:
            yield backup
