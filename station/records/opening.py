"""Making the file, bringing an older one up to date, and knowing which bench's log is written here."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from station.errors import RecordError
from station.records import backup, beside, chain, shape, states
from station.records.chain import Logged
from station.records.clock import Clock, time_text, unix_ms
from station.records.connection import Connections, one_moment, use_wal, version_of
from station.records.ids import IdMaker
from station.records.kept import put_kept
from station.records.place import place_of
from station.records.rows import insert
from station.records.schema import APPLICATION_ID, STATES_SINCE, migrate, newest_version
from station.records.views import drop_views, put_views
from station.words import records as words

NEEDED_SQLITE = (3, 37, 0)
"""STRICT tables"""


def check_sqlite(version: tuple[int, ...] = sqlite3.sqlite_version_info) -> None:
    """RecordError if the SQLite that came with Python is too old."""
    if version < NEEDED_SQLITE:
        have, needed = (".".join(map(str, v)) for v in (version, NEEDED_SQLITE[:2]))
        raise RecordError(words.SQLITE_TOO_OLD.format(version=have, needed=needed))


def prepare(connections: Connections, clock: Clock, busy_ms: int, *, afresh: bool = False) -> str:
    """Make or update the file; returns the id of this bench's log, a new one if `afresh` (a back-up was put back)."""
    check_sqlite()
    path = connections.path
    existed = path.exists() and path.stat().st_size > 0
    if not existed:
        beside.refuse_as_new(path)
    db = connections.open_writer()
    with one_moment(db):  # another program may be making the file
        version = version_of(db, path)
        refuse_other_shape(db, version, path)
    use_wal(db, busy_ms, path)
    if version < newest_version() and existed and version:
        backup.back_up(db, path.parent / "backups", f"before-version-{newest_version()}", time_text(clock()))
    with connections.writing() as tx:
        version = version_of(tx, path)  # another program may have brought it up to date since
        if version < newest_version():
            drop_views(tx)
            migrate(tx)
            tx.execute(f"PRAGMA user_version = {newest_version()}")
            tx.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        if existed:
            beside.refuse_emptied(tx, path)
        put_views(tx)
        put_kept(tx)
        bench_id = bench_of(tx, path, clock, IdMaker(), afresh=afresh)
        if 0 < version < newest_version():
            now = time_text(clock())
            states.keep(tx, bench_id, now, root=path.parent, first=version < STATES_SINCE)
        return bench_id


def refuse_other_shape(db: sqlite3.Connection, version: int, path: Path, *, tables_only: bool = False) -> None:
    """RecordError when the file is not made as this version makes it (`shape`). `tables_only`: to read it, its tables
    have to be ours; what else there is does nothing then."""
    look = shape.table_differences if tables_only else shape.differences
    if found := look(db, version):
        raise RecordError(words.OTHER_SHAPE.format(file=path, found=shape.told(found)))


def bench_of(db: sqlite3.Connection, path: Path, clock: Clock, ids: IdMaker, *, afresh: bool = False) -> str:
    """The bench whose log is written here. A copy of the file at another place begins a log of its own."""
    place = place_of(path)
    row = db.execute("SELECT id FROM benches WHERE place = ? ORDER BY rowid DESC LIMIT 1", (place,)).fetchone()
    if row and not afresh:
        return str(row[0])
    now = clock()
    bench_id = ids.new(unix_ms(now))
    row = {"id": bench_id, "place": place, "began_at": time_text(now)}
    insert(db, "benches", row)
    chain.append(db, bench_id, row["began_at"], {"what": Logged.BENCH_BEGUN, "id": bench_id, "now": row})
    states.take_over_settings(db, bench_id, row["began_at"])
    return bench_id
