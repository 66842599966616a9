"""What the views read, worked out when a row is recorded, so that a question over years of work takes no longer than
to look through its answer.

It says nothing of its own: it stands in no log, no export and no digest, and can be made anew from the rows at any
time (`derived.RULES`). Triggers note of which units and lots something changed, whoever wrote (`schema`); the
transaction works those out anew before it commits. Records whose rules are of another version are worked out as a
whole when they are opened for writing.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from sqlite3 import Connection

from station.records.derived import RULES

_AT_ONCE = 400
"""units that are worked out in one go"""
_ALL = "IS NOT NULL"
_THESE = "IN (SELECT id FROM temp.kept_these)"
"""no parameter: SQLite would prepare some of the rules anew for each value, which takes ten times as long as to ask"""
_TABLES = {table: rule for tables in RULES.values() for table, rule in tables.items()}
_RULE = hashlib.sha256(json.dumps(RULES).encode()).hexdigest()
"""changes with every change of a rule"""


def refresh(db: Connection) -> None:
    """Work out anew what is out of date, inside the caller's transaction. Raises sqlite3.Error."""
    stale = db.execute("SELECT what, id FROM kept_stale").fetchall()
    if not stale:
        return
    units = {what: {row_id for which, row_id in stale if which == what} for what in (*RULES, "lot")}
    db.execute("CREATE TEMP TABLE IF NOT EXISTS kept_these (id TEXT PRIMARY KEY) WITHOUT ROWID")
    for _ in _put_by(db, units["lot"]):
        units["money"] |= {row[0] for row in db.execute(f"SELECT id FROM units WHERE lot_id {_THESE}")}
    for what, tables in RULES.items():
        for _ in _put_by(db, units[what]):
            for table in tables:
                _renew(db, table)
    db.execute("DELETE FROM kept_stale")


def _put_by(db: Connection, ids: set[str]) -> Iterator[None]:
    """Put some of the ids at a time where the rules look for them."""
    every = sorted(ids)
    for start in range(0, len(every), _AT_ONCE):
        db.execute("DELETE FROM temp.kept_these")
        db.executemany("INSERT INTO temp.kept_these VALUES (?)", ((one,) for one in every[start : start + _AT_ONCE]))
        yield


def _renew(db: Connection, table: str) -> None:
    """Write what differs from the rule, of the units that were put by, and nothing else: mostly that is a row or
    two."""
    rule, rows = (sql.format(units=_THESE) for sql in _TABLES[table])
    now = db.execute(rule).fetchall()
    had = db.execute(f"SELECT * FROM {table} WHERE {rows}").fetchall()
    if gone := set(had).difference(now):
        where = " AND ".join(f"{column} = ?" for column in _key(table))
        db.executemany(f"DELETE FROM {table} WHERE {where}", [row[: len(_key(table))] for row in gone])
    if new := set(now).difference(had):
        marks = ", ".join("?" * len(next(iter(new))))
        db.executemany(f"INSERT INTO {table} VALUES ({marks})", sorted(new))


def _key(table: str) -> tuple[str, ...]:
    """The columns by which a row is known, the first of the table."""
    return {"kept_money": ("unit",), "kept_cures": ("treatment",), "kept_visits": ("visit",)}.get(
        table, ("result", "position") if table == "kept_failing" else ("result",)
    )


def put_kept(db: Connection) -> None:
    """Make all of it where it was made by other rules, or never; else what is out of date. Inside the caller's
    transaction."""
    if is_made(db):
        refresh(db)
    else:
        make_anew(db)


def is_made(db: Connection) -> bool:
    """Whether what is kept was made by these rules."""
    return [row[0] for row in db.execute("SELECT rule FROM kept_rule")] == [_RULE]


def make_anew(db: Connection) -> None:
    """Work out everything, inside the caller's transaction."""
    for table, (rule, _) in _TABLES.items():
        db.execute(f"DELETE FROM {table}")
        db.execute(f"INSERT INTO {table} {rule.format(units=_ALL)}")
    db.execute("DELETE FROM kept_stale")
    db.execute("DELETE FROM kept_rule")
    db.execute("INSERT INTO kept_rule VALUES (?)", (_RULE,))


def differences(db: Connection) -> Iterator[tuple[str, int]]:
    """(table, how many of its rows are not as the rules have them, or are missing) where there are some."""
    for table, (rule, _) in _TABLES.items():
        ruled, kept = f"SELECT * FROM ({rule.format(units=_ALL)})", f"SELECT * FROM {table}"
        (odd,) = db.execute(
            f"SELECT (SELECT count(*) FROM ({ruled} EXCEPT {kept})) + (SELECT count(*) FROM ({kept} EXCEPT {ruled}))"
        ).fetchone()
        if odd:
            yield table, int(odd)
