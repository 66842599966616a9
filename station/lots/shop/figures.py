"""The shop's figures: shares with their 95 % intervals, money, and where a unit stands among all of its model. Each
figure knows the units behind it. Pure.

Intervals: of shares Wilson's (`measure.binomial`), as of a lot; of cures the one that the diagnosis uses, the middle
95 % of Beta(½ + cured, ½ + tried − cured) (`diagnosis.rates`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from station.checks.types import Outcome
from station.diagnosis.rates import interval
from station.diagnosis.types import Rate
from station.judgement.claimed import OPEN
from station.lots.accounts import Sums
from station.lots.shop.columns import CLAIMS, OUTCOMES, Columns
from station.lots.sources import source_of
from station.measure.arrays import F64, I64, Bool
from station.measure.binomial import wilson
from station.records.money import UNLESS_SET
from station.records.types import BECOMES, CLAIM_STATES, Lot, currency_of

Name = Literal["came", "claims", "faults", "cures", "money", "standing"]
NAMES: tuple[Name, ...] = ("came", "claims", "faults", "cures", "money", "standing")
CAME_IN, CAME_BACK = "arrived", "returned"


@dataclass(frozen=True, slots=True, eq=False)
class Units:
    """All units that count, in the order of the rows of their `Columns`. `back`: it came back at least once."""

    ids: Sequence[str]
    tags: Sequence[str]
    models: Sequence[str]
    lot_ids: Sequence[str]
    becomes: Sequence[str]
    back: Bool

    def __len__(self) -> int:
        return len(self.ids)


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """One figure. `group`: what it belongs to (a model, a source, a check; a lot's currency); `what`: of which state,
    check and control, treatment, or lot. `count` of `of`; `bounds`: of the share, 0…1, None where none is asked.
    `units`: the rows of the units behind it."""

    group: str
    what: tuple[str, ...]
    count: int
    of: int
    units: I64
    bounds: tuple[float, float] | None = None
    sums: Sums | None = None

    @property
    def share(self) -> float:
        return self.count / self.of if self.of else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Stands:
    """Where a unit stands with a reading among all units of its model. `percentile`: so many of a hundred have a
    smaller value, those with the same counting half; `units`: the rows of all of them, the least value first;
    `values`: theirs."""

    check: str
    control: str
    name: str
    value: float
    percentile: float
    units: I64
    values: F64

    @property
    def median(self) -> float:
        return float(np.median(self.values))


@dataclass(frozen=True, slots=True, eq=False)
class ShopFigures:
    """All of it. `tables`: name → rows; `standing` is worked out for one unit at a time (`standing_of`)."""

    units: Units
    lots: dict[str, Lot]
    columns: Columns
    tables: dict[Name, tuple[Row, ...]]
    names: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """model → control → what its sheet calls it"""
    of_shop: str = UNLESS_SET
    """the shop's currency, in which units are reckoned that belong to no lot"""


def figures_of(
    units: Units,
    lots: Sequence[Lot],
    columns: Columns,
    names: Mapping[str, Mapping[str, str]] | None = None,
    of_shop: str = UNLESS_SET,
) -> ShopFigures:
    """`columns`: of the same units in the same order; `names`, `of_shop`: as in `ShopFigures`."""
    known = {lot.id: lot for lot in lots}
    tables: dict[Name, tuple[Row, ...]] = {
        "came": tuple(_came(units, columns)),
        "claims": tuple(_claims(units, known, columns)),
        "faults": tuple(_faults(units, columns)),
        "cures": tuple(_cures(columns)),
        "money": tuple(_money(units, known, columns, of_shop)),
    }
    return ShopFigures(units, known, columns, tables, names or {}, of_shop)


def _came(units: Units, columns: Columns) -> Iterator[Row]:
    n = len(units)
    if not n:
        return
    yield Row(CAME_IN, (CAME_IN,), n, n, np.arange(n))
    tested = int((columns.came_as != OUTCOMES.index(Outcome.NOT_DONE)).sum())
    for outcome in (Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL):
        rows = np.flatnonzero(columns.came_as == OUTCOMES.index(outcome))
        yield _share(CAME_IN, (outcome.value,), rows, tested)
    rows = np.flatnonzero(columns.came_as == OUTCOMES.index(Outcome.NOT_DONE))
    yield Row(CAME_IN, (Outcome.NOT_DONE.value,), len(rows), n, rows)
    becomes, names = _coded(units.becomes)
    for name in sorted(names, key=BECOMES.index):
        rows = np.flatnonzero(becomes == names[name])
        yield Row("became", (name,), len(rows), n, rows)
    sold = np.zeros(n, np.bool_) if "sold" not in names else becomes == names["sold"]
    yield _share("became", (CAME_BACK,), np.flatnonzero(units.back), int((sold | units.back).sum()))


def _claims(units: Units, lots: dict[str, Lot], columns: Columns) -> Iterator[Row]:
    """Of each source, and of all of them (""), the states of the claims that are judged, and how many are not yet."""
    of_lot = {lot_id: source_of(lot) for lot_id, lot in lots.items()}
    sources, names = _coded([of_lot.get(lot_id, "") for lot_id in units.lot_ids])
    claimed = columns.claim != 0
    many = {name: int((claimed & (sources == code)).sum()) for name, code in names.items()}
    groups: list[tuple[str, Bool]] = [("*", claimed)] if len(many) > 1 else []
    groups += [(name, claimed & (sources == names[name])) for name in sorted(many, key=lambda s: (-many[s], s))]
    for name, mine in groups:
        judged = int((mine & (columns.claim != CLAIMS.index(OPEN))).sum())
        for state in CLAIM_STATES:
            rows = np.flatnonzero(mine & (columns.claim == CLAIMS.index(state)))
            if state != OPEN:
                yield _share(name, (state,), rows, judged)
            elif len(rows):
                yield Row(name, (state,), len(rows), int(mine.sum()), rows)


def _faults(units: Units, columns: Columns) -> Iterator[Row]:
    """Of each model the checks that failed when units came in, out of those that were tested then."""
    models, names = _coded(units.models)
    tested = columns.came_as != OUTCOMES.index(Outcome.NOT_DONE)
    many = np.bincount(models[tested], minlength=len(names)).tolist()
    pair = models[columns.fault_unit].astype(np.int64) * max(len(columns.texts), 1) + columns.fault_key
    found = {name: list[tuple[int, I64]]() for name in names}
    called = list(names)
    for code, rows in _grouped(pair):
        model, key = divmod(code, max(len(columns.texts), 1))
        found[called[model]].append((key, np.unique(columns.fault_unit[rows]).astype(np.int64)))
    for name in sorted(names, key=lambda m: (-many[names[m]], m)):
        for key, behind in sorted(found[name], key=lambda f: (-len(f[1]), columns.key(f[0]))):
            yield _share(name, columns.key(key), behind, many[names[name]])


def _cures(columns: Columns) -> Iterator[Row]:
    """Of each check that had failed the treatments that were tried first, the surest first."""
    texts = max(len(columns.texts), 1)
    pair = columns.cure_check.astype(np.int64) * texts + columns.cure_kind
    found = dict[str, list[Row]]()
    for code, rows in _grouped(pair):
        check, kind = divmod(code, texts)
        cured, tried = int(columns.cured[rows].sum()), len(rows)
        behind = np.unique(columns.cure_unit[rows]).astype(np.int64)
        (called,) = columns.key(check)
        row = Row(called, columns.key(kind), cured, tried, behind, interval(Rate(cured, tried)))
        found.setdefault(called, []).append(row)
    for check_name in sorted(found, key=lambda c: (-sum(r.of for r in found[c]), c)):
        yield from sorted(found[check_name], key=lambda r: (-Rate(r.count, r.of).a / (r.of + 1.0), r.what))


def _money(units: Units, lots: dict[str, Lot], columns: Columns, of_shop: str) -> Iterator[Row]:
    """Of each currency all lots together, then each lot, the last one bought first."""
    codes, names = _coded(units.lot_ids)
    by_currency = dict[str, list[Row]]()
    for code, rows in _grouped(codes.astype(np.int64)):
        lot_id = list(names)[code]
        currency = currency_of(lots.get(lot_id), of_shop)
        row = Row(currency, (lot_id,), len(rows), len(rows), rows, sums=columns.sums(rows, currency))
        by_currency.setdefault(currency, []).append(row)
    for currency, mine in sorted(by_currency.items()):
        behind = np.sort(np.concatenate([row.units for row in mine]))
        yield Row(currency, ("*",), len(behind), len(behind), behind, sums=columns.sums(behind, currency))

        def bought(row: Row) -> tuple[str, str]:
            lot = lots.get(row.what[0])
            return (lot.bought_on, lot.id) if lot is not None else ("", "")

        yield from sorted(mine, key=bought, reverse=True)


def standing_of(shop: ShopFigures, unit_id: str) -> tuple[Stands, ...]:
    """Where a unit stands with each of its readings, the highest percentile first; none of a unit that has no
    reading."""
    columns, ids = shop.columns, shop.units.ids
    row = next((k for k, one in enumerate(ids) if one == unit_id), None)
    if row is None:
        return ()
    mine = {int(k): float(v) for k, v in _of_unit(columns, row)}
    same = np.fromiter((m == shop.units.models[row] for m in shop.units.models), np.bool_, len(ids))
    wanted = np.zeros(len(columns.texts), np.bool_)
    wanted[list(mine)] = True
    chosen = np.flatnonzero(same[columns.reading_unit] & wanted[columns.reading_key])
    found = []
    for key, places in _grouped(columns.reading_key[chosen].astype(np.int64)):
        at = chosen[places]
        at = at[np.argsort(columns.reading_value[at], kind="stable")]
        values = columns.reading_value[at]
        check, control, name = columns.key(key)
        behind = columns.reading_unit[at].astype(np.int64)
        found.append(Stands(check, control, name, mine[key], percentile(values, mine[key]), behind, values))
    return tuple(sorted(found, key=lambda s: (-abs(s.percentile - 50.0), s.check, s.control, s.name)))


def percentile(values: F64, value: float) -> float:
    """So many of a hundred values are smaller, those that are the same counting half (the mean of the percentages of
    "weak" and "strict"). `values`: sorted, at least one."""
    below, upto = np.searchsorted(values, (value, value), side="left")[0], np.searchsorted(values, value, side="right")
    return float(50.0 * (below + upto) / len(values))


def _of_unit(columns: Columns, row: int) -> Iterator[tuple[int, float]]:
    rows = np.flatnonzero(columns.reading_unit == row)
    yield from zip(columns.reading_key[rows].tolist(), columns.reading_value[rows].tolist(), strict=True)


def _share(group: str, what: tuple[str, ...], units: I64, of: int) -> Row:
    return Row(group, what, len(units), of, units, wilson(len(units), of) if of else None)


def _coded(texts: Sequence[str]) -> tuple[NDArray[np.int32], dict[str, int]]:
    """Each text as a number, and text → number in the order in which they came first."""
    names = {text: k for k, text in enumerate(dict.fromkeys(texts))}
    return np.fromiter((names[text] for text in texts), np.int32, len(texts)), names


def _grouped(codes: I64) -> Iterator[tuple[int, I64]]:
    """(code, where it stands) of each code that is there."""
    order = np.argsort(codes, kind="stable")
    ordered = codes[order]
    starts = np.flatnonzero(np.diff(ordered, prepend=ordered[0] - 1)) if len(ordered) else np.empty(0, np.int64)
    for begin, end in zip(starts.tolist(), [*starts.tolist()[1:], len(ordered)], strict=True) if len(starts) else ():
        yield int(ordered[begin]), order[begin:end]
