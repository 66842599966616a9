"""Join the records of another bench into these: rows by their ids, files by their hashes, logs side by side.

A row that is here already is not added again, so merging twice changes nothing. Of a lot or unit that both know, the
later change holds (the other stays in the log); of a rest date the later one. A visit whose number another visit of
the unit has gets the next free number. Settings stay those of this bench.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from station.capture.text import visible
from station.errors import InputError, RecordCorrupt
from station.records import files
from station.records.backup import first_problem
from station.records.connection import connect, version_of
from station.records.entries import GONE
from station.records.faults import told_plainly
from station.records.schema import migrate, newest_version
from station.words import common, grammar
from station.words import records as words

_NEW_ENTRY = "NOT EXISTS (SELECT 1 FROM main.log m WHERE m.bench_id = o.bench_id AND m.seq = o.seq AND m.hash = o.hash)"


@dataclass(frozen=True, slots=True)
class MergeReport:
    """What came in. `missing`: captures and photos that the other records name but do not have, or have damaged."""

    units: int
    visits: int
    results: int
    treatments: int
    files: int
    missing: tuple[str, ...] = ()
    double_tags: tuple[str, ...] = ()

    def sentence(self) -> str:
        """The whole in one or two sentences."""
        said = [
            words.MERGED.format(
                units=grammar.count_of(self.units, common.UNITS),
                visits=grammar.count_of(self.visits, words.VISITS),
                results=grammar.count_of(self.results, words.RESULTS),
                treatments=grammar.count_of(self.treatments, words.TREATMENTS),
                files=grammar.count_of(self.files, words.FILES),
            )
        ]
        if self.missing:
            said.append(grammar.plural(len(self.missing), words.MISSING_OVER_THERE).format(count=len(self.missing)))
        if self.double_tags:
            tags = grammar.COMMA.join(map(visible, self.double_tags))
            said.append(grammar.plural(len(self.double_tags), words.DOUBLE_TAGS).format(tags=tags))
        return " ".join(said)


def database_in(other: Path, file_name: str) -> Path:
    """The database file of a records folder, or the file itself. InputError if there is none."""
    path = other / file_name if other.is_dir() else other
    if not path.is_file():
        raise InputError(words.NO_OTHER_RECORDS.format(place=other))
    return path


@contextmanager
def snapshot(path: Path, beside: Path) -> Iterator[Path]:
    """A copy of the other records as they are now, brought to our version, in a temporary folder of ours."""
    with tempfile.TemporaryDirectory(prefix=".merge-", dir=beside) as folder, told_plainly(path):
        copy = Path(folder) / "other.db"
        _copy(path, copy)
        db = connect(copy, read_only=False, busy_ms=0)
        with closing(db):
            if version_of(db, path) == 0:
                raise InputError(words.OTHER_EMPTY.format(file=path))
            if problem := first_problem(db):
                raise RecordCorrupt(words.OTHER_DAMAGED.format(file=path, problem=problem))
            migrate(db)
            db.execute(f"PRAGMA user_version = {newest_version()}")
            db.execute("PRAGMA journal_mode = DELETE")
        yield copy


def _copy(path: Path, copy: Path) -> None:
    """By SQLite's back-up where it can open the file; else (a write-protected stick) file and log by hand."""
    try:
        source = connect(path, read_only=True, busy_ms=5000)
    except sqlite3.OperationalError:
        shutil.copyfile(path, copy)
        log = path.with_name(path.name + "-wal")
        if log.exists():
            shutil.copyfile(log, copy.with_name(copy.name + "-wal"))
        return
    with closing(source), closing(sqlite3.connect(copy)) as target:
        source.backup(target)


def copy_files(db: sqlite3.Connection, other_root: Path, root: Path) -> tuple[int, tuple[str, ...]]:
    """Bring the captures and photos that `other` (attached) names; (how many came, which could not)."""
    if not (other_root / "captures").is_dir() and other_root.name == "backups":
        other_root = other_root.parent
    wanted = [("captures", r[0]) for r in db.execute("SELECT DISTINCT capture_sha256 FROM other.results")]
    wanted += [("photos", r[0]) for r in db.execute("SELECT DISTINCT photo_sha256 FROM other.notes")]
    count, missing = 0, []
    for folder, sha256 in wanted:
        if not sha256:
            continue
        stem = files.path_for(root / folder, sha256, "")
        if any(stem.parent.glob(sha256 + ".*")):
            continue
        source = next(files.path_for(other_root / folder, sha256, "").parent.glob(sha256 + ".*"), None)
        if source is None or files.sha256_of(source) != sha256:
            missing.append(sha256)
            continue
        stem.parent.mkdir(parents=True, exist_ok=True)
        files.put_in_place(source.read_bytes(), stem.with_name(source.name))
        count += 1
    return count, tuple(missing)


def join_rows(db: sqlite3.Connection, own_bench: str) -> tuple[dict[str, int], bool]:
    """Add the rows of the attached `other`, inside the caller's transaction.

    Returns (table → rows added, whether the other had carried on our own log, so that a new one must begin).
    """
    db.execute("PRAGMA defer_foreign_keys = ON")
    _insert_new(db, "benches", "id")
    added = {table: _insert_new(db, table, "id") for table in ("lots", "units")}
    for table in ("lots", "units"):
        _take_later(db, table)
    new_visits = _new_ids(db, "visits")
    added["visits"] = _insert_new(db, "visits", "id")
    _renumber(db, new_visits)
    db.execute(
        "UPDATE visits SET finished_at = o.finished_at FROM other.visits o "
        "WHERE o.id = visits.id AND visits.finished_at = '' AND o.finished_at <> ''"
    )
    new_results = "result_id NOT IN (SELECT id FROM main.results)"
    for table in ("readings", "findings"):
        added[table] = _insert_new(db, table, None, new_results)
    for table in ("treatments", "results", "notes", "overrides", "shelf_parts", "shelf_moves"):
        added[table] = _insert_new(db, table, "id")
    carried_on = db.execute(
        f"SELECT 1 FROM other.log o WHERE bench_id = ? AND {_NEW_ENTRY} LIMIT 1", (own_bench,)
    ).fetchone()
    added["log"] = _insert_new(db, "log", None, _NEW_ENTRY, order="entry")
    return added, carried_on is not None


def _columns(db: sqlite3.Connection, table: str) -> list[str]:
    """All columns but the local counters."""
    names = [r[1] for r in db.execute(f"PRAGMA main.table_info({table})")]
    return [n for n in names if not (n == "entry" or (n == "seq" and table != "log"))]


def _insert_new(db: sqlite3.Connection, table: str, key: str | None, where: str = "", order: str = "") -> int:
    columns = ", ".join(_columns(db, table))
    new = where or f"{key} NOT IN (SELECT {key} FROM main.{table})"
    cursor = db.execute(
        f"INSERT INTO main.{table} ({columns}) SELECT {columns} FROM other.{table} o WHERE {new} "
        f"ORDER BY {order or ('rowid' if key else '1')}"
    )
    return int(cursor.rowcount)


def _new_ids(db: sqlite3.Connection, table: str) -> list[str]:
    return [
        r[0]
        for r in db.execute(f"SELECT id FROM other.{table} WHERE id NOT IN (SELECT id FROM main.{table}) ORDER BY seq")
    ]


def _take_later(db: sqlite3.Connection, table: str) -> None:
    """Of rows that both have, the one changed later; of rest dates the later."""
    columns = [c for c in _columns(db, table) if c not in ("id", "rest_until")]
    sets = ", ".join(f"{c} = o.{c}" for c in columns)
    db.execute(
        f"UPDATE {table} SET {sets} FROM other.{table} o WHERE o.id = {table}.id AND o.changed_at > {table}.changed_at"
    )
    if table == "units":
        db.execute(
            "UPDATE units SET rest_until = o.rest_until FROM other.units o "
            "WHERE o.id = units.id AND o.rest_until > units.rest_until"
        )


def _renumber(db: sqlite3.Connection, new_visits: list[str]) -> None:
    """Give a visit that came in the next free number where another visit of its unit has its number."""
    for visit in new_visits:
        db.execute(
            "UPDATE visits SET number = (SELECT max(number) + 1 FROM visits v WHERE v.unit_id = visits.unit_id) "
            "WHERE id = ? AND EXISTS (SELECT 1 FROM visits v WHERE v.unit_id = visits.unit_id "
            "AND v.number = visits.number AND v.id <> visits.id)",
            (visit,),
        )


def double_tags(db: sqlite3.Connection) -> tuple[str, ...]:
    """Tags on more than one unit that is still here."""
    marks = ", ".join("?" * len(GONE))
    rows = db.execute(
        f"SELECT tag FROM units WHERE becomes NOT IN ({marks}) GROUP BY tag COLLATE NOCASE HAVING count(*) > 1", GONE
    )
    return tuple(r[0] for r in rows)
