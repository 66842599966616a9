"""What is kept for the views is what the rules say of the rows, after whatever was recorded, withdrawn, undone, merged,
put back or brought in from an earlier version."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from station.app.main import main
from station.checks.types import Assessment, Outcome, Reading
from station.errors import InputError, RecordError
from station.records import kept, schema
from station.records.derived import RULES
from station.records.store import FILE_NAME, Store
from station.records.types import BECOMES, FOUND, VISIT_KINDS, Comeback, Lot, Result, Treatment, Unit
from tests.records.old_files import as_version
from tests.records.records_kit import PASSED, HandClock, a_result, a_unit, open_store

TABLES = sorted(table for tables in RULES.values() for table in tables)
CHECKS = ("rest", "light", "normal", "firm", "travel", "look", "alone")
MODELS = ("Plover T2", "Heron 4")
WHY = "a slip"


def off(store: Store) -> list[object]:
    """What is not as the rules have it, or is still to be worked out."""
    with store._connections.reading() as db:
        return [*kept.differences(db), *db.execute("SELECT * FROM kept_stale"), *([] if kept.is_made(db) else ["rule"])]


def write(store: Store, *statements: str) -> None:
    with store._connections.writing() as db:
        for statement in statements:
            db.execute(statement)


def contents(store: Store) -> dict[str, list[tuple[object, ...]]]:
    with store._connections.reading() as db:
        return {table: db.execute(f"SELECT * FROM {table}").fetchall() for table in TABLES}


# --- what a person does, one thing at random ----------------------------------------------------------


def _ids(store: Store, rng: random.Random, table: str) -> str:
    with store._connections.reading() as db:
        found = [row[0] for row in db.execute(f"SELECT id FROM {table} ORDER BY seq")]
    return rng.choice(found) if found else ""


def _unit(store: Store, rng: random.Random) -> Unit:
    return store.unit(_ids(store, rng, "units"))


def add_lot(store: Store, rng: random.Random) -> None:
    store.add_lot(
        Lot("", "L", "2026-03-01", cost_minor=rng.randint(0, 5000), currency=rng.choice(("EUR", "CHF")),
            postage_minor=rng.randint(0, 500), expected=rng.choice((0, 4)))
    )  # fmt: skip


def change_lot(store: Store, rng: random.Random) -> None:
    lot = next(one for one in store.lots() if one.id == _ids(store, rng, "lots"))
    now: dict[str, object] = rng.choice(
        ({"cost_minor": rng.randint(0, 9)}, {"currency": "CHF"}, {"postage_minor": 7}, {"expected": 9}, {"note": "x"})
    )
    store.change_lot(replace(lot, **now))  # type: ignore[arg-type]


def add_unit(store: Store, rng: random.Random) -> None:
    lot = _ids(store, rng, "lots") if rng.random() < 0.8 else ""
    cost = rng.choice((0, 0, 300))
    store.add_unit(Unit("", f"A-{rng.getrandbits(40)}", rng.choice(MODELS), lot or None, cost_minor=cost))


def take_in(store: Store, rng: random.Random) -> None:
    units = [Unit("", f"B-{rng.getrandbits(40)}", rng.choice(MODELS)) for _ in range(3)]
    arrival = store.take_in(Lot("", "M", "2026-03-01", cost_minor=1000), units)
    if rng.random() < 0.5:
        store.withdraw_arrival(arrival, WHY)


def change_unit(store: Store, rng: random.Random) -> None:
    unit = _unit(store, rng)
    now: dict[str, object] = rng.choice(
        (
            {"becomes": rng.choice(BECOMES)}, {"cost_minor": rng.randint(0, 900)}, {"rest_until": "2026-12-01"},
            {"becomes": "sold", "sold_minor": 2000, "fees_minor": 90, "shipping_minor": 9}, {"model": "Heron 4"},
            {"lot_id": _ids(store, rng, "lots") or None}, {"condition": "worn"},
        )
    )  # fmt: skip
    after = store.change_unit(replace(unit, **now), reason=WHY)  # type: ignore[arg-type]
    if rng.random() < 0.3:
        store.undo_change(unit, after, WHY)


def correct_unit(store: Store, rng: random.Random) -> None:
    now: dict[str, object] = rng.choice(({"model": "Plover T2"}, {"lot_id": _ids(store, rng, "lots") or None}))
    store.correct_unit(replace(_unit(store, rng), **now), WHY)  # type: ignore[arg-type]


def visit_with_tries(store: Store, rng: random.Random) -> None:
    visit = store.start_visit(_ids(store, rng, "units"), rng.choice(VISIT_KINDS))
    for _ in range(rng.randint(0, 6)):
        outcome = rng.choice(list(Outcome))
        value = rng.choice((None, 1.0, 14.0))
        readings = (Reading("offset", value, "%", 0.3, 5.0, 10.0, rng.choice(("<=", ">=")), 300),)
        by_hand = rng.random() < 0.2
        store.add_result(
            Result("", visit.id, rng.choice(CHECKS), rng.choice(("south", "east")), 0, "",
                   Assessment(outcome, readings, again=rng.choice(("", "", "moved"))), by_hand=by_hand,
                   reason=WHY if by_hand else "")
        )  # fmt: skip
    if rng.random() < 0.8:
        store.finish_visit(visit.id)


def treat(store: Store, rng: random.Random) -> None:
    money = rng.choice(("EUR", "CHF"))
    store.add_treatment(
        Treatment("", _ids(store, rng, "units"), "resolder", "", minutes=5, cost_minor=30, currency=money)
    )


def come_back(store: Store, rng: random.Random) -> None:
    back = store.come_back(
        Comeback("", _ids(store, rng, "units"), "", "drifts", rng.choice(FOUND), rng.randint(0, 100), 5)
    )
    if rng.random() < 0.3:
        store.look_at_comeback(back.id, "nothing found")


def withdraw(store: Store, rng: random.Random) -> None:
    kinds = ("result", "treatment", "comeback", "unit", "lot")
    what = rng.choice((*kinds, "result", "result", "sale"))
    if what == "sale":
        store.withdraw_sale(_ids(store, rng, "units"), WHY)
    else:
        store.withdraw(what, _ids(store, rng, f"{what}s"), WHY)


def take_back(store: Store, rng: random.Random) -> None:
    store.take_back(_ids(store, rng, "withdrawals"), WHY)


WORK: tuple[Callable[[Store, random.Random], None], ...] = (
    add_lot, change_lot, add_unit, add_unit, take_in, change_unit, change_unit, correct_unit, visit_with_tries,
    visit_with_tries, visit_with_tries,
    treat, treat, come_back, withdraw, withdraw, take_back,
)  # fmt: skip


def work(store: Store, rng: random.Random) -> None:
    """One thing; what cannot be done with that unit is refused, which changes nothing."""
    try:
        rng.choice(WORK)(store, rng)
    except (InputError, StopIteration):
        return


# --- histories ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_it_is_what_the_rules_say_after_each_thing_that_is_recorded(tmp_path: Path, seed: int):
    rng, clock = random.Random(seed), HandClock()
    with open_store(tmp_path, clock=clock) as store:
        for _ in range(4):
            add_unit(store, rng)
        came_up: set[str] = set()
        for _ in range(120):
            work(store, rng)
            clock.move(hours=rng.choice((0, 0, 1, 30)))
            assert off(store) == []
            came_up |= {table for table, rows in contents(store).items() if rows}
        assert came_up == set(TABLES), "a history in which all of it comes up"


@pytest.mark.parametrize("seed", range(4))
def test_it_is_what_the_rules_say_after_merges_and_a_back_up_put_back(tmp_path: Path, seed: int):
    rng = random.Random(seed)
    clock = HandClock()
    with open_store(tmp_path / "a", clock=clock) as one, open_store(tmp_path / "b", clock=clock) as two:
        for _ in range(5):
            for _ in range(30):
                work(rng.choice((one, two)), rng)
                clock.move(hours=rng.choice((0, 1, 30)))
            into, other = rng.choice(((one, two), (two, one)))
            assert into.merge(other.folder) is not None
            assert off(into) == []
        one.merge(two.folder)
        two.merge(one.folder)
        assert off(one) == off(two) == []
        made = one.daily_backup()
        for _ in range(10):
            work(one, rng)
        one.restore_backup(made)
        assert off(one) == []


def test_what_a_transaction_took_back_leaves_nothing(tmp_path: Path):
    with open_store(tmp_path, clock=HandClock()) as store:
        unit = store.add_unit(a_unit())
        before = contents(store)
        with pytest.raises(RecordError):
            write(store, f"UPDATE units SET cost_minor = 9 WHERE id = '{unit.id}'", "DELETE FROM no_such_table")
        assert contents(store) == before
        assert off(store) == []


# --- earlier versions, other hands --------------------------------------------------------------------


def a_history(folder: Path, steps: int = 80) -> dict[str, list[tuple[object, ...]]]:
    with open_store(folder, clock=HandClock()) as store:
        rng = random.Random(3)
        for _ in range(steps):
            work(store, rng)
        return contents(store)


def test_an_older_file_is_filled_when_it_is_opened(tmp_path: Path):
    before = a_history(tmp_path)
    as_version(tmp_path, schema.newest_version() - 1)
    with open_store(tmp_path) as store:
        assert contents(store) == before
        assert off(store) == []


def test_what_other_rules_made_is_made_anew(tmp_path: Path):
    before = a_history(tmp_path)
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as db:
        db.execute("UPDATE kept_rule SET rule = 'of another version'")
        db.execute("UPDATE kept_money SET price_minor = price_minor + 1")
        db.commit()
    with open_store(tmp_path) as store:
        assert contents(store) == before


def test_what_another_program_wrote_is_worked_out_at_the_next_opening(tmp_path: Path):
    with open_store(tmp_path, clock=HandClock()) as store:
        lot = store.add_lot(Lot("", "L", "2026-03-01", cost_minor=1000))
        store.add_unit(a_unit(lot_id=lot.id))
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as db:
        db.execute("UPDATE lots SET cost_minor = 3000")
        db.commit()
    with open_store(tmp_path) as store:
        assert off(store) == []
        with store._connections.reading() as db:
            assert db.execute("SELECT price_minor FROM unit_money").fetchall() == [(3000,)]


@pytest.mark.parametrize("table", TABLES)
def test_a_hand_in_it_is_told_and_put_right(
    table: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    before = a_history(tmp_path)
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as db:
        key = db.execute(f"PRAGMA table_info({table})").fetchone()[1]
        db.execute(f"DELETE FROM {table} WHERE {key} = (SELECT min({key}) FROM {table})")
        db.commit()
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path))
    verify = ["log", "verify"]
    assert main(verify) == 0, "no record is wrong"
    said = capsys.readouterr().out
    assert f"what the views read in {table}" in said
    assert "worked out anew" in said
    assert main(verify) == 0
    assert "worked out anew" not in capsys.readouterr().out
    with open_store(tmp_path) as store:
        assert contents(store) == before


def test_nothing_is_written_that_stays_as_it_was(tmp_path: Path):
    with open_store(tmp_path, clock=HandClock()) as store:
        unit = store.add_unit(a_unit())
        visit = store.start_visit(unit.id, "intake")
        store.add_result(a_result(visit.id, "rest", PASSED))
        asked: list[str] = []
        with store._connections.writing() as db:
            db.set_trace_callback(asked.append)
            db.executemany("INSERT INTO kept_stale VALUES (?, ?)", [(what, unit.id) for what in RULES])
            kept.refresh(db)
            db.set_trace_callback(None)
        written = [sql for sql in asked if sql.startswith(("INSERT", "DELETE", "UPDATE"))]
        assert {table for table in TABLES if any(table in sql for sql in asked)} == set(TABLES)
        assert [sql for sql in written if "kept_stale" not in sql and "kept_these" not in sql] == []
