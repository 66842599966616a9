"""The facts of all units as arrays: what figures of a hundred thousand units are summed from, and what is kept between
two looks at them. A file of them can be thrown away: it is made anew from the records.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from station.checks.types import Outcome
from station.lots.accounts import KINDS, Sums
from station.lots.shop.facts import UnitFacts
from station.measure.arrays import F64, I64
from station.records.types import CLAIM_STATES

OUTCOMES = tuple(Outcome)
CLAIMS = ("", *CLAIM_STATES)
NOTHING_KEPT = np.empty(0, dtype="S1")
_JOIN = "\t"
I8 = NDArray[np.int8]
I32 = NDArray[np.int32]
Texts = NDArray[np.bytes_]
COLUMNS_OF_MONEY = len(KINDS) + 1


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """One row for each unit in the first five; in the others `…_unit` is the row of the unit.

    `ids`, `marks`: of units, and of how each stood when it was read; `came_as`, `claim`: places in `OUTCOMES` and
    `CLAIMS`; `money`: what its amounts of each of `accounts.KINDS` come to in minor units, and its minutes. Of faults,
    cures and readings the keys are places in `texts`: "check⇥control", the check, "check⇥control⇥name".
    """

    ids: Texts
    marks: Texts
    came_as: I8
    claim: I8
    money: I64
    texts: Texts
    fault_unit: I32
    fault_key: I32
    cure_unit: I32
    cure_check: I32
    cure_kind: I32
    cured: I8
    reading_unit: I32
    reading_key: I32
    reading_value: F64

    def __len__(self) -> int:
        return len(self.ids)

    def key(self, place: int) -> tuple[str, ...]:
        """What a key stands for."""
        return tuple(self.texts[place].decode().split(_JOIN))

    def sums(self, rows: I64, currency: str) -> Sums:
        """What the units in these rows come to together."""
        total = self.money[rows].sum(axis=0, dtype=np.int64).tolist()
        return Sums(currency, dict(zip(KINDS, total[:-1], strict=True)), total[-1])


_TABLES = {
    "fault_unit": ("fault_unit", "fault_key"),
    "cure_unit": ("cure_unit", "cure_check", "cure_kind", "cured"),
    "reading_unit": ("reading_unit", "reading_key", "reading_value"),
}


def no_columns() -> Columns:
    empty = {"came_as": np.int8, "claim": np.int8, "cured": np.int8, "reading_value": np.float64}
    made: dict[str, Any] = {f.name: np.empty(0, empty.get(f.name, np.int32)) for f in fields(Columns)}
    made |= dict.fromkeys(("ids", "marks", "texts"), NOTHING_KEPT)
    return Columns(**{**made, "money": np.empty((0, COLUMNS_OF_MONEY), np.int64)})


def with_facts(old: Columns, facts: Mapping[str, tuple[str, UnitFacts]]) -> Columns:
    """`facts`: id → (its mark, what is known of it now), in the place of what was known. Money stays what it was, and
    is nought for units that are new."""
    if not facts:
        return old
    place = {unit: k for k, unit in enumerate(_decoded(old.ids))}
    new = [unit for unit in facts if unit not in place]
    place |= {unit: len(old) + k for k, unit in enumerate(new)}
    texts = dict(zip(_decoded(old.texts), range(len(old.texts)), strict=True))

    def key(*parts: str) -> int:
        return texts.setdefault(_JOIN.join(parts), len(texts))

    count, stale = len(place), np.fromiter((place[u] for u in facts), np.int64, len(facts))
    came_as, claim = np.zeros(count, np.int8), np.zeros(count, np.int8)
    came_as[: len(old)], claim[: len(old)] = old.came_as, old.claim
    came_as[stale] = [OUTCOMES.index(f.came_as) for _, f in facts.values()]
    claim[stale] = [CLAIMS.index(f.claim) for _, f in facts.values()]
    marks = [*_decoded(old.marks), *("" for _ in new)]
    added: dict[str, list[float]] = {name: [] for names in _TABLES.values() for name in names}
    for unit, (mark, fact) in facts.items():
        row = place[unit]
        marks[row] = mark
        for fault in fact.faults:
            _append(added, _TABLES["fault_unit"], row, key(*fault))
        for cure in fact.cures:
            _append(added, _TABLES["cure_unit"], row, key(cure.check), key(cure.kind), cure.cured)
        for name, value in fact.readings:
            _append(added, _TABLES["reading_unit"], row, key(*name), value)
    money = np.zeros((count, COLUMNS_OF_MONEY), np.int64)
    money[: len(old)] = old.money
    long = {name: column for table in _TABLES for name, column in _renewed(old, table, stale, count, added).items()}
    ids = _encoded([*_decoded(old.ids), *new])
    return Columns(ids, _encoded(marks), came_as, claim, money, _encoded(list(texts)), **long)


def _append(added: dict[str, list[float]], names: Sequence[str], *values: float) -> None:
    for name, value in zip(names, values, strict=True):
        added[name].append(value)


def _renewed(
    old: Columns, table: str, stale: I64, count: int, added: Mapping[str, Sequence[float]]
) -> dict[str, NDArray[Any]]:
    """The columns of a table without the rows of stale units, and with those that were added."""
    is_stale = np.zeros(count, np.bool_)
    is_stale[stale] = True
    keep = ~is_stale[getattr(old, table)]
    return {
        name: np.concatenate((getattr(old, name)[keep], np.asarray(added[name], dtype=getattr(old, name).dtype)))
        for name in _TABLES[table]
    }


def with_money(old: Columns, money: Mapping[str, Sums]) -> Columns:
    """`money`: id → what the unit comes to; ids that are not there are left out."""
    if not money:
        return old
    changed = old.money.copy()
    place = {unit: k for k, unit in enumerate(_decoded(old.ids))}
    for unit, sums in money.items():
        if unit in place:
            changed[place[unit]] = (*(sums.by_kind.get(kind, 0) for kind in KINDS), sums.minutes)
    return replace(old, money=changed)


def in_order(old: Columns, ids: Sequence[str]) -> Columns:
    """The rows of these units in this order; others are left out. KeyError for one that is not there."""
    wanted = _encoded(ids)
    if old.ids.shape == wanted.shape and bool((old.ids == wanted).all()):
        return old
    place = {unit: k for k, unit in enumerate(_decoded(old.ids))}
    rows = np.fromiter((place[unit] for unit in ids), np.int64, len(ids))
    moved = np.full(len(old), -1, np.int32)
    moved[rows] = np.arange(len(rows), dtype=np.int32)
    long: dict[str, NDArray[Any]] = {}
    for table, names in _TABLES.items():
        unit = moved[getattr(old, table)]
        keep = unit >= 0
        long |= {name: getattr(old, name)[keep] for name in names}
        long[table] = unit[keep]
    short = {name: getattr(old, name)[rows] for name in ("marks", "came_as", "claim", "money")}
    return replace(old, ids=wanted, **short, **long)


def marks_of(columns: Columns) -> dict[str, str]:
    """Id → mark."""
    return dict(zip(_decoded(columns.ids), _decoded(columns.marks), strict=True))


def to_bytes(columns: Columns, notes: Mapping[str, str]) -> bytes:
    """As a file. `notes`: what they rest on, by name."""
    file = io.BytesIO()
    arrays = {f.name: getattr(columns, f.name) for f in fields(Columns)}
    np.savez(file, allow_pickle=False, notes=np.array([[k, v] for k, v in notes.items()]), **arrays)
    return file.getvalue()


def from_bytes(content: bytes) -> tuple[Columns, dict[str, str]] | None:
    """What `to_bytes` was given; None for any other bytes."""
    try:
        with np.load(io.BytesIO(content), allow_pickle=False) as file:
            columns = Columns(**{f.name: file[f.name] for f in fields(Columns)})
            return columns, dict(file["notes"].tolist())
    except (KeyError, ValueError, OSError, EOFError, BadZipFile):
        return None


def _decoded(texts: Texts) -> list[str]:
    return [text.decode() for text in texts.tolist()]


def _encoded(texts: Sequence[str]) -> Texts:
    return np.array([text.encode() for text in texts]) if texts else NOTHING_KEPT
