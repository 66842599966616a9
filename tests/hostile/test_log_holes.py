"""Edits past the program after which `log verify` once said that the log was whole, and what holds it to its word."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from station.app.certify import certify
from station.app.main import main
from station.errors import RecordError
from station.records import chain
from station.records.canonical import canonical_json
from station.records.store import FILE_NAME, Store
from station.records.types import Lot, Note, ShelfPart, Treatment, Unit
from station.sheets.model import Control, Place, Sheet
from tests.records.old_files import as_version
from tests.records.records_kit import PASSED, a_result, a_unit, open_store

SHEET = Sheet("Plover T2", controls=(Control("left_shoulder", "button", "Left shoulder", "top", at=Place(0x90001)),))


def work_on(store: Store, tag: str) -> Unit:
    lot = store.add_lot(Lot("", f"lot of {tag}", "2026-03-02", cost_minor=9600))
    unit = store.add_unit(replace(a_unit(tag), lot_id=lot.id, claim="drifts"))
    visit = store.start_visit(unit.id, "intake", "Ines", "bench 1")
    capture = store.keep_capture(f"capture of {tag}".encode())
    store.add_result(replace(a_result(visit.id, "contact", PASSED, capture_sha256=capture), control="left_shoulder"))
    store.finish_visit(visit.id)
    store.add_treatment(Treatment("", unit.id, "clean the sensor", "", minutes=9))
    store.add_note(Note("", unit.id, "", "worn", photo_sha256=store.keep_photo(b"\xff\xd8\xff" + tag.encode())))
    store.add_shelf_part(ShelfPart("", f"sensor of {tag}", "Plover T2", 2))
    store.set_setting("rest_days.adjust", "2")
    return unit


@pytest.fixture
def records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "records"))
    with open_store(tmp_path / "records") as store:
        for tag in ("SM-07-01", "SM-07-02"):
            work_on(store, tag)
        assert store.verify_log().faults == ()
    return tmp_path / "records"


def past_the_program(folder: Path, *statements: str) -> None:
    """With a tool for SQLite: guards taken off, and put back as if nothing had been."""
    with closing(sqlite3.connect(folder / FILE_NAME)) as db:
        guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            assert db.execute(statement).rowcount != 0
        for _, sql in guards:
            db.execute(sql)
        db.commit()


def faults_in(folder: Path) -> tuple[str, ...]:
    with open_store(folder, read_only=True) as store:
        return store.verify_log().faults


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        pytest.param(
            "UPDATE visits SET unit_id = (SELECT id FROM units u WHERE u.id <> visits.unit_id)",
            "of visits is not as the log has it (unit_id)",
            id="visits swapped between units",
        ),
        pytest.param("UPDATE visits SET started_at = '2026-01-01T00:00:00.000Z'", "(started_at)", id="date of a visit"),
        pytest.param("UPDATE units SET serial = 'PT2-9999'", "(serial", id="serial"),
        pytest.param("UPDATE units SET claim = ''", "(claim", id="claim"),
        pytest.param("UPDATE units SET becomes = 'ready'", "(becomes)", id="what became of it"),
        pytest.param("UPDATE units SET rest_until = ''", "(rest_until)", id="rest date"),
        pytest.param("UPDATE units SET changed_at = '9999'", "(changed_at)", id="time of the last change"),
        pytest.param("UPDATE lots SET cost_minor = 1", "(cost_minor)", id="lot cost"),
        pytest.param("UPDATE lots SET bought_on = '2020-01-01'", "(bought_on)", id="purchase date"),
        pytest.param("UPDATE shelf_parts SET cost_minor = 5", "(cost_minor)", id="price of a part"),
        pytest.param("UPDATE settings SET value = '0'", "of settings is not as the log has it", id="days of rest"),
        pytest.param("UPDATE benches SET began_at = '2020'", "(began_at)", id="bench"),
        pytest.param(
            "INSERT INTO visits SELECT NULL, 'x', unit_id, kind, 9, started_at, finished_at, person, bench, NULL "
            "FROM visits LIMIT 1",
            "of visits is not in the log",
            id="a visit put in",
        ),
        pytest.param("DELETE FROM shelf_parts", "of shelf_parts is gone", id="a part removed"),
        pytest.param("UPDATE results SET seq = seq + 7", "of results are not counted through", id="order of tries"),
        pytest.param("UPDATE results SET seq = -seq", "of results are not counted through", id="order turned round"),
        pytest.param("UPDATE units SET search_text = 'x'", "(search_text)", id="search text"),
    ],
)
def test_no_edit_of_a_table_is_whole(records: Path, statement: str, says: str):
    past_the_program(records, statement)
    assert any(says in fault for fault in faults_in(records)), faults_in(records)


@pytest.mark.parametrize("folder", ["captures", "photos"])
@pytest.mark.parametrize(
    ("harm", "says"),
    [
        pytest.param(Path.unlink, "is gone", id="removed"),
        pytest.param(lambda p: p.write_bytes(b"another"), "is not the one that was recorded", id="altered"),
        pytest.param(lambda p: p.write_bytes(p.read_bytes() + b"\0"), "is not the one", id="longer"),
    ],
)
def test_no_harm_to_a_capture_or_photo_is_whole(records: Path, folder: str, harm: Callable[[Path], object], says: str):
    harm(next((records / folder).glob("*/*/*")))
    (fault,) = faults_in(records)
    assert (says in fault, folder in fault) == (True, True)


@pytest.mark.parametrize(
    "statement",
    [
        pytest.param("DROP TRIGGER results_no_update", id="a guard removed"),
        pytest.param(
            "CREATE TRIGGER swallow BEFORE INSERT ON results WHEN NEW.outcome = 'fail' BEGIN SELECT RAISE(IGNORE); END",
            id="a trigger that swallows fails",
        ),
        pytest.param("CREATE VIEW more AS SELECT * FROM units", id="a view"),
        pytest.param("DROP INDEX results_by_visit", id="an index removed"),
        pytest.param("ALTER TABLE units ADD COLUMN more TEXT", id="a column"),
    ],
)
def test_no_change_of_the_tables_themselves_is_whole(records: Path, statement: str):
    with closing(sqlite3.connect(records / FILE_NAME)) as db:
        db.execute(statement)
        db.commit()
    try:
        told = faults_in(records)
    except RecordError as refused:
        told = (str(refused),)
    assert any("changed by another program" in fault for fault in told)


# --- a chain that was written anew as a whole ---------------------------------------------------------


def write_anew(folder: Path) -> None:
    """Another price of the lots, in the table and in the log, every hash made again."""
    with closing(sqlite3.connect(folder / FILE_NAME)) as db:
        rows, previous = list(chain.log_rows(db)), chain.GENESIS
    done = ["UPDATE lots SET cost_minor = 100"]
    for row in rows:
        event = json.loads(row.event)
        if event["what"] == "lot added":
            event["now"]["cost_minor"] = 100
        text = canonical_json(event)
        linked = chain.link(previous, row.bench_id, row.seq, row.at, text)
        told = text.replace("'", "''")
        done.append(
            f"UPDATE log SET event = '{told}', previous = '{previous}', hash = '{linked}' WHERE entry = {row.entry}"
        )
        previous = linked
    past_the_program(folder, *done)


def say(capsys, *arguments: object) -> tuple[int, str, str]:
    capsys.readouterr()
    status = main([str(a) for a in arguments])
    return status, *capsys.readouterr()


def test_a_chain_written_anew_contradicts_what_buyers_and_back_ups_hold(qapp, records: Path, tmp_path: Path, capsys):
    with open_store(records) as store:
        store.set_setting("bench", "bench 1")
        sold = certify(store, store.units("SM-07-01")[0].id, SHEET, now=store.now()).path
        back_up = store.daily_backup()
    assert say(capsys, "export", tmp_path / "out")[0] == 0
    status, out, _ = say(capsys, "log", "verify", "--against", sold, back_up, tmp_path / "out")
    assert (status, out.count("It holds all that")) == (0, 3)
    told = json.loads(say(capsys, "verify", sold, "--json")[1])["log"]
    assert [(one["bench"], one["entry"] > 10, len(one["hash"])) for one in told] == [(store.bench_id, True, 64)]

    write_anew(records)
    assert say(capsys, "log", "verify")[0] == 0, "the chain alone cannot show it"
    for held in (sold, back_up, tmp_path / "out", tmp_path / "out" / "records.json"):
        status, _, err = say(capsys, "log", "verify", "--against", held)
        assert (status, "the log was written anew since" in err) == (1, True), held


def test_an_end_that_was_cut_off_contradicts_the_certificate(qapp, records: Path, capsys):
    with open_store(records) as store:
        store.set_setting("bench", "bench 1")
        sold = certify(store, store.units("SM-07-01")[0].id, SHEET, now=store.now()).path
    past_the_program(
        records, "DELETE FROM settings", "DELETE FROM log WHERE event LIKE '%setting changed%' AND seq > 20"
    )
    assert "was cut off" in say(capsys, "log", "verify", "--against", sold)[2]


def test_what_says_nothing_of_the_log_is_not_taken_for_an_answer(qapp, records: Path, tmp_path: Path, capsys):
    with open_store(records) as store:
        store.set_setting("bench", "bench 1")
        sold = certify(store, store.units("SM-07-01")[0].id, SHEET, now=store.now()).path
    altered = tmp_path / "altered.pdf"
    altered.write_bytes(sold.read_bytes().replace(b"%%EOF", b"%%FOE"))
    empty = tmp_path / "empty"
    empty.mkdir()
    for path, says in ((altered, "no certificate to compare with"), (empty, "cannot be read"), (records / "no", "no")):
        status, _, err = say(capsys, "log", "verify", "--against", path)
        assert (status, says in err) == (2, True), err


# --- records from before the log held the state of every table ----------------------------------------


def test_older_records_open_and_say_from_when_on_the_log_holds_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    with monkeypatch.context() as before:
        before.setattr("station.records.opening.chain", SimpleNamespace(append=lambda *_: None))  # not logged then
        with open_store(tmp_path / "old") as store:
            unit = work_on(store, "SM-07-01")
            work_on(store, "SM-07-02")
    as_version(tmp_path / "old", 2)
    with closing(sqlite3.connect(tmp_path / "old" / FILE_NAME)) as db:  # as a merge of that time left it
        db.execute("UPDATE units SET rest_until = '2027-01-01' WHERE id = ?", (unit.id,))
        db.commit()
    gone = next((tmp_path / "old" / "captures").glob("*/*/*"))
    gone.unlink()
    with open_store(tmp_path / "old") as store:
        report = store.verify_log()
        assert report.faults == ()
        said = " ".join(report.notes)
        assert "The log holds the state of every row from" in said
        assert f"Row {unit.id} of units was not as the log had it when it was found" in said
        assert "1 capture or photo was missing already" in said
        assert store.unit(unit.id).rest_until == "2027-01-01"
    past_the_program(tmp_path / "old", "UPDATE units SET rest_until = '2026-01-01'")
    assert len(faults_in(tmp_path / "old")) == 2


def test_two_benches_of_older_records_merge_and_stay_whole(tmp_path: Path):
    with open_store(tmp_path / "other") as other:
        work_on(other, "B-1")
    as_version(tmp_path / "other", 2)
    shutil.rmtree(tmp_path / "other" / "photos")
    with open_store(tmp_path / "one") as one:
        work_on(one, "A-1")
        report = one.merge(tmp_path / "other")
        assert len(report.missing) == 1
        found = one.verify_log()
        assert (found.faults, len(found.heads)) == ((), 2)
        assert any("missing already when the rows came in" in note for note in found.notes)


def test_a_merge_does_not_make_good_what_was_changed_past_the_program(records: Path, tmp_path: Path):
    """The rows that a merge leaves otherwise are logged; those that were wrong before it stay wrong."""
    shutil.copytree(records, tmp_path / "copy")
    with open_store(tmp_path / "copy") as copy:
        for unit in copy.units():
            copy.change_unit(replace(unit, condition="worn"))
    past_the_program(records, "UPDATE lots SET cost_minor = 1")
    with open_store(records) as store:
        store.merge(tmp_path / "copy")
    assert len([fault for fault in faults_in(records) if "(cost_minor)" in fault]) == 2


def test_a_setting_of_the_other_bench_is_not_asked_of_this_one(tmp_path: Path):
    with open_store(tmp_path / "other") as other:
        other.set_setting("rest_days.adjust", "9")
        other.set_setting("only there", "x")
        work_on(other, "B-1")
    with open_store(tmp_path / "one") as one:
        one.set_setting("rest_days.adjust", "1")
        one.merge(tmp_path / "other")
        assert (one.verify_log().faults, one.get_setting("rest_days.adjust")) == ((), "1")
