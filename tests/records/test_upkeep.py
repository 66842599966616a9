"""Migrations, back-ups, restore, export and the log's verification."""

from __future__ import annotations

import csv
import gc
import json
import os
import re
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from sqlite_utils import Database

from station.checks.said import sentence
from station.checks.types import Assessment, Finding, Outcome
from station.errors import InputError, RecordCorrupt, RecordError, RecordLocked
from station.records import backup, chain, schema
from station.records.schema import APPEND_ONLY, newest_version
from station.records.store import FILE_NAME, Store
from station.records.types import Comeback, Issued, Lot, Note, Result, ShelfPart, Treatment, Unit
from station.records.verify import TABLE_OF
from station.records.views import VIEWS, WITHDRAWN_FROM
from tests.records.old_files import as_version
from tests.records.records_kit import PASSED, HandClock, a_result, a_unit, open_store


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
def store(tmp_path: Path, clock: HandClock):
    with open_store(tmp_path / "records", clock=clock) as opened:
        yield opened


def work_on(store: Store, tag: str = "SM-07-04") -> str:
    """One of everything; returns the unit's id."""
    lot = store.add_lot(Lot("", f"lot of {tag}", "2026-03-02", cost_minor=9600))
    unit = store.add_unit(replace(a_unit(tag), lot_id=lot.id, claim="=left stick"))
    visit = store.start_visit(unit.id, "intake", "Ines", "bench 1")
    sha = store.keep_capture(f"capture of {tag}".encode())
    store.add_result(a_result(visit.id, capture_sha256=sha))
    store.finish_visit(visit.id)
    store.add_treatment(Treatment("", unit.id, "clean the sensor", "", minutes=9, cost_minor=40))
    store.add_note(Note("", unit.id, "", "grip worn", photo_sha256=store.keep_photo(b"\xff\xd8\xff" + tag.encode())))
    part = store.add_shelf_part(ShelfPart("", "Left stick sensor", "Plover T2", 2))
    store.take_shelf_part(part.id, unit_id=unit.id)
    store.change_unit(replace(store.unit(unit.id), becomes="ready"), reason="the buyer waits")
    mistaken = store.add_note(Note("", unit.id, "", "of another unit"))
    store.withdraw("note", mistaken.id, "of another unit", "Ines")
    number, name = store.next_certificate()
    store.add_certificate(Issued("", unit.id, "", number, name, "", "Ines", "ab" * 32, "cd" * 32))
    return unit.id


# --- migrations -------------------------------------------------------------------------------------


def with_migration(monkeypatch: pytest.MonkeyPatch, change: Callable[[Database], None]) -> None:
    """The program as its next version will be: one migration more."""
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, change))


def add_column(db: Database) -> None:
    db.execute("ALTER TABLE units ADD COLUMN shelf TEXT NOT NULL DEFAULT ''")


def fail_halfway(db: Database) -> None:
    add_column(db)
    raise sqlite3.OperationalError("no such thing")


def test_a_migration_makes_a_back_up_first_and_keeps_everything(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    with open_store(tmp_path) as store:
        unit_id = work_on(store)
        before = store.history(unit_id)
    with_migration(monkeypatch, add_column)
    with open_store(tmp_path) as store:
        assert store.history(unit_id) == before
        (made,) = store.backups()
        assert f"before-version-{newest_version()}" in made.name
    old = sqlite3.connect(made)
    assert old.execute("PRAGMA user_version").fetchone()[0] == newest_version() - 1
    assert old.execute("SELECT count(*) FROM results").fetchone()[0] == 1
    old.close()


OLD = (
    Finding("offset", "left stick: rests 8.3 % off centre", "x", 93.0),
    Finding("short_reach", "left stick, left: reaches only 80.1 % of its travel", "x", "left"),
)
"""as version 1 wrote them: a sentence, and nothing that it was made of"""
NEW = Finding("noise", "", "y", params={"who": "left stick", "noise": 4.25, "others": ("a", "b"), "n": 3})


def test_findings_of_version_1_are_read_as_they_were_written_and_their_digests_hold(tmp_path: Path):
    with open_store(tmp_path) as store:
        unit = store.add_unit(Unit("", "SM-07-01", "Plover T2"))
        visit = store.start_visit(unit.id, "intake")
        store.add_result(Result("", visit.id, "rest", "left_stick", 1, "", Assessment(Outcome.FAIL, (), OLD)))
    as_version(tmp_path, 1)
    with open_store(tmp_path) as store:
        store.add_result(Result("", visit.id, "rest", "left_stick", 2, "", Assessment(Outcome.FAIL, (), (NEW,))))
        old, new = (r.assessment.findings for r in store.history(unit.id).results)
        assert [f.text for f in old] == [sentence("rest", f) for f in old] == [f.text for f in OLD]
        assert (old, [dict(f.params) for f in old]) == (OLD, [{}, {}])
        assert (new, dict(new[0].params)) == ((NEW,), dict(NEW.params))
        assert new[0].text == sentence("rest", NEW) == "left stick, vertical: noise of 4.2 % peak to peak at rest"
        assert store.verify_log().faults == ()
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as file:
        file.execute("DROP TRIGGER findings_no_update")
        file.execute("UPDATE findings SET params = replace(params, '4.25', '1.25') WHERE code = 'noise'")
        file.execute("UPDATE findings SET params = '{}' WHERE code = 'offset'")
        file.commit()
    with open_store(tmp_path, read_only=True) as store:
        faults = store.verify_log().faults
        assert any("findings_no_update" in fault for fault in faults)
        assert len([fault for fault in faults if "of results was changed" in fault]) == 2, (
            "parameters are under the digest as the rest of the row is"
        )


def test_a_migration_that_fails_leaves_the_file_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    with open_store(tmp_path) as store:
        unit_id = work_on(store)
    with monkeypatch.context() as later:
        with_migration(later, fail_halfway)
        with pytest.raises(RecordError, match="no such thing"):
            open_store(tmp_path)
    with open_store(tmp_path) as store:
        assert store.unit(unit_id).becomes == "ready"
        assert store.first_problem() == ""
        with store._connections.reading() as db:
            assert "shelf" not in [r[1] for r in db.execute("PRAGMA table_info(units)")]


def test_an_older_file_is_read_verified_and_exported_in_a_copy_and_stays_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """Records that were put away on a disk that nobody writes on any more."""
    with open_store(tmp_path / "old") as store:
        unit_id = work_on(store)
    before = (tmp_path / "old" / FILE_NAME).read_bytes()
    with_migration(monkeypatch, add_column)
    with open_store(tmp_path / "old", read_only=True) as store:
        assert store.unit(unit_id).becomes == "ready"
        assert store.verify_log().sound
        store.export(tmp_path / "exported")
        copy = store.path
        with pytest.raises(RecordError, match="reading only"):
            store.set_setting("a", "b")
    assert '"shelf"' in (tmp_path / "exported" / "records.json").read_text("utf-8")
    assert (tmp_path / "old" / FILE_NAME).read_bytes() == before
    del store
    gc.collect()
    assert not copy.exists()


# --- back-ups and restore ---------------------------------------------------------------------------


def test_one_back_up_a_day_and_the_newest_fourteen_are_kept(store: Store, clock: HandClock):
    work_on(store)
    first = store.daily_backup()
    assert store.daily_backup() == first
    for _ in range(backup.KEPT + 3):
        clock.move(days=1)
        store.daily_backup()
    names = [p.name for p in store.backups()]
    assert len(names) == backup.KEPT
    assert first.name not in names
    assert names == sorted(names, reverse=True)


def test_half_written_files_of_a_crash_are_cleared_away_after_a_day(store: Store, clock: HandClock):
    work_on(store)
    (capture,) = (store.folder / "captures").rglob("*.npz")
    old, young = capture.with_name(".old.part"), capture.with_name(".young.part")
    for file in (old, young):
        file.write_bytes(b"half")
    os.utime(old, (0, 0))
    store.daily_backup()
    assert (old.exists(), young.exists(), capture.exists()) == (False, True, True)


def test_restore_brings_back_what_was_and_sets_aside_what_is(store: Store, clock: HandClock):
    unit_id = work_on(store)
    made = store.daily_backup()
    then = store.history(unit_id)
    clock.move(days=1)
    later = work_on(store, "SM-07-05")
    aside = store.restore_backup(made)
    assert store.history(unit_id) == then
    with pytest.raises(InputError):
        store.unit(later)
    assert aside is not None
    kept = sqlite3.connect(aside)
    assert kept.execute("SELECT count(*) FROM units").fetchone()[0] == 2
    kept.close()
    work_on(store, "SM-07-06")
    report = store.verify_log()
    assert (report.sound, len(report.heads)) == (True, 2)


def test_what_was_set_aside_can_be_merged_back(store: Store, clock: HandClock):
    work_on(store)
    made = store.daily_backup()
    later = work_on(store, "SM-07-05")
    aside = store.restore_backup(made)
    work_on(store, "SM-07-06")
    assert aside is not None
    report = store.merge(aside)
    assert (report.units, report.results, report.missing) == (1, 1, ())
    assert store.unit(later).tag == "SM-07-05"
    assert store.verify_log().sound


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        pytest.param(None, InputError, id="no such file"),
        pytest.param(b"", RecordCorrupt, id="an empty file"),
        pytest.param(b"no database" * 100, RecordCorrupt, id="something else"),
    ],
)
def test_what_is_no_back_up_is_refused_and_the_records_go_on(
    store: Store, tmp_path: Path, content: bytes | None, kind: type[Exception]
):
    unit_id = work_on(store)
    path = tmp_path / "other.db"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(kind):
        store.restore_backup(path)
    assert store.unit(unit_id).tag == "SM-07-04"
    store.set_setting("still", "writable")


def test_restore_waits_for_the_other_station(store: Store):
    work_on(store)
    made = store.daily_backup()
    with open_store(store.folder) as other:
        with pytest.raises(RecordLocked, match="close it and restore"):
            store.restore_backup(made)
        assert len(other.units()) == len(store.units()) == 1


# --- export -----------------------------------------------------------------------------------------


def test_export_holds_every_row_and_file_for_other_programs(store: Store, tmp_path: Path):
    work_on(store)
    report = store.export(tmp_path / "out")
    assert report.files == 2
    document = json.loads((tmp_path / "out" / "records.json").read_text("utf-8"))
    assert (document["format"], document["version"]) == ("restpoint-export", 1)
    assert [u["tag"] for u in document["tables"]["units"]] == ["SM-07-04"]
    assert document["tables"]["units"][0]["claim"] == "=left stick"
    assert [r["value"] for r in document["tables"]["readings"]] == [14.8, None, 96.0]
    assert report.rows == sum(len(rows) for rows in document["tables"].values())
    with (tmp_path / "out" / "units.csv").open(encoding="utf-8-sig", newline="") as file:
        (unit,) = csv.DictReader(file)
    assert unit["claim"] == "'=left stick"
    (capture,) = (tmp_path / "out" / "captures").iterdir()
    assert capture.read_bytes() == b"capture of SM-07-04"


def test_export_does_not_write_over_anything(store: Store, tmp_path: Path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("x")
    with pytest.raises(InputError, match="not an empty folder"):
        store.export(tmp_path / "out")


def test_the_documented_schema_is_the_schema(store: Store):
    """docs/records.md names every table and every column."""
    text = (Path(__file__).parents[2] / "docs" / "records.md").read_text("utf-8")
    with store._connections.reading() as db:
        for (table,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall():
            if table.startswith(("sqlite_", "_sqlite", "unit_text")):
                continue
            assert f"### {table}" in text, table
            section = text.split(f"### {table}\n")[1].split("\n### ")[0]
            for column in db.execute(f"PRAGMA table_info({table})").fetchall():
                assert f"`{column[1]}`" in section, f"{table}.{column[1]}"


def test_the_documented_views_are_the_views(store: Store):
    """docs/records.md names every view and every column, and its queries run."""
    text = (Path(__file__).parents[2] / "docs" / "records.md").read_text("utf-8")
    with store._connections.reading() as db:
        own = {
            f"counting_{table}": {column[1] for column in db.execute(f"PRAGMA table_info({table})").fetchall()}
            for table in ("results", *WITHDRAWN_FROM)
        }
        views = [row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'view'").fetchall()]
        assert sorted(views) == sorted(VIEWS)
        for view in views:
            section = text.split(f"#### {view}\n")[1].split("\n#### ")[0]
            columns = {column[1] for column in db.execute(f"PRAGMA table_info({view})").fetchall()}
            for column in columns - own.get(view, set()):
                assert f"`{column}`" in section, f"{view}.{column}"
        queries = re.findall(r"```sql\n(.*?)```", text, re.DOTALL)
        assert len(queries) == 10
        for query in queries:
            db.execute(query).fetchall()


def test_views_of_another_version_are_put_right(store: Store, tmp_path: Path):
    file = sqlite3.connect(store.path)
    file.execute("DROP VIEW second_tests")
    file.execute("CREATE VIEW second_tests AS SELECT id AS unit_id FROM units")
    file.close()
    with open_store(store.folder) as again, again._connections.reading() as db:
        assert len(db.execute("PRAGMA table_info(second_tests)").fetchall()) == 3


# --- the log ----------------------------------------------------------------------------------------


def tamper(store: Store, *statements: str) -> None:
    """Change rows behind the program's back, guards taken off."""
    file = sqlite3.connect(store.path)
    for table in APPEND_ONLY:
        file.execute(f"DROP TRIGGER {table}_no_update")
        file.execute(f"DROP TRIGGER {table}_no_delete")
    for statement in statements:
        file.execute(statement)
    file.commit()
    file.close()


def test_an_untouched_log_is_sound_and_covers_every_append_only_table(store: Store):
    unit_id = work_on(store)
    store.change_unit(replace(store.unit(unit_id), becomes="sold", sold_minor=3100))
    store.come_back(Comeback("", unit_id, "", "drifts again"))
    report = store.verify_log()
    assert report.sound
    assert report.entries > 10
    ((bench, number, _),) = report.heads
    assert (bench, number) == (store.bench_id, report.entries)
    with store._connections.reading() as db:
        for table in TABLE_OF.values():
            assert db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] > 0, table


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        pytest.param("UPDATE readings SET value = 1.0 WHERE name = 'offset'", "of results was changed", id="reading"),
        pytest.param("UPDATE results SET outcome = 'pass'", "of results was changed", id="an outcome changed"),
        pytest.param("DELETE FROM findings WHERE code = 'offset'", "of results was changed", id="a finding removed"),
        pytest.param("UPDATE treatments SET cost_minor = 1", "of treatments was changed", id="a treatment changed"),
        pytest.param("UPDATE overrides SET reason = 'none'", "of overrides was changed", id="a reason changed"),
        pytest.param("DELETE FROM notes", "of notes is gone", id="a note removed"),
        pytest.param("UPDATE shelf_moves SET delta = 9", "of shelf_moves was changed", id="a count changed"),
        pytest.param("UPDATE log SET event = '{}' WHERE seq = 3", "Entry 3 of bench", id="an entry changed"),
        pytest.param("UPDATE log SET at = '2026' WHERE seq = 3", "was changed", id="the time of an entry changed"),
        pytest.param("DELETE FROM log WHERE seq = 4", "Entry 4 of bench", id="an entry removed"),
        pytest.param("DELETE FROM log WHERE seq = 1", "Entry 1 of bench", id="the first entry removed"),
        pytest.param("DELETE FROM log WHERE seq IN (3, 4)", "Entries 3 to 4 of bench", id="two entries removed"),
        pytest.param(
            "INSERT INTO notes (id, unit_id, at, text, person, photo_sha256) "
            "SELECT 'x', unit_id, at, 'fine', '', '' FROM notes LIMIT 1",
            "1 row of notes is not in the log",
            id="a note put in past the log",
        ),
    ],
)
def test_what_was_tampered_with_is_found(store: Store, statement: str, says: str):
    work_on(store)
    tamper(store, statement)
    report = store.verify_log()
    assert not report.sound
    assert any(says in fault for fault in report.faults), report.faults


def test_an_entry_forged_with_a_right_hash_breaks_the_chain_after_it(store: Store):
    work_on(store)
    with store._connections.reading() as db:
        row = next(r for r in chain.log_rows(db) if r.seq == 3)
    forged = chain.link(row.previous, row.bench_id, row.seq, row.at, "{}")
    tamper(store, f"UPDATE log SET event = '{{}}', hash = '{forged}' WHERE seq = 3")
    assert any("Entry 4" in f and "does not follow" in f for f in store.verify_log().faults)


def test_the_hash_of_an_entry_can_be_worked_out_by_hand(store: Store):
    """As docs/records.md tells it: SHA-256 of five fields joined by line feeds."""
    import hashlib

    work_on(store)
    with store._connections.reading() as db:
        rows = list(chain.log_rows(db))
    previous = "0" * 64
    for row in rows:
        text = f"{previous}\n{row.bench_id}\n{row.seq}\n{row.at}\n{row.event}"
        assert hashlib.sha256(text.encode()).hexdigest() == row.hash
        previous = row.hash


def test_a_copy_of_the_folder_begins_a_log_of_its_own(store: Store, tmp_path: Path):
    work_on(store)
    store.close()
    shutil.copytree(store.folder, tmp_path / "copy")
    with open_store(tmp_path / "copy") as copy:
        visit = copy.start_visit(copy.units()[0].id, "final")
        copy.add_result(a_result(visit.id, assessment=PASSED))
        assert copy.bench_id != store.bench_id
        assert len(copy.verify_log().heads) == 2
        assert copy.verify_log().sound
