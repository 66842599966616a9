"""Heads of a log that were noted elsewhere, read from where they were: a back-up or an export."""

from __future__ import annotations

import json
from contextlib import closing
from pathlib import Path

from station.errors import InputError
from station.records import chain
from station.records.chain import Head
from station.records.connection import connect, version_of
from station.records.faults import told_plainly
from station.words import records as words

_DATABASE = b"SQLite format 3\0"
_LONGEST_LINE = 1_000_000
EXPORT_FILE = "records.json"


def is_database(path: Path) -> bool:
    """Whether the file begins as a database does. Raises OSError."""
    with path.open("rb") as file:
        return file.read(len(_DATABASE)) == _DATABASE


def heads_in_backup(path: Path) -> tuple[Head, ...]:
    """Where the log ended when a back-up was made. Raises the RecordError family."""
    with told_plainly(path), closing(connect(path, read_only=True, busy_ms=0)) as db:
        return chain.heads(db) if version_of(db, path) else ()


def heads_in_export(path: Path) -> tuple[Head, ...]:
    """Where it ended when an export was made (its folder, or `records.json` in it). InputError if that is none.

    Exports of earlier versions hold no heads.
    """
    file_path = path / EXPORT_FILE if path.is_dir() else path
    try:
        with file_path.open("rb") as file:
            line = file.readline(_LONGEST_LINE)
        told = json.loads(line + b"}}")
        if told["format"] == "restpoint-export":
            return chain.heads_of(told.get("heads", ()))
    except OSError as error:
        raise InputError(words.NOTED_UNREADABLE.format(place=path, reason=error.strerror)) from error
    except (ValueError, KeyError, TypeError, RecursionError):
        pass
    raise InputError(words.NOTHING_NOTED.format(place=path))
