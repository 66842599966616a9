"""Records as an earlier version wrote them: today's file with what came since taken out again."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from station.records.schema import _KEPT, _MARKS, MIGRATIONS, NEVER_REMOVED
from station.records.store import FILE_NAME
from station.records.views import drop_views

_UNDO = {
    "kept_for_views": (
        *(f"DROP TRIGGER {table}_kept_{n}" for table, marks in _MARKS.items() for n in range(1, len(marks) + 1)),
        *(f"DROP TABLE {table}" for table in re.findall(r"CREATE TABLE (\w+)", _KEPT)),
    ),
    "sales_and_comebacks": (
        "DROP TABLE comebacks",
        "DROP INDEX units_by_share",
        *(f"ALTER TABLE units DROP COLUMN {name}" for name in ("sold_on", "channel", "fees_minor", "shipping_minor")),
    ),
    "lots_as_they_come": (
        *(f"ALTER TABLE lots DROP COLUMN {column}" for column in ("source", "postage_minor", "expected")),
        *(f"ALTER TABLE units DROP COLUMN {column}" for column in ("accessories", "box", "cost_minor")),
    ),
    "certificates_numbered": ("DROP TABLE certificates",),
    "mistakes_taken_back": ("DROP TABLE withdrawals",),
    "nothing_vanishes": (
        *(f"DROP TRIGGER {table}_no_delete" for table in NEVER_REMOVED),
        "DROP TRIGGER shelf_parts_no_update",
    ),
    "parameters_of_findings": ("ALTER TABLE findings DROP COLUMN params",),
}
"""step → how what it made is taken out"""


def as_version(folder: Path, version: int) -> None:
    """Make the closed records in `folder` what this version would have written, had it been given the same."""
    with closing(sqlite3.connect(folder / FILE_NAME, isolation_level=None)) as db:
        drop_views(db)  # type: ignore[arg-type]
        for step in reversed(MIGRATIONS[version:]):
            for statement in _UNDO[step.__name__]:
                db.execute(statement)
            db.execute("DELETE FROM _sqlite_migrations WHERE name = ?", (step.__name__,))
        db.execute(f"PRAGMA user_version = {version}")
        db.execute("VACUUM")
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
