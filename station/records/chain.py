"""The log: one row for each thing that was recorded, each with the hash of the row before (a hash chain per bench).

A row's hash is SHA-256 of `previous`, `bench_id`, `seq`, `at` and `event` joined by line feeds; `event` is canonical
JSON (RFC 8785) and names the row it is about, with the digest of that row's content. So a changed, removed or
slipped-in row shows. What a chain cannot show: that its last rows were cut off together with what they are about.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from sqlite3 import Connection
from typing import Any

from station.records.canonical import canonical_json, sha256_text

GENESIS = "0" * 64


class Logged(StrEnum):
    """What an entry tells of: its word in the log."""

    LOT_ADDED = "lot added"
    LOT_CHANGED = "lot changed"
    UNIT_ADDED = "unit added"
    UNIT_CHANGED = "unit changed"
    OVERRIDE_ADDED = "override added"
    VISIT_STARTED = "visit started"
    VISIT_FINISHED = "visit finished"
    RESULT_ADDED = "result added"
    TREATMENT_ADDED = "treatment added"
    NOTE_ADDED = "note added"
    CAME_BACK = "came back"
    PART_ADDED = "part added"
    PART_MOVED = "part moved"
    WITHDRAWN = "withdrawn"
    CERTIFICATE_ADDED = "certificate added"
    BENCH_BEGUN = "bench begun"
    SETTING_CHANGED = "setting changed"
    STATES_KEPT = "states kept"
    STATE_FOUND = "state found"
    CLOCK_SET_BACK = "clock set back"
    RESTORED = "restored"
    MERGE_BEGUN = "merge begun"
    MERGED = "merged"


def link(previous: str, bench_id: str, seq: int, at: str, event: str) -> str:
    """The hash of a log row."""
    return sha256_text("\n".join((previous, bench_id, str(seq), at, event)))


def append(db: Connection, bench_id: str, at: str, event: Mapping[str, Any]) -> str:
    """Add a row at the end of this bench's chain, inside the caller's transaction; returns its hash."""
    last = db.execute("SELECT seq, hash FROM log WHERE bench_id = ? ORDER BY seq DESC LIMIT 1", (bench_id,)).fetchone()
    seq, previous = (last[0] + 1, last[1]) if last else (1, GENESIS)
    text = canonical_json(event)
    row_hash = link(previous, bench_id, seq, at, text)
    db.execute(
        "INSERT INTO log (bench_id, seq, at, event, previous, hash) VALUES (?, ?, ?, ?, ?, ?)",
        (bench_id, seq, at, text, previous, row_hash),
    )
    return row_hash


@dataclass(frozen=True, slots=True)
class Head:
    """Where a bench's log ends: what a certificate, an export and a back-up keep of it."""

    bench: str
    entry: int
    hash: str


def heads(db: Connection) -> tuple[Head, ...]:
    """The last entry of each bench, by the number of the bench."""
    found = db.execute(
        "SELECT bench_id, seq, hash FROM log l WHERE entry = "
        "(SELECT entry FROM log m WHERE m.bench_id = l.bench_id ORDER BY seq DESC, entry DESC LIMIT 1) "
        "ORDER BY bench_id"
    )
    return tuple(Head(*row) for row in found)


def heads_of(told: object) -> tuple[Head, ...]:
    """The heads in a JSON list that certificates and exports hold. ValueError if it is none."""
    try:
        found = tuple(Head(one["bench"], one["entry"], one["hash"]) for one in list(told))  # type: ignore[call-overload]
    except (TypeError, KeyError) as fault:
        raise ValueError("no list of heads") from fault
    if not all(isinstance(h.bench, str) and type(h.entry) is int and isinstance(h.hash, str) for h in found):
        raise ValueError("no list of heads")
    return found


@dataclass(frozen=True, slots=True)
class LogRow:
    """One row of the log as read."""

    entry: int
    bench_id: str
    seq: int
    at: str
    event: str
    previous: str
    hash: str


def log_rows(db: Connection) -> Iterator[LogRow]:
    """Every row, chain by chain."""
    for row in db.execute(
        "SELECT entry, bench_id, seq, at, event, previous, hash FROM log ORDER BY bench_id, seq, entry"
    ):
        yield LogRow(*row)
