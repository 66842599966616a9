"""The shop in figures: intervals and percentiles against SciPy, and what is gone on from against what is read anew."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from station.app import shop_figures
from station.app.shelf_of_sheets import SheetShelf
from station.app.shop_figures import FILE_NAME, ShopReader
from station.checks.types import Assessment, Outcome, Reading
from station.lots.accounts import Kept, entries_of, unit_accounts
from station.lots.shop.columns import from_bytes, no_columns, to_bytes, with_facts
from station.lots.shop.facts import Cure, UnitFacts
from station.lots.shop.figures import ShopFigures, Units, figures_of, percentile, standing_of
from station.lots.shop.said import HEADS, shown_table, standing_table, table_csv, unit_cells
from station.records.store import Store
from station.records.types import Comeback, Lot, Result, Treatment, Unit, UnitHistory
from station.ui.ports import FiguresReading, FiguresReady
from tests.records.records_kit import HandClock, open_store

FAIL, PASS = Outcome.FAIL, Outcome.PASS
NAMES = ("came", "claims", "faults", "cures", "money")


# --- against SciPy -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(12))
def test_a_percentile_is_that_of_scipy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    values = np.sort(np.round(rng.normal(5.0, 2.0, rng.integers(1, 400)), rng.integers(0, 3)))
    for value in (*rng.choice(values, 5), values[0] - 1.0, values[-1] + 1.0, float(np.median(values))):
        expected = stats.percentileofscore(values, value, kind="mean")
        assert percentile(values, float(value)) == pytest.approx(expected, abs=1e-9)


def _made(facts: list[UnitFacts], models: list[str] | None = None) -> ShopFigures:
    columns = with_facts(no_columns(), {f"u{k}": ("m", fact) for k, fact in enumerate(facts)})
    n = len(facts)
    ids = [f"u{k}" for k in range(n)]
    units = Units(ids, ids, models or ["Plover"] * n, [""] * n, ["open"] * n, np.zeros(n, np.bool_))
    return figures_of(units, (), columns)


@pytest.mark.parametrize(("cured", "tried"), [(0, 1), (1, 1), (3, 12), (40, 55), (0, 30), (30, 30)])
def test_the_interval_of_cures_is_jeffreys(cured: int, tried: int) -> None:
    made = _made([UnitFacts(FAIL, cures=(Cure("rest", "clean the sensor", k < cured),)) for k in range(tried)])
    (row,) = made.tables["cures"]
    assert (row.group, row.what, row.count, row.of) == ("rest", ("clean the sensor",), cured, tried)
    expected = stats.beta.ppf((0.025, 0.975), cured + 0.5, tried - cured + 0.5)
    assert row.bounds == pytest.approx(tuple(expected), abs=1e-9)


@pytest.mark.parametrize(("failed", "tested"), [(0, 5), (1, 1), (7, 20), (199, 200)])
def test_the_interval_of_shares_is_wilsons(failed: int, tested: int) -> None:
    faults = [UnitFacts(FAIL, faults=(("rest", "left_stick"),))] * failed + [UnitFacts(PASS)] * (tested - failed)
    made = _made([*faults, UnitFacts(Outcome.NOT_DONE)])
    expected = stats.binomtest(failed, tested).proportion_ci(0.95, method="wilson")
    came = next(r for r in made.tables["came"] if r.what == ("fail",))
    assert (came.count, came.of) == (failed, tested)
    for row in (came, *made.tables["faults"]):
        assert row.bounds == pytest.approx((expected.low, expected.high), abs=1e-9)
    assert len(made.tables["faults"]) == bool(failed)


def test_a_unit_stands_among_those_of_its_model_alone() -> None:
    key = ("rest", "left_stick", "offset")
    values = [1.0, 2.0, 2.0, 3.0, 9.0, 100.0]
    made = _made([UnitFacts(PASS, readings=((key, v),)) for v in values], ["Plover"] * 5 + ["Heron"])
    (stands,) = standing_of(made, "u1")
    assert (stands.check, stands.control, stands.name, stands.value) == (*key, 2.0)
    assert stands.percentile == pytest.approx(stats.percentileofscore(values[:5], 2.0, kind="mean"))
    assert stands.values.tolist() == values[:5]
    assert stands.units.tolist() == [0, 1, 2, 3, 4]
    assert stands.median == 2.0
    assert standing_of(made, "nobody") == ()


# --- out of records ------------------------------------------------------------------------------------------


def _result(visit: str, check: str, outcome: Outcome, control: str = "left_stick", value: float = 1.0) -> Result:
    readings = (Reading("offset", value, "%", 0.3, 5.0, 10.0, "<=", 300),)
    return Result("", visit, check, control, 0, "", Assessment(outcome, readings))


@pytest.fixture
def store(tmp_path: Path):
    with open_store(tmp_path, clock=HandClock("2026-11-02T10:00:00+00:00")) as made:
        yield made


def _fill(store: Store) -> dict[str, Unit]:
    """A lot of three from a market, and a unit without a lot."""
    lot = store.add_lot(Lot("", "A", "2026-11-01", cost_minor=1000, source="market", postage_minor=500))
    units = {
        tag: store.add_unit(Unit("", tag, "Plover T2", lot.id if tag != "X" else None, claim=claim))
        for tag, claim in (("A", "left stick drifts"), ("B", "drifts"), ("C", ""), ("X", ""))
    }
    for tag, outcome in (("A", FAIL), ("B", PASS), ("C", FAIL)):
        visit = store.start_visit(units[tag].id, "intake")
        store.add_result(_result(visit.id, "rest", outcome, value=14.0 if outcome is FAIL else 1.0))
        store.finish_visit(visit.id)
    for tag, outcome in (("A", PASS), ("C", FAIL)):
        store.add_treatment(Treatment("", units[tag].id, "clean the sensor", "", minutes=30, cost_minor=40))
        visit = store.start_visit(units[tag].id, "after treatment")
        store.add_result(_result(visit.id, "rest", outcome, value=2.0))
        store.finish_visit(visit.id)
    sold = replace(store.unit(units["A"].id), becomes="sold", sold_minor=3000, sold_on="2026-11-10", fees_minor=300)
    store.change_unit(sold, reason="early")
    return units


def test_a_treatment_of_which_the_guide_says_nothing_counts_where_one_control_had_failed(store: Store) -> None:
    """The shop's own history says what a spray cures, also where the guide does not know: but not what of two faults
    it went for."""
    for tag, others, after in (("D", (), PASS), ("E", (), FAIL), ("F", ("right_stick",), PASS)):
        unit = store.add_unit(Unit("", tag, "Plover T2"))
        for kind, outcome in (("intake", FAIL), ("after treatment", after)):
            if kind != "intake":
                store.add_treatment(Treatment("", unit.id, "contact cleaner", "", minutes=5))
            visit = store.start_visit(unit.id, kind)
            for control in ("left_stick", *others):
                store.add_result(_result(visit.id, "rest", outcome, control))
            store.finish_visit(visit.id)
    (row,) = _figures(_reader(store)).tables["cures"]
    assert (row.group, row.what, row.count, row.of) == ("rest", ("contact cleaner",), 1, 2)
    assert row.bounds == pytest.approx(stats.beta.ppf((0.025, 0.975), 1.5, 1.5))


def _reader(store: Store) -> ShopReader:
    return ShopReader(store, SheetShelf(store.folder / "sheets"), lambda event: None)


def _figures(reader: ShopReader) -> ShopFigures:
    found = reader.figures()
    assert found is not None
    return found[0]


def _said(shop: ShopFigures) -> dict[str, list[tuple[object, ...]]]:
    """All tables with what stands behind each row, to be compared."""
    return {
        name: [(r.cells, [shop.units.ids[k] for k in r.units]) for r in shown_table(name, shop).rows]
        for name in NAMES
    }  # fmt: skip


def test_every_figure_and_the_units_behind_it(store: Store) -> None:
    units = _fill(store)
    shop = _figures(_reader(store))

    def rows(name: str) -> dict[tuple[str, ...], tuple[int, int, set[str]]]:
        tags = shop.units.tags
        return {
            (r.group, *r.what): (r.count, r.of, {tags[k] for k in r.units})
            for r in shop.tables[name]  # type: ignore[index]
        }

    came = rows("came")
    assert came["arrived", "arrived"] == (4, 4, {"A", "B", "C", "X"})
    assert came["arrived", "fail"] == (2, 3, {"A", "C"})
    assert came["arrived", "pass"] == (1, 3, {"B"})
    assert came["arrived", "not done"] == (1, 4, {"X"})
    assert came["became", "sold"] == (1, 4, {"A"})
    assert came["became", "returned"] == (0, 1, set())
    claims = rows("claims")
    assert claims["market", "confirmed"] == (1, 2, {"A"})
    assert claims["market", "not found"] == (1, 2, {"B"})
    assert rows("faults") == {("Plover T2", "rest", "left_stick"): (2, 3, {"A", "C"})}
    assert rows("cures") == {("rest", "clean the sensor"): (1, 2, {"A", "C"})}
    assert rows("money")["EUR", "*"] == (4, 4, {"A", "B", "C", "X"})
    assert unit_cells(shop, shop.units.tags.index("A"))[0] == "A"
    (stands,) = standing_of(shop, units["C"].id)
    assert stands.values.tolist() == [1.0, 2.0, 2.0]
    table = standing_table(shop, units["C"].id, (stands,))
    assert table.rows[0].cells[3] == "67"  # (1/3 + 3/3) / 2: mean of strict and weak


def test_money_is_that_of_the_accounts(store: Store) -> None:
    _fill(store)
    shop = _figures(_reader(store))
    (lot,) = store.lots()
    kept = [Kept(*one) for one in store.kept_of_lot(lot.id)]
    guide = shop_figures.guide_for(store.folder)
    accounts = unit_accounts(lot, kept, entries_of(lot, kept, guide.hour_minor, guide.currency))
    (row,) = (r for r in shop.tables["money"] if r.what == (lot.id,))
    assert row.sums is not None
    assert row.sums.profit == sum(a.sums.profit for a in accounts)
    assert row.sums.minutes == 60
    for account in accounts:
        at = shop.units.ids.index(account.unit.id)
        assert shop.columns.sums(np.array([at]), "EUR").by_kind == {
            kind: account.sums.by_kind.get(kind, 0) for kind in shop.columns.sums(np.array([at]), "EUR").by_kind
        }


def test_a_cure_that_came_back_did_not_hold(store: Store) -> None:
    units = _fill(store)
    store.come_back(Comeback("", units["A"].id, "2026-11-22", "drifts", "same fault", 3000, 500))
    shop = _figures(_reader(store))
    (row,) = shop.tables["cures"]
    assert (row.count, row.of) == (0, 2)
    back = next(r for r in shop.tables["came"] if r.what == ("returned",))
    assert (back.count, back.of) == (1, 1)


CHANGES: dict[str, Callable[[Store, dict[str, Unit]], object]] = {
    "a result": lambda store, units: store.add_result(
        _result(store.start_visit(units["X"].id, "intake").id, "rest", FAIL, value=12.0)
    ),
    "a treatment": lambda store, units: store.add_treatment(Treatment("", units["B"].id, "resolder", "", minutes=12)),
    "a claim": lambda store, units: store.change_unit(replace(store.unit(units["C"].id), claim="left stick drifts")),
    "another lot": lambda store, units: store.change_unit(replace(store.unit(units["C"].id), lot_id=None)),
    "the price of the lot": lambda store, units: store.change_lot(replace(store.lots()[0], cost_minor=7000)),
    "a unit more": lambda store, units: store.add_unit(Unit("", "N", "Heron", store.lots()[0].id)),
    "a return": lambda store, units: store.come_back(
        Comeback("", units["A"].id, "2026-11-22", "drifts", "same fault", 3000, 500)
    ),
    "a result withdrawn": lambda store, units: store.withdraw(
        "result", store.history(units["A"].id).results[0].id, "another unit"
    ),
    "a treatment withdrawn": lambda store, units: store.withdraw(
        "treatment", store.history(units["C"].id).treatments[0].id, "another unit"
    ),
    "the price of an hour": lambda store, units: store.set_setting("hour_minor", "4200"),
    "the shop's currency": lambda store, units: store.set_setting("currency", "CHF"),
    "a unit withdrawn": lambda store, units: store.withdraw("unit", units["C"].id, "twice"),
}


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("again", [False, True], ids=["in memory", "from the file"])
def test_what_is_gone_on_from_says_what_is_read_anew(store: Store, change: str, again: bool) -> None:
    units = _fill(store)
    reader = _reader(store)
    before = _said(_figures(reader))
    if again:
        reader._remember()
        reader = _reader(store)
    CHANGES[change](store, units)
    after = _said(_figures(reader))
    (store.folder / FILE_NAME).unlink(missing_ok=True)
    assert after == _said(_figures(_reader(store)))
    assert after != before


def test_a_withdrawal_that_is_withdrawn_counts_again(store: Store) -> None:
    units = _fill(store)
    reader = _reader(store)
    before = _said(_figures(reader))
    taken = store.withdraw("result", store.history(units["A"].id).results[0].id, "another unit")
    assert _said(_figures(reader)) != before
    store.take_back(taken.id, "it was this one")
    assert _said(_figures(reader)) == before


def test_only_units_that_changed_are_read_again(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    units = _fill(store)
    reader = _reader(store)
    _figures(reader)
    asked: list[str] = []
    read = store.histories
    monkeypatch.setattr(store, "histories", lambda ids: read(asked.extend(ids) or ids))
    _figures(reader)
    assert asked == []
    CHANGES["a treatment"](store, units)
    _figures(reader)
    assert asked == [units["B"].id]


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 nothing", b"no zip"], ids=["empty", "cut off", "another"])
def test_a_file_that_cannot_be_read_costs_time_alone(store: Store, content: bytes) -> None:
    _fill(store)
    expected = _said(_figures(_reader(store)))
    (store.folder / FILE_NAME).write_bytes(content)
    assert _said(_figures(_reader(store))) == expected


def test_the_file_of_other_records_is_not_taken(store: Store, tmp_path_factory: pytest.TempPathFactory) -> None:
    """As where a back-up was put in the place of the records."""
    _fill(store)
    reader = _reader(store)
    _figures(reader)
    reader._remember()
    kept = (store.folder / FILE_NAME).read_bytes()
    with open_store(tmp_path_factory.mktemp("other"), clock=HandClock("2026-11-03T10:00:00+00:00")) as other:
        _fill(other)
        expected = _said(_figures(_reader(other)))
        (other.folder / FILE_NAME).write_bytes(kept)
        assert _said(_figures(_reader(other))) == expected


def test_what_is_kept_is_what_was_known() -> None:
    rng = random.Random(4)
    facts = {
        f"u{k}": (
            f"m{k}",
            UnitFacts(
                rng.choice((PASS, FAIL)),
                rng.choice(("", "open", "confirmed")),
                (("rest", "left_stick"),) * rng.randrange(2),
                (Cure("rest", "adjust", rng.random() < 0.5),) * rng.randrange(3),
                tuple((("rest", "left_stick", name), rng.random()) for name in ("a", "b")[: rng.randrange(3)]),
            ),
        )
        for k in range(50)
    }
    columns = with_facts(no_columns(), facts)
    found = from_bytes(to_bytes(columns, {"basis": "this"}))
    assert found is not None
    kept, notes = found
    assert notes == {"basis": "this"}
    for name in ("ids", "marks", "came_as", "claim", "texts", "cured", "reading_value", "reading_unit", "fault_key"):
        np.testing.assert_array_equal(getattr(kept, name), getattr(columns, name))
    once_more = with_facts(with_facts(columns, {"u7": ("n", UnitFacts(PASS))}), {"u7": facts["u7"]})
    assert _tables(once_more) == _tables(columns)


def _tables(columns: object) -> tuple[object, ...]:
    c = columns
    return (
        c.came_as.tolist(), c.claim.tolist(),  # type: ignore[attr-defined]
        sorted(zip(c.reading_unit.tolist(), c.reading_key.tolist(), c.reading_value.tolist(), strict=True)),  # type: ignore[attr-defined]
        sorted(zip(c.cure_unit.tolist(), c.cured.tolist(), strict=True)),  # type: ignore[attr-defined]
        sorted(c.fault_unit.tolist()),  # type: ignore[attr-defined]
    )  # fmt: skip


def test_a_file_has_every_row_and_no_formula(store: Store) -> None:
    _fill(store)
    store.change_lot(replace(store.lots()[0], source="=market"))
    shop = _figures(_reader(store))
    for name in NAMES:
        rows = list(csv.reader(io.StringIO(table_csv(name, shop).decode("utf-8-sig"))))
        assert tuple(rows[0]) == HEADS[name]
        assert len(rows) == 1 + len(shop.tables[name])
        assert {len(row) for row in rows} == {len(rows[0])}
        assert not any(cell.startswith("=") for row in rows for cell in row)


def test_records_without_a_unit_have_no_figure(store: Store) -> None:
    shop = _figures(_reader(store))
    assert all(not rows for rows in shop.tables.values())
    assert [len(shown_table(name, shop).rows) for name in NAMES] == [0] * 5


# --- the first pass, which reads every unit ------------------------------------------------------------------


def _told_reader(store: Store, told: list[object]) -> ShopReader:
    return ShopReader(store, SheetShelf(store.folder / "sheets"), told.append)


def test_reading_says_how_far_it_is(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    _fill(store)
    monkeypatch.setattr(shop_figures, "TOLD_S", -1.0)
    told: list[object] = []
    _figures(_told_reader(store, told))
    assert told == [FiguresReading(done, 4) for done in (1, 2, 3, 4)]


@pytest.mark.parametrize("again", [False, True], ids=["in memory", "from the file"])
def test_what_was_stopped_goes_on_where_it_was(store: Store, monkeypatch: pytest.MonkeyPatch, again: bool) -> None:
    _fill(store)
    expected = _said(_figures(_reader(store)))
    (store.folder / FILE_NAME).unlink(missing_ok=True)
    read, asked, told = store.histories, list[str](), list[object]()
    reader = _told_reader(store, told)

    def two_only(ids: list[str]) -> Iterator[UnitHistory]:
        for number, history in enumerate(read(ids), start=1):
            if number == 3:
                reader.stop()
            asked.append(history.unit.id)
            yield history

    monkeypatch.setattr(store, "histories", two_only)
    assert reader.figures() is None
    assert told[-1] == FiguresReading(2, 4, stopped=True)
    first = asked[:2]
    asked.clear()
    monkeypatch.setattr(store, "histories", lambda ids: read(asked.extend(ids) or ids))
    if again:
        reader = _told_reader(store, told)
    reader.ask()
    reader.settle()
    reader.close()
    assert len(asked) == 2
    assert not set(asked) & set(first)
    (ready,) = (event for event in told if isinstance(event, FiguresReady))
    assert _said(ready.figures) == expected


def test_a_crash_costs_no_more_than_what_was_read_last(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    _fill(store)
    monkeypatch.setattr(shop_figures, "KEPT_UNITS", 1)
    read, asked = store.histories, list[str]()

    def breaks(ids: list[str]) -> Iterator[UnitHistory]:
        for number, history in enumerate(read(ids)):
            if number == 3:
                raise KeyboardInterrupt
            yield history

    monkeypatch.setattr(store, "histories", breaks)
    with pytest.raises(KeyboardInterrupt):
        _reader(store).figures()
    monkeypatch.setattr(store, "histories", lambda ids: read(asked.extend(ids) or ids))
    _figures(_reader(store))
    assert len(asked) == 1
