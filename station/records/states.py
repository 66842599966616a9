"""The rows that change (units, lots, visits …): what the log says they are, compared with what the tables hold.

Every change of such a row stands in the log as the whole row (`now`). What the table holds has to be what the bench of
this place said of it last, or what another bench says whose entry came in since: a merge takes the one or the other,
and where it leaves neither (the later of two rest dates, another number of a visit) it adds an entry of its own
(`settle`). Two benches may hold a row otherwise for good, such as a visit's number, and each is whole.

Files from before every table was logged get that by `keep`, once: from then on the log holds all of them. What differed
from the log at that time is taken as it was found, and `log verify` says so.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
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
    own = _own_benches(db)
    # the settings of an earlier log that a merge brings back are no more this bench's than another's
    current = own[-1:]
    logged = _last_events(db)
    for table, key in KEYS.items():
        for row in _rows(db, table):
            said = _in_force(table, logged.pop((table, row[key]), {}), current if table == "settings" else own)
            if not said:
                yield Odd(table, row[key], "past", row)
            elif row not in said:
                yield Odd(table, row[key], "changed", row, said[-1])
    lasting = (own or _benches_of_the_beginning(db))[-1:]  # a copy that lies elsewhere: of where it was begun
    for (table, name), events in logged.items():
        here = {bench: event for bench, event in events.items() if table != "settings" or bench in lasting}
        if said := _in_force(table, here, own):  # the settings of another bench are not asked of this one
            yield Odd(table, name, "gone", None, said[-1])


def odd_names(db: Connection) -> set[Key]:
    """The names of those rows."""
    return {odd.name for odd in odd_rows(db)}


def _own_benches(db: Connection) -> list[str]:
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


def _in_force(table: str, events: Mapping[str, _Event], own: Collection[str]) -> list[Row]:
    """What may stand in the table: what this place's bench said last, and what others said of the row since; in the
    order of the entries."""
    since = max((event.entry for bench, event in events.items() if bench in own), default=0)
    found = sorted((event for event in events.values() if event.entry >= since), key=lambda event: event.entry)
    return [_state(table, event.at, event.text) for event in found]


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
    """Where it lies, None if it is not there. InputError if that is no SHA-256."""
    stem = files.path_for(root / folder, sha256, "")
    return next(iter(sorted(stem.parent.glob(f"{sha256}.*"))), None)


def _not_there(db: Connection, root: Path) -> Iterator[str]:
    for folder, sha256 in named_files(db):
        if files.is_sha256(sha256) and file_of(root, folder, sha256) is None:
            yield sha256
