"""Captures and photos that were missing already: when the rows that name them came in by a merge, or when the log of an
older file began to hold all rows. An entry may say so of those rows alone: any other file that is gone is a loss."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from station.records.chain import Logged, LogRow

Name = tuple[str, str]
"""table and row"""


@dataclass(frozen=True, slots=True)
class _Added:
    """By which entry of which bench a row came to be; `late`: that bench kept the state of every row already."""

    bench: str
    entry: int
    late: bool


@dataclass(frozen=True, slots=True)
class _Said:
    """An entry that names files as missing: rows of others that came in `after` an entry and before its own."""

    bench: str
    after: int
    entry: int
    kept: bool


class Missing:
    """Gathered while the chains are gone through, each bench's entries in their order."""

    def __init__(self) -> None:
        self.all_may_be = False
        """the file is from before that was logged"""
        self._added: dict[Name, _Added] = {}
        self._said: dict[str, list[_Said]] = defaultdict(list)
        self._last_own: dict[str, int] = {}
        self._keeps: set[str] = set()
        self._kept_at: list[int] = []

    def hear(self, row: LogRow, event: Mapping[str, Any]) -> None:
        """An entry. What is no list of names raises TypeError."""
        what = event["what"]
        if what in (Logged.MERGED, Logged.STATES_KEPT):
            kept = what == Logged.STATES_KEPT
            said = _Said(row.bench_id, self._last_own.get(row.bench_id, row.entry), row.entry, kept)
            for sha256 in event["missing"] if kept else event.get("missing", ()):
                self._said[sha256].append(said)
            if kept:
                self._kept_at.append(row.entry)
        if what in (Logged.BENCH_BEGUN, Logged.STATES_KEPT):
            self._keeps.add(row.bench_id)
        if what != Logged.STATE_FOUND:
            self._last_own[row.bench_id] = row.entry

    def added(self, row: LogRow, name: Name) -> None:
        """An entry that added a row."""
        self._added.setdefault(name, _Added(row.bench_id, row.entry, row.bench_id in self._keeps))

    def was_missing(self, sha256: str, names: Iterable[Name], own: Collection[str]) -> bool:
        """Whether the file was missing already for each of the rows that name it. `own`: the benches of this place."""
        return self.all_may_be or all(self._covers(sha256, self._added.get(name), own) for name in names)

    def _covers(self, sha256: str, added: _Added | None, own: Collection[str]) -> bool:
        if added is None:
            return False
        for said in self._said.get(sha256, ()):
            if said.kept:
                first = min((entry for entry in self._kept_at if entry > added.entry), default=0)
                if not added.late and said.entry == first:
                    return True
            elif said.after < added.entry < said.entry and added.bench not in (said.bench, *own):
                return True
        return False
