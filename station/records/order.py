"""In which order things were recorded, where the clock says otherwise.

Times come from the computer's clock, and a clock that ran ahead and was then set right makes what was recorded before
look newer than what was recorded after. The log knows better: each bench counts its entries. An entry whose time lies
before that of an earlier one of its bench shows that the clock was set back, and what had been recorded under a later
time was recorded before that moment. A clock that runs ahead and is never set right cannot be seen.

Of benches that were merged each has its own log; between them the times decide.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import timedelta
from sqlite3 import Connection
from typing import TypeVar

from station.records.clock import parse_time, time_text
from station.records.types import Result, Treatment, Visit

_Ordered = TypeVar("_Ordered", Result, Treatment, Visit)
SLACK = timedelta(seconds=5)
"""a clock that is set back by less was only put right by the network; so long, too, a row may wait for its log entry"""


class SetBacks:
    """The entries with which the clock of a bench was set back, in the order in which they came here. Which one comes
    next for a row is found by passing over blocks of them, not by looking at each: of 10,000, in a few dozen steps."""

    def __init__(self) -> None:
        self._blocks: list[list[tuple[int, str]]] = [[]]
        """[k][j]: the greatest number and the least time of entries j·2ᵏ … (j+1)·2ᵏ − 1, whole blocks only; [0] has the
        entries themselves"""
        self.earliest = "~"

    def append(self, entry: int, now: str) -> None:
        """`entry`: its number; `now`: what the clock says since, as `time_text` writes it."""
        self.earliest = min(self.earliest, now)
        self._blocks[0].append((entry, now))
        level = 0
        while len(self._blocks[level]) % 2 == 0:
            if level + 1 == len(self._blocks):
                self._blocks.append([])
            (one, then), (other, since) = self._blocks[level][-2:]
            self._blocks[level + 1].append((max(one, other), min(then, since)))
            level += 1

    def place(self, entry: int, at: str) -> str:
        """Where a row of that entry and time stands: each later entry that says a time before it puts that time in
        front, so that it sorts before what came after that moment; what is in front is then compared."""
        parts, key, k = [at], at, 0
        while (found := self._next(k, entry, key)) is not None:
            key = f"{self._blocks[0][found][1][:-1]} "  # a blank sorts before the Z of a time
            parts.append(key)
            k = found + 1
        return "".join(reversed(parts))

    def _next(self, k: int, entry: int, key: str) -> int | None:
        """The first from k on that has a greater number and a time before the key."""
        blocks = self._blocks
        while k < len(blocks[0]):
            level, j, passed = 0, k, -1
            while j < len(blocks[level]) and (blocks[level][j][0] <= entry or blocks[level][j][1] >= key):
                passed = level
                if j % 2 or level + 1 == len(blocks):
                    break
                level, j = level + 1, j // 2
            if passed < 0:
                return k
            k += 1 << passed  # the largest block that begins here and surely holds none
        return None


@dataclass(slots=True)
class _Scan:
    """What was read of a log so far. `set_back`: bench → where its clock was set back; `at`: bench → the latest time
    since."""

    entry: int = 0
    hash: str = ""
    set_back: dict[str, SetBacks] = field(default_factory=dict)
    at: dict[str, str] = field(default_factory=dict)
    places: dict[str, tuple[str, int]] = field(default_factory=dict)
    placed: int = 0


_scans: dict[str, _Scan] = {}
_lock = threading.Lock()


def in_order(db: Connection, rows: Iterable[_Ordered]) -> tuple[_Ordered, ...]:
    """The rows, in the order given, each with where it stands by the log (`ordered`), where that is not its time."""
    found = tuple(rows)
    if not found:
        return found
    with _lock:
        scan = _scanned(db)
        earliest = min((every.earliest for every in scan.set_back.values()), default="~")
        if all(_time_of(row) <= earliest for row in found):
            return found
        places = _places(db, scan)
        return tuple(_placed(row, places.get(row.id), scan) for row in found)


def clock_ran_ahead(row: Result | Treatment | Visit) -> bool:
    """Whether it was recorded under a time that had not come yet: the clock was set back afterwards."""
    return bool(row.ordered)


def read(db: Connection) -> None:
    """Read the log once, which takes a moment of a long one, so that nobody has to wait for it later."""
    with _lock:
        _scanned(db)


def _time_of(row: Result | Treatment | Visit) -> str:
    return row.started_at if isinstance(row, Visit) else row.at


def _placed(row: _Ordered, place: tuple[str, int] | None, scan: _Scan) -> _Ordered:
    if place is None:
        return row
    set_back, at = scan.set_back.get(place[0]), _time_of(row)
    key = at if set_back is None else set_back.place(place[1], at)
    return row if key == at else replace(row, ordered=key)


def _scanned(db: Connection) -> _Scan:
    """What the log says of its clocks; of a file that was read before only what is new is looked at."""
    path = next((str(row[2]) for row in db.execute("PRAGMA database_list") if row[1] == "main"), "")
    scan = _scans.get(path)
    if scan is None or not _still(db, scan):
        scan = _scans[path] = _Scan()
    for entry, bench, seq, at, chained in _since(db, scan.entry):
        before = scan.at.get(bench, "")
        if at < before and at < time_text(parse_time(before) - SLACK):
            scan.set_back.setdefault(bench, SetBacks()).append(seq, time_text(parse_time(at) - SLACK))
            scan.at[bench] = at
        else:
            scan.at[bench] = max(at, before)
        scan.entry, scan.hash = entry, chained
    return scan


def _still(db: Connection, scan: _Scan) -> bool:
    """Whether the file is the one that was read: another may have been put in its place."""
    row = db.execute("SELECT hash FROM log WHERE entry = ?", (scan.entry,)).fetchone()
    return scan.entry == 0 or (row is not None and row[0] == scan.hash)


def _since(db: Connection, entry: int) -> Iterator[tuple[int, str, int, str, str]]:
    yield from db.execute("SELECT entry, bench_id, seq, at, hash FROM log WHERE entry > ? ORDER BY entry", (entry,))


def _places(db: Connection, scan: _Scan) -> dict[str, tuple[str, int]]:
    """Id of a row → the bench that recorded it and the number of the entry that first names it. Only asked for where a
    clock was set back."""
    if scan.placed < scan.entry:
        asked = (
            "SELECT json_extract(event, '$.id'), bench_id, seq FROM log WHERE entry > ? AND entry <= ? AND "
            "json_extract(event, '$.what') IN ('result added', 'treatment added', 'visit started') ORDER BY entry"
        )
        for row_id, bench, seq in db.execute(asked, (scan.placed, scan.entry)):
            scan.places.setdefault(row_id, (bench, seq))
        scan.placed = scan.entry
    return scan.places
