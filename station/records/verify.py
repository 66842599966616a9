"""Does the log hold, and do the records still say what it says? What `restpoint log verify` shows."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from sqlite3 import Connection
from typing import Any

from station.records import chain
from station.records.chain import Logged
from station.records.rows import Row, digest
from station.words import grammar
from station.words import records as words

TABLE_OF = {
    Logged.RESULT_ADDED: "results",
    Logged.TREATMENT_ADDED: "treatments",
    Logged.NOTE_ADDED: "notes",
    Logged.OVERRIDE_ADDED: "overrides",
    Logged.PART_MOVED: "shelf_moves",
}
"""which table an entry's digest is about"""
_BELOW = {"results": ("readings", "findings")}
_BATCH = 500
MAX_FAULTS = 50


@dataclass(frozen=True, slots=True)
class LogReport:
    """What was found. `heads`: (bench, number of its last entry, hash of it), to write down or print elsewhere."""

    entries: int
    heads: tuple[tuple[str, int, str], ...]
    faults: tuple[str, ...]
    """the first 50, one sentence each"""
    notes: tuple[str, ...] = ()

    @property
    def sound(self) -> bool:
        return not self.faults


def verify(db: Connection) -> LogReport:
    """Go through every chain and compare every row that a digest was logged for."""
    faults: list[str] = []
    heads: dict[str, tuple[int, str]] = {}
    notes: list[str] = []
    entries = 0
    named: dict[str, int] = defaultdict(int)
    for batch in _batches(_checked(db, faults, heads, notes), _BATCH):
        entries += len(batch)
        for table, ids in _named_in(batch, faults).items():
            named[table] += len(ids)
            faults += _changed(db, table, ids)
    for table in TABLE_OF.values():
        have = int(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0])
        if have > named[table]:
            past = have - named[table]
            faults.append(grammar.plural(past, words.PAST_THE_LOG).format(count=past, table=table))
    more = len(faults) - MAX_FAULTS
    kept = [*faults[:MAX_FAULTS], *([words.MORE_FAULTS.format(count=more)] if more > 0 else [])]
    return LogReport(entries, tuple((b, n, h) for b, (n, h) in heads.items()), tuple(kept), tuple(notes))


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
        elif here:
            notes.append(words.CARRIED_ON_TWICE.format(bench=bench, entry=seq - 1))
        if row.hash != chain.link(row.previous, row.bench_id, row.seq, row.at, row.event):
            faults.append(words.ENTRY_CHANGED.format(entry=row.seq, bench=bench, at=row.at))
        if row.previous not in before:
            faults.append(words.ENTRY_OUT_OF_LINE.format(entry=row.seq, bench=bench))
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


def _named_in(batch: Sequence[chain.LogRow], faults: list[str]) -> dict[str, dict[str, str]]:
    """table → id → digest of the entries of this batch that carry one."""
    named: dict[str, dict[str, str]] = defaultdict(dict)
    for row in batch:
        try:
            event = json.loads(row.event)
            table = TABLE_OF.get(event["what"])
            if table is not None:
                named[table][event["id"]] = event["digest"]
        except (ValueError, KeyError, TypeError):
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


def _rows(db: Connection, table: str, key: str, ids: Iterable[str], order: Sequence[str] = ("1",)) -> Iterator[Row]:
    wanted = list(ids)
    cursor = db.execute(
        f"SELECT * FROM {table} WHERE {key} IN ({', '.join('?' * len(wanted))}) ORDER BY {', '.join(order)}", wanted
    )
    names = [d[0] for d in cursor.description]
    for row in cursor:
        yield dict(zip(names, row, strict=True))
