"""Does the log hold, and do the records still say what it says? What `restpoint log verify` shows."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from sqlite3 import Connection
from typing import Any

from station.records import chain, files, kept, schema, shape, states
from station.records.backup import first_problem
from station.records.chain import Head, Logged
from station.records.missing import Missing
from station.records.rows import Row, digest
from station.records.schema import newest_version
from station.records.search import search_text
from station.records.types import Unit
from station.records.views import wrong_views
from station.words import figures, grammar
from station.words import records as words

TABLE_OF = {
    Logged.RESULT_ADDED: "results",
    Logged.TREATMENT_ADDED: "treatments",
    Logged.NOTE_ADDED: "notes",
    Logged.OVERRIDE_ADDED: "overrides",
    Logged.CAME_BACK: "comebacks",
    Logged.PART_MOVED: "shelf_moves",
    Logged.WITHDRAWN: "withdrawals",
    Logged.CERTIFICATE_ADDED: "certificates",
}
"""which table an entry's digest is about"""
_ADDS = {
    Logged.LOT_ADDED: "lots",
    Logged.UNIT_ADDED: "units",
    Logged.VISIT_STARTED: "visits",
    Logged.PART_ADDED: "shelf_parts",
}
_COUNTED = {"log": "entry"} | dict.fromkeys(("lots", "units", "visits", "shelf_parts", *TABLE_OF.values()), "seq")
"""tables with a local counter of their rows"""
_BELOW = {"results": ("readings", "findings")}
_BATCH = 500
MAX_FAULTS = 50

INDEX_OF_STEPS = "idx__sqlite_migrations_migration_set_name"
"""the one that the migrations keep over their own table"""


@dataclass(frozen=True, slots=True)
class Noted:
    """Heads of the log as they were noted elsewhere, and by what it is called: a certificate, an export, a back-up."""

    where: str
    heads: tuple[Head, ...]


@dataclass(frozen=True, slots=True)
class LogReport:
    """What was found. `heads`: (bench, number of its last entry, hash of it), to write down or print elsewhere."""

    entries: int
    heads: tuple[tuple[str, int, str], ...]
    faults: tuple[str, ...]
    """the first 50, one sentence each"""
    notes: tuple[str, ...] = ()
    kept_differs: bool = False
    """what the views read is not what the records say, as notes tell: no record is wrong, it can be worked out anew"""

    @property
    def sound(self) -> bool:
        return not self.faults


def verify(db: Connection, root: Path | None = None, noted: Sequence[Noted] = ()) -> LogReport:
    """Go through every chain, and compare with it every row of every table, the captures and photos in the folder
    `root` and what is kept for the views (None: neither is looked at), the tables themselves, and what was noted of the
    log elsewhere."""
    faults: list[str] = []
    heads: dict[str, tuple[int, str]] = {}
    notes: list[str] = []
    entries = 0
    named: dict[str, set[str]] = defaultdict(set)
    told = _Told()
    for batch in _batches(_checked(db, faults, heads, notes), _BATCH):
        entries += len(batch)
        for table, ids in _named_in(batch, faults, told).items():
            named[table] |= ids.keys()
            faults += _changed(db, table, ids)
    for table in TABLE_OF.values():
        have = int(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0])
        if have > len(named[table]):
            past = have - len(named[table])
            faults.append(grammar.plural(past, words.PAST_THE_LOG).format(count=past, table=table))
    if states.are_kept(db):
        faults += _states(db)
    else:
        told.missing.all_may_be = True
        notes.append(words.STATES_NOT_KEPT)
    faults += told.faults
    faults += _order(db, told)
    faults += _search(db)
    if root is not None:
        faults += _files(db, root, told, notes)
    faults += _built(db)
    differs = list(_kept(db)) if root is not None else []
    if problem := first_problem(db):
        faults.append(words.FILE_DAMAGED.format(problem=problem))
    faults += _against(db, noted)
    more = len(faults) - MAX_FAULTS
    told_of = [*faults[:MAX_FAULTS], *([words.MORE_FAULTS.format(count=more)] if more > 0 else [])]
    notes += [*told.notes, *differs]
    ends = tuple((b, n, h) for b, (n, h) in heads.items())
    return LogReport(entries, ends, tuple(told_of), tuple(notes), bool(differs))


_RESULTS_OF = "SELECT id FROM results WHERE visit_id IN (SELECT id FROM visits WHERE unit_id = ?1)"
_TREATMENTS_OF = "SELECT id FROM treatments WHERE unit_id = ?1"
_OF_UNIT = {
    "results": _RESULTS_OF,
    "treatments": _TREATMENTS_OF,
    "overrides": "SELECT id FROM overrides WHERE unit_id = ?1",
    "withdrawals": f"SELECT id FROM withdrawals WHERE row_id = ?1 OR row_id IN ({_RESULTS_OF} UNION {_TREATMENTS_OF})",
}
"""table → which rows of it speak of a unit"""


def changed_of_unit(db: Connection, unit_id: str) -> tuple[str, ...]:
    """A sentence for each row that speaks of one unit and is not as the log has it. The chain itself is not gone
    through, which takes long in large records: that is `verify`."""
    own = {table: {str(row[0]) for row in db.execute(asked, (unit_id,))} for table, asked in _OF_UNIT.items()}
    tables = {str(what): table for what, table in TABLE_OF.items() if table in own}
    named = "CASE WHEN json_valid(event) THEN json_extract(event, '$.id') END IN (SELECT value FROM json_each(?))"
    asked = f"SELECT json_extract(event, '$.what', '$.id', '$.digest') FROM log WHERE {named}"
    told: dict[str, dict[str, str]] = defaultdict(dict)
    for (entry,) in db.execute(asked, (json.dumps([row_id for ids in own.values() for row_id in ids]),)):
        what, row_id, logged = map(str, json.loads(entry))
        if row_id in own.get(table := tables.get(what, ""), ()):
            told[table][row_id] = logged
    past = [
        words.ROW_PAST_THE_LOG.format(row=row_id, table=table)
        for table, ids in own.items()
        for row_id in sorted(ids - told[table].keys())
    ]
    changed = [said for table, digests in told.items() for said in _changed(db, table, digests)]
    return (*past, *changed)


class _Told:
    """What entries tell that is about no single row: gathered while the chains are gone through."""

    def __init__(self) -> None:
        self.missing = Missing()
        """captures and photos that were not there already"""
        self.added: dict[int, tuple[str, str]] = {}
        """entry → table and row that it added"""
        self.faults: list[str] = []
        self.notes: list[str] = []
        self._known: set[tuple[str, str]] = set()
        self._instead = 0

    def hear(self, row: chain.LogRow, event: Mapping[str, Any]) -> None:
        what = event["what"]
        self.missing.hear(row, event)
        if table := TABLE_OF.get(what) or _ADDS.get(what):
            name = table, str(event["id"])
            if name in self._known:
                self.faults.append(
                    words.ADDED_TWICE.format(entry=row.seq, bench=row.bench_id, row=name[1], table=table)
                )
            self._known.add(name)
            self.added[row.entry] = name
            self.missing.added(row, name)
        elif what == Logged.STATES_KEPT:
            self.notes.append(words.STATES_KEPT_FROM.format(day=figures.day(row.at), bench=row.bench_id))
        elif what == Logged.STATE_FOUND and event.get("instead") and self._instead < MAX_FAULTS:
            self._instead += 1
            told = words.STATE_FOUND.format(row=event["id"], table=event["table"], day=figures.day(row.at))
            self.notes.append(told)


def _checked(
    db: Connection, faults: list[str], heads: dict[str, tuple[int, str]], notes: list[str]
) -> Iterator[chain.LogRow]:
    """Every row, after its hash and its link to the row before were checked."""
    bench, seq, before, here = "", 0, {chain.GENESIS}, set[str]()
    for row in chain.log_rows(db):
        if row.bench_id != bench:
            bench, seq, before, here = row.bench_id, 0, {chain.GENESIS}, set()
        if row.seq != seq:
            if row.seq != seq + 1:
                faults.append(_gap(seq + 1, row.seq - 1, bench))
            before, here = (here if seq else before), set()
            seq = row.seq
        elif here and row.hash not in here:
            notes.append(words.CARRIED_ON_TWICE.format(bench=bench, entry=seq - 1))
        if row.hash != chain.link(row.previous, row.bench_id, row.seq, row.at, row.event):
            faults.append(words.ENTRY_CHANGED.format(entry=row.seq, bench=bench, at=row.at))
        if row.previous not in before:
            faults.append(words.ENTRY_OUT_OF_LINE.format(entry=row.seq, bench=bench))
        if row.hash in here:
            faults.append(words.ENTRY_TWICE.format(entry=row.seq, bench=bench))
        here.add(row.hash)
        heads[bench] = (row.seq, row.hash)
        yield row


def _gap(first: int, last: int, bench: str) -> str:
    if first == last:
        return words.ENTRY_MISSING.format(entry=first, bench=bench)
    return words.ENTRIES_MISSING.format(first=first, last=last, bench=bench)


def _batches(rows: Iterable[chain.LogRow], size: int) -> Iterator[list[chain.LogRow]]:
    iterator = iter(rows)
    while batch := list(islice(iterator, size)):
        yield batch


def _named_in(batch: Sequence[chain.LogRow], faults: list[str], told: _Told) -> dict[str, dict[str, str]]:
    """table → id → digest of the entries of this batch that carry one."""
    named: dict[str, dict[str, str]] = defaultdict(dict)
    for row in batch:
        try:
            event = json.loads(row.event)
            told.hear(row, event)
            table = TABLE_OF.get(event["what"])
            if table is not None:
                named[table][event["id"]] = event["digest"]
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            faults.append(words.ENTRY_NOT_READABLE.format(entry=row.seq, bench=row.bench_id))
    return named


def _changed(db: Connection, table: str, digests: dict[str, str]) -> Iterator[str]:
    """A sentence for each row that is missing or does not have the logged digest."""
    content: dict[str, dict[str, Any]] = {i: {} for i in digests}
    for row in _rows(db, table, "id", digests):
        row.pop("seq", None)
        content[row["id"]][table] = row
    for below in _BELOW.get(table, ()):
        for rows in content.values():
            rows[below] = []
        for row in _rows(db, below, "result_id", digests, ("result_id", "position")):
            if row.get("params", "") is None:
                del row["params"]  # a finding from before there were parameters: so it was logged
            content[row["result_id"]][below].append(row)
    for row_id, wanted in digests.items():
        if table not in content[row_id]:
            yield words.ROW_GONE.format(row=row_id, table=table)
        elif digest(content[row_id]) != wanted:
            yield words.ROW_CHANGED.format(row=row_id, table=table)


def _built(db: Connection) -> Iterator[str]:
    """The tables, guards and views themselves, and what is said of how they came about."""
    for found in (*shape.differences(db, newest_version()), *wrong_views(db)):
        yield words.SHAPE_FAULT.format(found=found)
    if not db.execute("SELECT 1 FROM sqlite_master WHERE type = 'index' AND name = ?", (INDEX_OF_STEPS,)).fetchone():
        yield words.SHAPE_FAULT.format(
            found=words.SCHEMA_MISSING.format(kind=words.SCHEMA_KINDS["index"], name=INDEX_OF_STEPS)
        )
    made = {row[0] for row in db.execute("SELECT name FROM _sqlite_migrations WHERE migration_set = 'restpoint'")}
    if made != {step.__name__ for step in schema.MIGRATIONS}:
        found = words.SCHEMA_CHANGED.format(kind=words.SCHEMA_KINDS["table"], name="_sqlite_migrations")
        yield words.SHAPE_FAULT.format(found=found)


def _kept(db: Connection) -> Iterator[str]:
    """What is kept for the views, unless it is still to be made by the rules of this version."""
    if kept.is_made(db):
        for table, count in kept.differences(db):
            yield grammar.plural(count, words.KEPT_DIFFERS).format(table=table, count=count)


def _states(db: Connection) -> Iterator[str]:
    """The rows that change, against the last entry about each."""
    said = {"gone": words.ROW_GONE, "changed": words.ROW_NOT_AS_LOGGED, "past": words.ROW_PAST_THE_LOG}
    for odd in states.odd_rows(db):
        if odd.only_lacks:  # columns came since: read in a copy, or nothing was written of the row since
            continue
        yield said[odd.why].format(row=odd.key, table=odd.table, columns=grammar.COMMA.join(_columns(odd)))
    for table, name, columns in states.moved_rows(db):
        yield words.ROW_MOVED.format(row=name, table=table, columns=grammar.COMMA.join(columns))


def _columns(odd: states.Odd) -> list[str]:
    if odd.row is None or odd.logged is None:
        return []
    return [column for column in odd.row if odd.row[column] != odd.logged.get(column)]


def _order(db: Connection, told: _Told) -> Iterator[str]:
    """Rows are counted without a gap, and those of one bench in the order of its log: which try came last decides what
    a unit comes to. Where a log was carried on twice, so in each of its branches."""
    out = _out_of_order(db, told)
    for table, counter in _COUNTED.items():
        many, first, last = db.execute(f"SELECT count(*), min({counter}), max({counter}) FROM {table}").fetchone()
        if many and (first, last) != (1, many):
            yield words.NOT_COUNTED_THROUGH.format(table=table)
        elif table in out:
            yield words.OUT_OF_ORDER.format(table=table)


def _out_of_order(db: Connection, told: _Told) -> set[str]:
    """Tables in which a row stands before one that the same branch of a log added earlier."""
    seqs = {table: dict(db.execute(f"SELECT id, seq FROM {table}")) for table in _COUNTED if table != "log"}
    wrong: set[str] = set()
    bench, seq = "", 0
    before: dict[str, dict[str, int]] = {}  # hash of an entry → table → the last place that its branch has come to
    here: dict[str, dict[str, int]] = {}
    for row in chain.log_rows(db):
        if row.bench_id != bench:
            before, here = {}, {}
        elif row.seq != seq:
            before, here = here, {}
        bench, seq = row.bench_id, row.seq
        places = {"log": row.entry}
        if added := told.added.get(row.entry):
            table, name = added
            places[table] = seqs[table].get(name, 0)
        come = dict(before.get(row.previous, {}))
        for table, place in places.items():
            if place and place < come.get(table, 0):
                wrong.add(table)
            come[table] = max(place, come.get(table, 0))
        here[row.hash] = come
    return wrong


def _search(db: Connection) -> Iterator[str]:
    """What the search index is made of has to be what stands in the unit."""
    for unit_id, found, tag, model, serial, claim in db.execute(
        "SELECT id, search_text, tag, model, serial, claim FROM units"
    ):
        if found != search_text(Unit(unit_id, tag, model, serial=serial, claim=claim)):
            yield words.ROW_NOT_AS_LOGGED.format(row=unit_id, table="units", columns="search_text")


def _adders(db: Connection) -> Mapping[str, set[tuple[str, str]]]:
    """SHA-256 → the rows that name it."""
    found: dict[str, set[tuple[str, str]]] = defaultdict(set)
    for table, column, _ in states.FILES:
        for sha256, name in db.execute(f"SELECT {column}, id FROM {table} WHERE {column} <> ''"):
            found[sha256].add((table, name))
    return found


def _files(db: Connection, root: Path, told: _Told, notes: list[str]) -> Iterator[str]:
    """Every capture and photo that a row names, by its hash."""
    missing = 0
    own, adders = frozenset(states.benches_here(db)), _adders(db)
    for folder, sha256 in states.named_files(db):
        path = states.file_of(root, folder, sha256) if files.is_sha256(sha256) else None
        if path is None:
            if told.missing.was_missing(sha256, adders[sha256], own):
                missing += 1
            else:
                yield words.CAPTURE_GONE.format(folder=folder, sha256=sha256)
        elif not files.is_whole(path, sha256):
            yield words.CAPTURE_CHANGED.format(folder=folder, sha256=sha256)
    if missing:
        notes.append(grammar.plural(missing, words.MISSING_SINCE_BEFORE).format(count=missing))


def _against(db: Connection, noted: Iterable[Noted]) -> Iterator[str]:
    """What certificates, exports and back-ups hold of the log must stand in it still."""
    for one in noted:
        for head in one.heads:
            here = [
                row[0]
                for row in db.execute("SELECT hash FROM log WHERE bench_id = ? AND seq = ?", (head.bench, head.entry))
            ]
            if head.hash in here:
                continue
            template = words.HEAD_IS_OTHER if here else words.HEAD_IS_GONE
            yield template.format(where=one.where, entry=head.entry, bench=head.bench)


def _rows(db: Connection, table: str, key: str, ids: Iterable[str], order: Sequence[str] = ("1",)) -> Iterator[Row]:
    wanted = list(ids)
    cursor = db.execute(
        f"SELECT * FROM {table} WHERE {key} IN ({', '.join('?' * len(wanted))}) ORDER BY {', '.join(order)}", wanted
    )
    names = [d[0] for d in cursor.description]
    for row in cursor:
        yield dict(zip(names, row, strict=True))
