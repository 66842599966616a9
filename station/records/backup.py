"""Back-ups: whole copies of the database by SQLite's online back-up, checked before they count.

https://www.sqlite.org/backup.html: the copy is a picture of one moment, others go on reading and writing meanwhile.
Copying the file by hand would miss what still lies in the write-ahead log beside it.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from station.errors import RecordCorrupt
from station.records.chain import Logged
from station.records.files import sync_folder
from station.words import records as words

KEPT = 14
DAILY, BEFORE_MERGE = "daily", "before-merge"
_GROWING = ("lots", "units", "visits", "results", "readings", "findings", "treatments", "notes", "overrides",
            "shelf_parts", "shelf_moves", "withdrawals", "certificates", "log")  # fmt: skip


_CAME_LATER = ("withdrawals", "certificates")
"""tables that a back-up of an earlier version has not"""


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
        return " ".join(found.split())
    broken = connection.execute("PRAGMA foreign_key_check").fetchone()
    return words.BROKEN_REFERENCE.format(table=broken[0], other=broken[2]) if broken else ""


def daily(folder: Path, today: str) -> Path | None:
    """Today's back-up, if it was made."""
    path = folder / f"restpoint-{today}-{DAILY}.db"
    return path if path.exists() else None


@dataclass(frozen=True, slots=True)
class Held:
    """What a back-up holds: rows of every table that only grows, and how far each log goes."""

    counts: Mapping[str, int]
    heads: frozenset[tuple[str, int, str]]
    """bench, number and hash of the last entry"""

    @property
    def entries(self) -> int:
        return self.counts["log"]


def entries_in(db: sqlite3.Connection) -> int:
    """How many entries the log has that tell of something that was done: not how it begins. Raises sqlite3.Error."""
    begun = f'"what":"{Logged.BENCH_BEGUN}"'
    found = db.execute("SELECT count(*) FROM log WHERE NOT instr(event, ?)", (begun,)).fetchone()
    return int(found[0])


def _count(db: sqlite3.Connection, table: str) -> int:
    return int(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


def held_in(path: Path) -> Held | None:
    """What the file holds; None if it cannot be read as records."""
    try:
        with closing(_open(path)) as db:
            there = {row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            counts = {table: _count(db, table) for table in _GROWING if table in there or table not in _CAME_LATER}
            counts["log"] = entries_in(db)
            heads = db.execute("SELECT bench_id, max(seq), hash FROM log GROUP BY bench_id")
            return Held(counts, frozenset((str(b), int(n), str(h)) for b, n, h in heads))
    except (sqlite3.Error, OSError, TypeError, ValueError):
        return None


def holds_all(path: Path, old: Held) -> bool:
    """Whether the file has every entry and at least as many rows as `old`."""
    if (here := held_in(path)) is None or any(here.counts.get(table, 0) < n for table, n in old.counts.items()):
        return False
    with closing(_open(path)) as db:
        there = "SELECT 1 FROM log WHERE bench_id = ? AND seq = ? AND hash = ?"
        return all(db.execute(there, head).fetchone() for head in old.heads)


def _open(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", isolation_level=None, uri=True)


def prune(folder: Path) -> None:
    """Keep the newest 14 back-ups of each kind that comes often (daily, before a merge), and any older one that holds
    what none of those has; one that cannot be read is kept too. Others (before a migration or a restore) stay."""
    for kind in (DAILY, BEFORE_MERGE):
        made = sorted(folder.glob(f"restpoint-????-??-??-{kind}*.db"), key=_made)
        for old in made[:-KEPT]:
            held = held_in(old)
            if held is not None and any(holds_all(newer, held) for newer in reversed(made[-KEPT:])):
                old.unlink(missing_ok=True)


def _made(path: Path) -> tuple[str, int]:
    """Day and number of a back-up, by its name."""
    number = path.stem.rpartition("-")[2]
    return path.stem[:20], int(number) if number.isdecimal() else 1
