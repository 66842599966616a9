"""The rows that change (units, lots, visits …): what the log says they are, compared with what the tables hold.

Every change of such a row stands in the log as the whole row (`now`). What the table holds has to be what a merge
leaves of what the bench of this place said of it last and what others say whose entries came in since: of lots and
units the one that was changed later, of a visit the end that was there first. Where a merge leaves neither (the later
of two rest dates, another number of a visit) it adds an entry of its own (`settle`). A visit's number alone may be
either's.
Whose records a copy is that lies elsewhere, it does not say: there every bench may be the one of the place.

Columns that never change (`FIXED`) have to be in every entry as in the one that added the row.

Files from before every table was logged get that by `keep`, once: from then on the log holds all of them. What differed
from the log at that time is taken as it was found, and `log verify` says so.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from sqlite3 import Connection
from typing import Any, Literal

from station.records import chain, files
from station.records.chain import Logged
from station.records.place import place_of
from station.records.rows import Row

KEYS = {"benches": "id", "lots": "id", "units": "id", "visits": "id", "shelf_parts": "id", "settings": "key"}
"""table → the column that names a row"""
OF_A_VISIT = ("unit_id", "kind", "started_at", "person", "bench", "treatment_id")
"""what stays as it was when the visit began"""
FIXED: Mapping[str, Sequence[str] | None] = {
    "benches": None,
    "lots": ("id",),
    "units": ("id", "created_at"),
    "visits": ("id", *OF_A_VISIT),
    "shelf_parts": None,
    "settings": ("key",),
}
"""table → the columns that never change; None: all"""
NOT_LOGGED = ("seq", "search_text")
"""a local counter, and what is made of the other columns"""
TABLE_OF = {
    Logged.BENCH_BEGUN: "benches",
    Logged.LOT_ADDED: "lots",
    Logged.LOT_CHANGED: "lots",
    Logged.UNIT_ADDED: "units",
    Logged.UNIT_CHANGED: "units",
    Logged.VISIT_STARTED: "visits",
    Logged.VISIT_FINISHED: "visits",
    Logged.PART_ADDED: "shelf_parts",
    Logged.SETTING_CHANGED: "settings",
}
_WITH_TIME = ("lots", "units")
"""their entries have no `changed_at` of their own: it is the time of the entry"""
FILES = (("results", "capture_sha256", "captures"), ("notes", "photo_sha256", "photos"))
"""table, its column, and the folder of the files that it names"""

Why = Literal["gone", "changed", "past"]
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Odd:
    """A row that is not as the log says. `row`: as the table has it; None if it is not there."""

    table: str
    key: str
    why: Why
    row: Row | None
    logged: Row | None = None

    @property
    def name(self) -> Key:
        return self.table, self.key

    @property
    def only_lacks(self) -> bool:
        """Whether the log says the same as far as it goes: columns came since."""
        return (
            self.row is not None
            and self.logged is not None
            and all(self.row.get(column, value) == value for column, value in self.logged.items())
        )


def odd_rows(db: Connection) -> Iterator[Odd]:
    """Every row that is missing, differs from what was said of it last, or has no entry."""
    own = benches_here(db)
    # the settings of an earlier log that a merge brings back are no more this bench's than another's; a copy that lies
    # elsewhere is that of the place where it was begun
    current = (own or _benches_of_the_beginning(db))[-1:]
    logged = _last_events(db)
    for table, key in KEYS.items():
        for row in _rows(db, table):
            events = logged.pop((table, row[key]), {})
            said = _of_here(events, current, own) if table == "settings" else _in_force(table, events, own)
            if not said:
                yield Odd(table, row[key], "past", row)
            elif row not in said:
                yield Odd(table, row[key], "changed", row, said[-1])
    for (table, name), events in logged.items():
        here = {bench: event for bench, event in events.items() if table != "settings" or bench in current}
        if said := _in_force(table, here, own):  # the settings of another bench are not asked of this one
            yield Odd(table, name, "gone", None, said[-1])


def moved_rows(db: Connection) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """(table, row, columns) where an entry has another value of a column that never changes than the entry that added
    the row. What was found when the log of an older file began to hold all rows is taken in its place."""
    first: dict[Key, list[Row]] = {}
    old: set[Key] = set()
    begun: dict[str, int] = {}
    kept: set[tuple[str, str]] = set()
    told: set[Key] = set()
    asked = "SELECT bench_id, seq, at, event FROM log WHERE instr(event, '\"now\":') OR instr(event, ?) ORDER BY entry"
    for bench, seq, at, text in db.execute(asked, (f'"what":"{Logged.STATES_KEPT}"',)):
        try:
            event = json.loads(text)
            what, name = event["what"], str(event["id"])
            if what in (Logged.BENCH_BEGUN, Logged.STATES_KEPT):
                begun.setdefault(bench, seq)
            if what == Logged.STATES_KEPT:
                kept.add((bench, at))
                continue
            table = event["table"] if what == Logged.STATE_FOUND else TABLE_OF.get(what)
            now = event["now"]
            if table not in KEYS or not isinstance(now, dict):
                continue
        except (ValueError, KeyError, TypeError, RecursionError):
            continue
        row = table, name
        if row not in first:
            first[row] = [now]
            if seq < begun.get(bench, seq + 1):
                old.add(row)
        elif row in old and what == Logged.STATE_FOUND and (bench, at) in kept:
            first[row].append(now)
        differing = [_differing(table, now, before) for before in first[row]]
        wrong = () if now.get(KEYS[table]) == name and () in differing else differing[0] or (KEYS[table],)
        if wrong and row not in told:
            told.add(row)
            yield table, name, wrong


def _differing(table: str, now: Row, before: Row) -> tuple[str, ...]:
    fixed = FIXED[table]
    return tuple(c for c in (before if fixed is None else fixed) if c in before and now.get(c) != before[c])


def odd_names(db: Connection) -> set[Key]:
    """The names of those rows."""
    return {odd.name for odd in odd_rows(db)}


def benches_here(db: Connection) -> list[str]:
    """The benches that wrote at the place where this file lies, the one that writes now last."""
    path = next((r[2] for r in db.execute("PRAGMA database_list") if r[1] == "main"), "")
    found = db.execute("SELECT id FROM benches WHERE place = ? ORDER BY rowid", (place_of(Path(path)),))
    return [row[0] for row in found]


def _benches_of_the_beginning(db: Connection) -> list[str]:
    """The benches that wrote where the bench of the first entry did, the last one last."""
    asked = (
        "SELECT id FROM benches WHERE place = (SELECT b.place FROM log JOIN benches b ON b.id = log.bench_id "
        "ORDER BY log.entry LIMIT 1) ORDER BY rowid"
    )
    return [row[0] for row in db.execute(asked)]


def _of_here(events: Mapping[str, _Event], current: Collection[str], own: Collection[str]) -> list[Row]:
    """What may stand in the settings, which no merge changes: what this bench said last; in a copy that lies elsewhere,
    what any bench did."""
    here = [event for bench, event in events.items() if bench in current or not own]
    found = sorted(here, key=lambda event: event.entry)
    return [_state("settings", event.at, event.text) for event in found]


def _in_force(table: str, events: Mapping[str, _Event], own: Collection[str]) -> list[Row]:
    """What may stand in the table, the likeliest last: the one state that a merge leaves, a visit's with each number
    that it was given. `own`: the benches of this place; none in a copy that lies elsewhere."""
    found: list[Row] = []
    for here in [own] if own else [(), *((bench,) for bench in events)]:
        since = max((event.entry for bench, event in events.items() if bench in here), default=0)
        told = sorted((event for event in events.values() if event.entry >= since), key=lambda event: event.entry)
        found += _left_by_merge(table, [_state(table, event.at, event.text) for event in told])
    return found


def _left_by_merge(table: str, told: Sequence[Row]) -> Sequence[Row]:
    """What a merge leaves of these, in the order in which they came (`station.records.merge.join_rows`)."""
    if not told:
        return ()
    if table in _WITH_TIME:
        _, latest = max(enumerate(told), key=lambda one: (str(one[1].get("changed_at")), _rest(one[1]), one[0]))
        return (latest,)
    if table == "visits":
        ends = next((row["finished_at"] for row in told if row.get("finished_at")), "")
        numbers = dict.fromkeys(row.get("number") for row in told)
        return [{**told[-1], "finished_at": ends, "number": number} for number in numbers]
    return told[:1] if FIXED[table] is None else told[-1:]


def _rest(row: Row) -> str:
    return str(row.get("rest_until") or "")


@dataclass(frozen=True, slots=True)
class _Event:
    """The last entry of a bench about a row."""

    entry: int
    at: str
    text: str


def _last_events(db: Connection) -> dict[Key, dict[str, _Event]]:
    """(table, row) → bench → its last entry that has the row's state. What cannot be read is passed over: `verify`
    tells of it."""
    found: dict[Key, dict[str, _Event]] = defaultdict(dict)
    rows = db.execute("SELECT entry, bench_id, at, event FROM log WHERE instr(event, '\"now\":') ORDER BY entry")
    for entry, bench, at, text in rows:
        try:
            event = json.loads(text)
            table = event["table"] if event["what"] == Logged.STATE_FOUND else TABLE_OF.get(event["what"])
            if table in KEYS and isinstance(event["now"], dict):
                found[table, str(event["id"])][bench] = _Event(entry, at, text)
        except (ValueError, KeyError, TypeError, RecursionError):
            continue
    return found


def _state(table: str, at: str, text: str) -> Row:
    now: Row = json.loads(text)["now"]
    return {"changed_at": at, **now} if table in _WITH_TIME else now


def _rows(db: Connection, table: str) -> Iterator[Row]:
    columns = [r[1] for r in db.execute(f"PRAGMA table_info({table})") if r[1] not in NOT_LOGGED]
    for row in db.execute(f"SELECT {', '.join(columns)} FROM {table}"):
        yield dict(zip(columns, row, strict=True))


def take_over_settings(db: Connection, bench_id: str, at: str) -> None:
    """A log that begins holds the settings that it finds: whatever an earlier one says of them is over."""
    for row in list(_rows(db, "settings")):
        _found(db, bench_id, at, Odd("settings", row["key"], "past", row))


def are_kept(db: Connection) -> bool:
    """Whether the log holds the state of every row: not in a file of an earlier version that is only read."""
    kept = [f'"what":"{what}"' for what in (Logged.STATES_KEPT, Logged.BENCH_BEGUN)]
    found = db.execute("SELECT 1 FROM log WHERE instr(event, ?) OR instr(event, ?) LIMIT 1", kept).fetchone()
    return found is not None


def settle(db: Connection, bench_id: str, at: str, before: Collection[Key]) -> None:
    """After a merge: log each row that the last entry about it does not describe, but for those that were odd
    `before` it: they stay to be told of."""
    for odd in list(odd_rows(db)):
        if odd.name not in before and not odd.only_lacks and odd.row is not None:
            _found(db, bench_id, at, odd)


def keep(db: Connection, bench_id: str, at: str, *, root: Path, first: bool) -> None:
    """After a migration, in its transaction: the log holds the state of every row from here on.

    `first`: the file is from before that was so; all is taken as it is found, and the captures and photos that are
    not there (`root`: the folder of the records) are named. Else only columns that came since are added.
    """
    if first:
        gone = list(_not_there(db, root))
        chain.append(db, bench_id, at, {"what": Logged.STATES_KEPT, "id": bench_id, "missing": gone})
    for odd in list(odd_rows(db)):
        if odd.only_lacks or (first and odd.row is not None):
            _found(db, bench_id, at, odd)


def _found(db: Connection, bench_id: str, at: str, odd: Odd) -> None:
    event: dict[str, Any] = {"what": Logged.STATE_FOUND, "table": odd.table, "id": odd.key, "now": odd.row}
    if odd.logged is not None and not odd.only_lacks:
        event["instead"] = True  # of what the log said before
    chain.append(db, bench_id, at, event)


def named_files(db: Connection) -> Iterator[tuple[str, str]]:
    """(folder, SHA-256) of every capture and photo that a row names."""
    for table, column, folder in FILES:
        for (sha256,) in db.execute(f"SELECT DISTINCT {column} FROM {table} WHERE {column} <> '' ORDER BY 1"):
            yield folder, sha256


def file_of(root: Path, folder: str, sha256: str) -> Path | None:
    """Where it lies, under one of the names that the program reads; None if it is not there. InputError if that is no
    SHA-256."""
    return next((path for path in files.places(root / folder, sha256, folder) if path.exists()), None)


def _not_there(db: Connection, root: Path) -> Iterator[str]:
    for folder, sha256 in named_files(db):
        if files.is_sha256(sha256) and file_of(root, folder, sha256) is None:
            yield sha256
