"""A lot that comes in whole, and is taken back whole. Each function runs inside the caller's transaction.

What came in together is known by its time: the units of a lot that were added by one commit have one `created_at`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from sqlite3 import Connection

from station.capture.text import visible
from station.errors import InputError
from station.records import entries, withdrawing
from station.records.counted import counting
from station.records.entries import Entry
from station.records.types import Lot, Unit, Withdrawal
from station.words import grammar
from station.words import records as words

NewId = Callable[[], str]
MOST_TOLD = 6
"""tags that a sentence names"""
_UNITS, _LOTS = counting("units"), counting("lots")
_WORKED_ON = " UNION ".join(
    f"SELECT unit_id FROM {table} WHERE {counting(table)}" for table in ("visits", "treatments", "notes")
)
_GAVE = " UNION ".join(
    f"SELECT {column} FROM {table} WHERE {column} IS NOT NULL AND {counting(table)}"
    for table, column in (("shelf_parts", "source_unit_id"), ("treatments", "donor_unit_id"))
)


@dataclass(frozen=True, slots=True)
class Arrival:
    """Units that came into a lot together. `at`: when; `worked_on`: tags of those of which more is recorded since."""

    lot: Lot
    at: str
    units: tuple[Unit, ...]
    worked_on: tuple[str, ...] = ()


def take_in(entry: Entry, new_id: NewId, lot: Lot, units: Iterable[Unit]) -> Arrival:
    """Add the units to the lot, which is added too where its id is empty. InputError for what cannot be: then the
    caller's transaction keeps nothing."""
    if not lot.id:
        _is_new(entry.db, lot)
        lot = entries.add_lot(entry, lot)
    elif not entry.db.execute("SELECT 1 FROM lots WHERE id = ?", (lot.id,)).fetchone():
        raise InputError(words.NO_SUCH_LOT)
    added = (entries.add_unit(entry, replace(unit, id=new_id(), lot_id=lot.id, created_at="")) for unit in units)
    return Arrival(lot, entry.at, tuple(added))


def _is_new(db: Connection, lot: Lot) -> None:
    """InputError where a lot of that name is here: it was made since somebody looked."""
    for (name,) in db.execute(f"SELECT name FROM lots WHERE {_LOTS}"):
        if name.casefold() == lot.name.strip().casefold():
            raise InputError(words.LOT_HERE_NOW.format(lot=visible(name)))


def arrivals(db: Connection, lot: Lot, units: Sequence[Unit]) -> tuple[Arrival, ...]:
    """What came into the lot together, newest first; `units`: those of the lot. One unit alone is none."""
    by_time: dict[str, list[Unit]] = {}
    for unit in units:
        by_time.setdefault(unit.created_at, []).append(unit)
    since = {row[0] for row in db.execute(_WORKED_ON)} | {row[0] for row in db.execute(_GAVE)}
    found = (
        Arrival(lot, at, tuple(came), tuple(u.tag for u in came if u.id in since or u.becomes != "open"))
        for at, came in by_time.items()
        if len(came) > 1
    )
    return tuple(sorted(found, key=lambda arrival: arrival.at, reverse=True))


def withdraw(entry: Entry, new_id: NewId, arrival: Arrival, reason: str, person: str) -> tuple[Withdrawal, ...]:
    """Take back all units that came in together, and the lot if it came with them and has no other: all or nothing.
    InputError where one of them was worked on since, went to another lot, or was withdrawn already."""
    ids = {unit.id for unit in arrival.units}
    asked = f"SELECT id, tag, becomes FROM units WHERE created_at = ? AND lot_id = ? AND {_UNITS}"
    there = [row for row in entry.db.execute(asked, (arrival.at, arrival.lot.id)) if row[0] in ids]
    still = {row[0] for row in there}
    if gone := sorted(visible(unit.tag) for unit in arrival.units if unit.id not in still):
        raise InputError(words.WENT_SINCE.format(tags=_some(gone)))
    since = {row[0] for row in entry.db.execute(_WORKED_ON)} | {row[0] for row in entry.db.execute(_GAVE)}
    if touched := [visible(tag) for unit_id, tag, becomes in there if unit_id in since or becomes != "open"]:
        raise InputError(words.WORKED_ON_SINCE.format(tags=_some(touched)))
    done = [withdrawing.add(entry, new_id, "unit", unit_id, reason, person) for unit_id, _, _ in there]
    if _came_with_them(entry.db, arrival):
        done.append(withdrawing.add(entry, new_id, "lot", arrival.lot.id, reason, person))
    return tuple(done)


def _some(tags: Sequence[str]) -> str:
    more = len(tags) - MOST_TOLD
    told = [*tags[:MOST_TOLD], *([words.MORE_TAGS.format(count=more)] if more > 0 else [])]
    return grammar.COMMA.join(told)


def _came_with_them(db: Connection, arrival: Arrival) -> bool:
    """Whether the lot was added by the same commit, is as it was then, and is empty now."""
    empty = f"NOT EXISTS (SELECT 1 FROM units WHERE lot_id = ?1 AND {_UNITS})"
    asked = f"SELECT 1 FROM lots WHERE id = ?1 AND changed_at = ?2 AND {empty}"
    return db.execute(asked, (arrival.lot.id, arrival.at)).fetchone() is not None
