"""Is the file built as ours are? Tables, indexes, guards (triggers) and views, compared with those of a new file.

A trigger of a stranger could swallow what is written, and one of ours that is missing lets rows be changed.
"""

from __future__ import annotations

import functools
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing

from station.records import schema
from station.records.views import put_views
from station.words import records as words

_OTHERS = ("sqlite_", "_sqlite_", "unit_text_")
"""objects that SQLite, the migrations and the search index make for themselves; their text differs by version"""
_SAID = re.compile(r"RAISE\(ABORT, '(?:[^']|'')*'\)")
Shape = dict[tuple[str, str], str]
"""(kind, name) → how it was made"""


def shape_of(db: sqlite3.Connection) -> Shape:
    """What the file is built of. What a guard says is left out: it is in the language of whoever made the file."""
    found = db.execute("SELECT type, name, coalesce(sql, '') FROM sqlite_master")
    return {(kind, name): _SAID.sub("RAISE(ABORT)", sql) for kind, name, sql in found if not name.startswith(_OTHERS)}


@functools.cache
def _ours(steps: object) -> Shape:
    """As `steps`, the migrations that there are, build it."""
    del steps
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        schema.migrate(db)
        put_views(db)
        return shape_of(db)


def faults(db: sqlite3.Connection) -> Iterator[str]:
    """A sentence for each thing that is missing, strange or changed."""
    ours, here = _ours(schema.MIGRATIONS), shape_of(db)
    for kind, name in sorted(ours.keys() | here.keys()):
        wanted, found = ours.get((kind, name)), here.get((kind, name))
        if wanted == found:
            continue
        said = words.SHAPE_LACKS if found is None else words.SHAPE_STRANGE if wanted is None else words.SHAPE_CHANGED
        yield said.format(kind=words.SHAPE_KINDS.get(kind, kind), name=name)
    hidden = db.execute(
        "SELECT type, name FROM sqlite_master WHERE name LIKE 'unit\\_text\\_%' ESCAPE '\\' AND type <> 'table' "
        "OR type IN ('trigger', 'view') AND (name LIKE '\\_sqlite\\_%' ESCAPE '\\')"
    ).fetchall()
    for kind, name in hidden:
        yield words.SHAPE_STRANGE.format(kind=words.SHAPE_KINDS.get(kind, kind), name=name)
    made = {row[0] for row in db.execute("SELECT name FROM _sqlite_migrations WHERE migration_set = 'restpoint'")}
    if made != {step.__name__ for step in schema.MIGRATIONS}:
        yield words.SHAPE_CHANGED.format(kind=words.SHAPE_KINDS["table"], name="_sqlite_migrations")
