"""Records opened only to be read: those of an older version are brought up to date in a copy, the file stays as it is.

So records on a disk that nobody may write, put away years ago, can still be looked through, verified and exported.
"""

from __future__ import annotations

import sqlite3
import tempfile
import weakref
from contextlib import closing
from pathlib import Path

from station.records.connection import Connections, connect, version_of
from station.records.faults import told_plainly
from station.records.opening import refuse_other_shape
from station.records.schema import migrate, newest_version
from station.records.views import drop_views, put_views


def open_to_read(path: Path, busy_ms: int) -> Connections:
    """A reading connection to the records at `path`, as this version makes them. Raises the RecordError family."""
    with told_plainly(path):
        db = connect(path, read_only=True, busy_ms=busy_ms)
        with closing(db):
            version = version_of(db, path)
            refuse_other_shape(db, version, path, tables_only=True)
            if version < newest_version():
                return _open_copy(db, busy_ms)
        connections = Connections(path, read_only=True, busy_ms=busy_ms)
        connections.open_reader()
    return connections


def _open_copy(db: sqlite3.Connection, busy_ms: int) -> Connections:
    """A copy of the open file among the temporary files, removed when nobody holds it any more."""
    folder = tempfile.TemporaryDirectory(prefix="restpoint-old-")
    copy = Path(folder.name) / "restpoint.db"
    try:
        with told_plainly(copy), closing(sqlite3.connect(copy, isolation_level=None)) as target:
            db.backup(target)
            bring_up_to_date(target)
            connections = Connections(copy, read_only=True, busy_ms=busy_ms)
            connections.open_reader()
    except BaseException:
        folder.cleanup()
        raise
    weakref.finalize(connections, folder.cleanup)
    return connections


def bring_up_to_date(db: sqlite3.Connection) -> None:
    """Migrate a copy that is ours alone: no log beside it, no wait. Raises sqlite3.Error."""
    db.execute("PRAGMA journal_mode = DELETE")
    drop_views(db)
    migrate(db)
    put_views(db)
    db.execute(f"PRAGMA user_version = {newest_version()}")
