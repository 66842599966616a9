"""Entries put at the end of a log past the program, hashes and digests in order, after which it once was whole."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from station.errors import InputError
from station.records import chain
from station.records.store import FILE_NAME
from tests.records.records_kit import PASSED, HandClock, a_result, a_unit, open_store

AT = "2026-03-06T12:00:00.000Z"
Db = sqlite3.Connection


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """Two units; of the first a check that passed, then failed."""
    with open_store(tmp_path / "records", clock=HandClock()) as store:
        for tag in ("A-1", "A-2"):
            unit = store.add_unit(a_unit(tag))
            visit = store.start_visit(unit.id, "intake")
            for assessment in (PASSED, None):
                sha256 = store.keep_capture(f"{tag} {assessment is None}".encode())
                result = a_result(visit.id, capture_sha256=sha256)
                store.add_result(replace(result, assessment=assessment) if assessment else result)
            store.finish_visit(visit.id)
        assert store.verify_log().faults == ()
    return tmp_path / "records"


def forge(folder: Path, how: Callable[[Db], object]) -> None:
    with closing(sqlite3.connect(folder / FILE_NAME)) as db:
        guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        how(db)
        for _, sql in guards:
            db.execute(sql)
        db.commit()


def last_two_swapped(db: Db) -> None:
    """The last two results change places: the pass of before is now the one that counts."""
    last = db.execute("SELECT max(seq) FROM results").fetchone()[0]
    db.execute("UPDATE results SET seq = -1 WHERE seq = ?", (last,))
    db.execute("UPDATE results SET seq = ? WHERE seq = ?", (last, last - 1))
    db.execute("UPDATE results SET seq = ? WHERE seq = -1", (last - 1,))


def own_bench(db: Db) -> str:
    return str(db.execute("SELECT bench_id FROM log ORDER BY entry LIMIT 1").fetchone()[0])


def faults_in(folder: Path) -> str:
    with open_store(folder, read_only=True) as store:
        return " ".join(store.verify_log().faults)


def test_an_entry_that_is_there_already_does_not_give_its_result_another_place(records: Path):
    def again(db: Db) -> None:
        row = db.execute("SELECT id FROM results ORDER BY seq DESC LIMIT 1 OFFSET 1").fetchone()
        (event,) = db.execute(
            "SELECT event FROM log WHERE instr(event, 'result added') AND instr(event, ?)", row
        ).fetchone()
        chain.append(db, own_bench(db), AT, json.loads(event))
        last_two_swapped(db)

    forge(records, again)
    assert "a second time" in faults_in(records)
    assert "in the order of the log" in faults_in(records)


def test_a_second_branch_of_the_log_does_not_end_its_order(records: Path):
    def fork(db: Db) -> None:
        bench, seq, event, previous = db.execute(
            "SELECT bench_id, seq, event, previous FROM log ORDER BY entry DESC LIMIT 1"
        ).fetchone()
        linked = chain.link(previous, bench, seq, AT, event)
        values = (bench, seq, AT, event, previous, linked)
        db.execute("INSERT INTO log (bench_id, seq, at, event, previous, hash) VALUES (?, ?, ?, ?, ?, ?)", values)
        last_two_swapped(db)

    forge(records, fork)
    assert "rows of results do not stand in the order of the log" in faults_in(records)


@pytest.mark.parametrize(
    ("column", "value"), [("unit_id", None), ("kind", "final"), ("started_at", "2026-01-01T00:00:00.000Z")]
)
def test_an_entry_does_not_move_a_visit(records: Path, tmp_path: Path, column: str, value: str | None):
    forge(records, lambda db: moved(db, column, value))
    assert f"another {column} later, which never changes" in faults_in(records)
    with open_store(tmp_path / "new") as store, pytest.raises(InputError, match="which never changes"):
        store.merge(records)


def moved(db: Db, column: str, value: str | None) -> None:
    cursor = db.execute("SELECT * FROM visits ORDER BY seq LIMIT 1")
    visit: dict[str, Any] = dict(zip([d[0] for d in cursor.description], cursor.fetchone(), strict=True))
    visit.pop("seq")
    other = db.execute("SELECT id FROM units WHERE id <> ?", (visit["unit_id"],)).fetchone()[0]
    visit[column] = value or other
    db.execute(f"UPDATE visits SET {column} = ? WHERE id = ?", (visit[column], visit["id"]))
    chain.append(db, own_bench(db), AT, {"what": "visit finished", "id": visit["id"], "now": visit})


def test_an_entry_does_not_make_a_unit_older(records: Path):
    def older(db: Db) -> None:
        unit, event = db.execute("SELECT u.id, event FROM units u JOIN log ON instr(event, u.id) LIMIT 1").fetchone()
        now = {**json.loads(event)["now"], "created_at": "2020-01-01T00:00:00.000Z"}
        db.execute("UPDATE units SET created_at = ?, changed_at = ? WHERE id = ?", (now["created_at"], AT, unit))
        chain.append(db, own_bench(db), AT, {"what": "unit changed", "id": unit, "now": now})

    forge(records, older)
    assert "another created_at later" in faults_in(records)


def test_after_a_merge_a_unit_cannot_go_back_to_what_it_was_here_before(records: Path, tmp_path: Path):
    clock = HandClock("2026-03-06T11:00:00+00:00")
    shutil.copytree(records, tmp_path / "other")
    with open_store(records, clock=clock) as store:
        unit = store.units("A-1")[0]
        store.change_unit(replace(unit, condition="scratched"))
        ours = store.unit(unit.id)
        with store._connections.reading() as db:
            (before,) = db.execute("SELECT changed_at FROM units WHERE id = ?", (unit.id,)).fetchone()
    with open_store(tmp_path / "other", clock=clock) as other:
        other.change_unit(replace(unit, becomes="sold", sold_minor=4500))
    with open_store(records, clock=clock) as store:
        store.merge(tmp_path / "other")
        assert store.unit(unit.id).becomes == "sold"
        assert store.verify_log().faults == ()
    values = (ours.becomes, ours.sold_minor, ours.condition, before, ours.id)
    forge(
        records,
        lambda db: db.execute(
            "UPDATE units SET becomes = ?, sold_minor = ?, condition = ?, changed_at = ? WHERE id = ?", values
        ),
    )
    assert "of units is not as the log has it" in faults_in(records)


@pytest.mark.parametrize("bench", ["ours", "another"])
@pytest.mark.parametrize("what", ["merged", "states kept"])
def test_an_entry_does_not_excuse_captures_that_were_here(records: Path, what: str, bench: str):
    def excuse(db: Db) -> None:
        shas = [r[0] for r in db.execute("SELECT DISTINCT capture_sha256 FROM results")]
        whose = own_bench(db)
        if bench == "another":
            whose = "01900000-0000-7000-8000-00000000000a"
            row = {"id": whose, "place": "0" * 32, "began_at": AT}
            db.execute("INSERT INTO benches VALUES (:id, :place, :began_at)", row)
            chain.append(db, whose, AT, {"what": "bench begun", "id": whose, "now": row})
        chain.append(db, whose, AT, {"what": what, "id": whose, "missing": shas, "rows": {"log": 1000}})

    forge(records, excuse)
    shutil.rmtree(records / "captures")
    assert faults_in(records).count("is gone from captures") == 4


def test_captures_that_were_missing_over_there_are_no_loss_still(records: Path, tmp_path: Path):
    shutil.rmtree(records / "captures")
    with open_store(tmp_path / "new") as store:
        store.merge(records)
        report = store.verify_log()
    assert report.faults == ()
    assert any("4 captures or photos were missing already" in note for note in report.notes)


def test_a_file_under_another_suffix_is_not_the_capture(records: Path):
    for path in (records / "captures").rglob("*.npz"):
        path.rename(path.with_suffix(".txt"))
    assert faults_in(records).count("is gone from captures") == 4
