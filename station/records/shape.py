"""Is a file made as we make them? What a hand with another tool put in or took away shows here: a trigger that swallows
rows, a guard that is gone, a table that is a view.

The tables of a version are made once more in memory and compared, name by name, with what the file says of itself.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import closing
from functools import cache
from sqlite3 import Connection, connect

from station.records import schema
from station.records.views import VIEWS
from station.words import grammar
from station.words import records as words

_OF_SQLITE = re.compile(r"sqlite_(?:sequence|stat[1-4])")
_OF_MIGRATIONS = "_sqlite_migrations"
_OF_SEARCH = re.compile(r"unit_text_(?:data|idx|docsize|config|content)")
"""FTS5's own tables: how their text is spaced is a matter of SQLite's version"""
_SPOKEN = re.compile(r"RAISE\(ABORT, '(?:[^']|'')*'\)")
"""what a guard says depends on the language in which the file was made"""
_TOLD = 3
_BLANKS = re.compile(r"\s+")

Things = dict[tuple[str, str], str]
"""(type, name) → how it is made"""


def differences(db: Connection, version: int) -> tuple[str, ...]:
    """What a file of this version has and should not, lacks, or has in another way; a few words each. Views that bear
    our names are left out: opening puts them right. Raises sqlite3.Error."""
    return tuple(_differences(things_in(db), _expected(schema.MIGRATIONS[:version])))


def table_differences(db: Connection, version: int) -> tuple[str, ...]:
    """The same of tables alone: what is read is made as we read it."""
    wanted = {kind: made for kind, made in _expected(schema.MIGRATIONS[:version]).items() if kind[0] == "table"}
    return tuple(_differences({kind: made for kind, made in things_in(db).items() if kind in wanted}, wanted))


def told(found: tuple[str, ...]) -> str:
    """The first few of them."""
    more = len(found) - _TOLD
    return grammar.COMMA.join((*found[:_TOLD], *([words.SCHEMA_MORE.format(count=more)] if more > 0 else [])))


def _differences(have: Things, wanted: Things) -> Iterator[str]:
    for kind, name in sorted(have.keys() | wanted.keys()):
        sort = words.SCHEMA_KINDS.get(kind, kind)
        if (kind, name) not in wanted:
            yield words.SCHEMA_FOREIGN.format(kind=sort, name=name[:80])
        elif (kind, name) not in have:
            yield words.SCHEMA_MISSING.format(kind=sort, name=name)
        elif have[kind, name] != wanted[kind, name]:
            yield words.SCHEMA_CHANGED.format(kind=sort, name=name)


def things_in(db: Connection) -> Things:
    """Everything in a file but what SQLite, its search index and the migrations keep for themselves, and our views."""
    return {
        (str(kind), str(name)): _BLANKS.sub(" ", _SPOKEN.sub("RAISE(ABORT, '')", str(sql)))
        for kind, name, table, sql in db.execute("SELECT type, name, tbl_name, sql FROM sqlite_master")
        if not (sql is None or _is_kept_beside(str(kind), str(name), str(table)))  # NULL: the index of a UNIQUE
    }


def _is_kept_beside(kind: str, name: str, table: str) -> bool:
    if kind == "view":
        return name in VIEWS
    if kind not in ("table", "index"):
        return False
    of_search = kind == "table" and _OF_SEARCH.fullmatch(name)
    return bool(of_search or _OF_SQLITE.fullmatch(name) or _OF_MIGRATIONS in (name, table))


@cache
def _expected(steps: tuple[Callable[[schema.Maker], None], ...]) -> Things:
    """What a file is made of that these steps made."""
    with closing(connect(":memory:")) as db:
        for step in steps:
            step(db)
        return things_in(db)
