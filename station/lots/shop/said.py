"""The shop's figures in words: cells of tables, what a chart draws of them, and files."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from station.checks.registry import describe, reading_kind, title_of
from station.checks.said import reading_name
from station.lots.accounts import Sums
from station.lots.shop.figures import CAME_BACK, Name, Row, ShopFigures, Stands
from station.measure.arrays import I64
from station.records.export import cell
from station.records.types import currency_of
from station.words import common, figures, grammar
from station.words import shop as words
from station.words.grammar import sentence_start, spoken_name

ALL = "*"
HEADS: dict[Name, tuple[str, ...]] = {
    "came": ("group", "what", "units", "of", "share", "low", "high"),
    "claims": ("source", "claim", "units", "of", "share", "low", "high"),
    "faults": ("model", "check", "control", "units", "of", "share", "low", "high"),
    "cures": ("check", "treatment", "cured", "tried", "share", "low", "high"),
    "money": ("lot", "currency", "units", "minutes", "profit", "profit_a_unit", "profit_an_hour"),
    "standing": ("check", "control", "reading", "value", "median", "percentile", "units"),
}
"""the columns of the files, by table: the same in every language, since programs read them"""


@dataclass(frozen=True, slots=True, eq=False)
class ShownRow:
    """A row as it is shown. `value`, `low`, `high`: what a chart draws of it, in the unit of the chart's axis; low and
    high None where there is no interval. `units`: those behind it. `group`: of the rows that begin with it, else "".
    """

    label: str
    cells: tuple[str, ...]
    value: float
    units: I64
    low: float | None = None
    high: float | None = None
    group: str = ""
    whole: str = ""
    """the label with its group, where that says more"""


@dataclass(frozen=True, slots=True, eq=False)
class ShownTable:
    """`drawn`: what a chart draws of it; `span`: of its axis, from where to where; `axis`: its unit; `middle`: from
    where the bars go."""

    title: str
    note: str
    heads: tuple[str, ...]
    rows: tuple[ShownRow, ...]
    drawn: str = ""
    span: tuple[float, float] = (0.0, 100.0)
    axis: str = "%"
    middle: float = 0.0


def shown_table(name: Name, shop: ShopFigures) -> ShownTable:
    """A table of figures, other than where a unit stands."""
    rows = shop.tables[name]
    groups = [row.group for row in rows]
    made = [_shown(name, row, shop, k == 0 or groups[k - 1] != row.group) for k, row in enumerate(rows)]
    table = ShownTable(words.TITLES[name], words.NOTES[name], words.HEADS[name], tuple(made), words.DRAWN[name])
    if name != "money" or not made:
        return table
    least, most = min(0.0, *(r.value for r in made)), max(0.0, *(r.value for r in made))
    currencies = grammar.COMMA.join(dict.fromkeys(groups))
    return replace(table, span=(least, most or 1.0), axis=currencies)


def standing_table(shop: ShopFigures, unit_id: str, stands: Sequence[Stands]) -> ShownTable:
    """Where a unit stands."""
    at = next((k for k, one in enumerate(shop.units.ids) if one == unit_id), None)
    if at is None:
        return ShownTable(words.STANDING_OF_NONE, words.NO_UNIT, words.HEADS["standing"], ())
    tag, model = shop.units.tags[at], shop.units.models[at]
    title = words.TITLES["standing"].format(tag=tag, model=model)
    rows = []
    for one in stands:
        kind = reading_kind(one.check, one.name)[0]
        unit = "" if kind.unit == "count" else kind.unit
        label = words.READING.format(
            what=_fault(one.check, one.control, model, shop), reading=reading_name(one.check, one.name)
        )
        mine, middle = (figures.with_unit(figures.number(v, 2), unit) for v in (one.value, one.median))
        cells = (label, mine, middle, figures.number(one.percentile, 0), figures.number(len(one.values), 0))
        rows.append(ShownRow(label, cells, one.percentile, one.units))
    note = words.NOTES["standing"] if rows else words.NO_READINGS.format(tag=tag)
    return ShownTable(title, note, words.HEADS["standing"], tuple(rows), words.DRAWN["standing"], axis="", middle=50.0)


def _shown(name: Name, row: Row, shop: ShopFigures, first: bool) -> ShownRow:
    if name == "money":
        return _of_money(row, shop)
    share, group, whole = _share_text(row), "", ""
    count = figures.number(row.count, 0)
    if name == "came":
        label = words.CAME[row.what[0]]
        of = words.K_OF_N.format(k=count, n=figures.number(row.of, 0)) if row.what == (CAME_BACK,) else count
        cells: tuple[str, ...] = (label, of, share)
    elif name == "claims":
        source = words.ALL_SOURCES if row.group == ALL else row.group or words.NO_SOURCE
        state = common.CLAIM_STATES[row.what[0]]
        label, group = state, sentence_start(source)
        whole = words.FAULT.format(control=group, check=state)
        cells = (group, state, count, share)
    elif name == "faults":
        check, control = row.what
        label, group = _fault(check, control, row.group, shop), row.group
        whole = words.READING.format(what=group, reading=label)
        cells = (group, label, words.K_OF_N.format(k=count, n=figures.number(row.of, 0)), share)
    else:
        group, label = sentence_start(title_of(row.group)), common.TREATMENT_KINDS.get(row.what[0], row.what[0])
        whole = words.FAULT.format(control=group, check=label)
        of = words.K_OF_N.format(k=count, n=figures.number(row.of, 0))
        cells = (group, label, of, share)
    low, high = (100.0 * bound for bound in row.bounds) if row.bounds is not None else (None, None)
    return ShownRow(label, cells, 100.0 * row.share, row.units, low, high, group if first else "", whole)


def _of_money(row: Row, shop: ShopFigures) -> ShownRow:
    assert row.sums is not None
    (lot_id,) = row.what
    lot = shop.lots.get(lot_id)
    name = words.ALL_LOTS if lot_id == ALL else words.NO_LOT
    label = lot.name if lot is not None else name.format(currency=row.group)
    minutes = figures.number(row.sums.minutes / row.count, 0)
    a_unit = row.sums.profit / row.count
    cells = (
        label,
        figures.number(row.count, 0),
        minutes,
        figures.money(row.sums.profit, row.group),
        figures.money(round(a_unit), row.group),
        an_hour(row.sums),
    )
    return ShownRow(label, cells, a_unit / 100.0, row.units)


def an_hour(sums: Sums) -> str:
    """What an hour of work brought; a dash where nobody worked."""
    return words.NONE if sums.per_hour is None else figures.money(sums.per_hour, sums.currency)


def _share_text(row: Row) -> str:
    share = figures.number(100.0 * row.share, 0)
    if not row.of:
        return words.NONE
    if row.bounds is None:
        return words.SHARE_ALONE.format(share=share)
    low, high = (figures.number(100.0 * bound, 0) for bound in row.bounds)
    return words.SHARE.format(share=share, low=low, high=high)


def _check(check: str) -> str:
    return sentence_start(describe(check).short or spoken_name(title_of(check)))


def _fault(check: str, control: str, model: str, shop: ShopFigures) -> str:
    """ "Left stick: at rest"."""
    if not control:
        return _check(check)
    name = shop.names.get(model, {}).get(control) or sentence_start(control.replace("_", " "))
    return words.FAULT.format(control=name, check=spoken_name(_check(check)))


# --- the units behind a figure -------------------------------------------------------------------------------


def unit_cells(shop: ShopFigures, row: int) -> tuple[str, ...]:
    """A unit as it stands in the list behind a figure."""
    units = shop.units
    lot = shop.lots.get(units.lot_ids[row])
    currency = currency_of(lot, shop.of_shop)
    sums = shop.columns.sums(np.array([row]), currency)
    return (
        units.tags[row],
        units.models[row],
        lot.name if lot is not None else "",
        common.BECOMES[units.becomes[row]],
        figures.number(sums.minutes, 0),
        figures.money(sums.profit, currency),
        an_hour(sums),
    )


# --- files ---------------------------------------------------------------------------------------------------


def table_csv(name: Name, shop: ShopFigures, stands: Sequence[Stands] = ()) -> bytes:
    """All rows of a table, for another program: UTF-8 with a byte order mark, commas, points as decimal signs, shares
    0…1, money in whole minor units, names as the records have them."""
    rows: list[Sequence[object]] = [HEADS[name]]
    if name == "standing":
        rows += [(s.check, s.control, s.name, s.value, s.median, s.percentile, len(s.values)) for s in stands]
    else:
        rows += [_raw(name, row, shop) for row in shop.tables[name]]
    text = io.StringIO()
    csv.writer(text).writerows([[cell(value) for value in row] for row in rows])
    return text.getvalue().encode("utf-8-sig")


def _raw(name: Name, row: Row, shop: ShopFigures) -> Sequence[object]:
    if row.sums is not None:
        lot = shop.lots.get(row.what[0])
        called = lot.name if lot is not None else row.what[0]
        profit, count = row.sums.profit, row.count
        hour = "" if row.sums.per_hour is None else row.sums.per_hour
        return (called, row.group, count, row.sums.minutes, profit, round(profit / count), hour)
    low, high = row.bounds if row.bounds is not None else ("", "")
    return (row.group, *row.what, row.count, row.of, round(row.share, 6), low, high)
