"""Records of another bench: nothing in them is believed because it stands there.

What a person with a tool for SQLite could write is written with the log in agreement (`merge_fuzz.agree`), so that it
is the row itself that is refused. Many more at random: tests/bench/merge_fuzz.py.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import pytest

from station.app.main import main
from station.errors import InputError, RecordError, StationError
from station.records import merge as merging
from station.records.store import FILE_NAME, Store
from tests.bench import merge_fuzz
from tests.records.records_kit import a_result, a_unit, open_store


@pytest.fixture
def two(tmp_path: Path) -> Iterator[tuple[Store, Path]]:
    """Records here, and the folder of those of another bench that began as a copy and went on."""
    with open_store(tmp_path / "one") as one:
        merge_fuzz.work_on(one, "A-0")
    shutil.copytree(tmp_path / "one", tmp_path / "two")
    with open_store(tmp_path / "two") as other:
        merge_fuzz.work_on(other, "B-0")
    with open_store(tmp_path / "one") as one:
        yield one, tmp_path / "two"


def write(folder: Path, statement: str, *args: object, agree: bool = True) -> None:
    """Past the program, the guards off and on again; the log written anew to agree."""

    def change(db: sqlite3.Connection) -> bool:
        assert db.execute(statement, args).rowcount > 0
        if agree:
            merge_fuzz.agree(db)
        return True

    assert merge_fuzz.unguarded(folder, change)


def refused(one: Store, folder: Path, says: str) -> None:
    """In one sentence, nothing changed, and all that comes after still works."""
    before = merge_fuzz.all_rows(one)
    with pytest.raises(StationError, match=says) as told:
        one.merge(folder)
    assert str(told.value).endswith(".")
    assert merge_fuzz.all_rows(one) == before
    assert one.verify_log().sound


NEW = "(SELECT id FROM units WHERE tag = 'B-0')"
NEW_RESULT = f"(SELECT r.id FROM results r JOIN visits v ON v.id = r.visit_id WHERE v.unit_id = {NEW} LIMIT 1)"

VALUES = [
    pytest.param("results", "outcome", "'excellent'", id="an outcome that there is not"),
    pytest.param("readings", "value", "9e999", id="a reading that is infinite"),
    pytest.param("readings", "uncertainty", "-9e999", id="an uncertainty that is infinite"),
    pytest.param("results", "attempt", str(2**63 - 1), id="an attempt of 2⁶³−1"),
    pytest.param("results", "attempt", "100000", id="an attempt that nobody counted up to"),
    pytest.param("visits", "number", str(2**40), id="a visit that nobody counted up to"),
    pytest.param("results", "control", "CAST(X'61FF62' AS TEXT)", id="text that is not UTF-8"),
    pytest.param("notes", "text", "CAST(X'EDA080' AS TEXT)", id="half a surrogate"),
    pytest.param("units", "tag", "'SM-07-' || char(0x202E) || '10'", id="a tag that reads backwards"),
    pytest.param("units", "serial", "'SM-01' || char(0x200B)", id="a serial with a space of no width"),
    pytest.param("lots", "name", "'SM' || char(0x2066)", id="a lot with a mark that is not seen"),
    pytest.param("notes", "text", "'a' || char(27) || '[31mred'", id="a note that colours the terminal"),
    pytest.param("units", "becomes", "'gold'", id="what no unit becomes"),
    pytest.param("units", "changed_at", "'9999-12-31T23:59:59.999Z'", id="a unit changed in the year 9999"),
    pytest.param("units", "rest_until", "'9999-12-31'", id="a rest until the year 9999"),
    pytest.param("visits", "started_at", "'9999-12-31T23:59:59.999Z'", id="a visit in the year 9999"),
    pytest.param("units", "created_at", "'yesterday'", id="no time"),
    pytest.param("units", "vendor_id", "-1", id="no vendor id"),
    pytest.param("units", "sold_minor", str(2**62), id="a price beyond all sums"),
    pytest.param("treatments", "minutes", "-5", id="minutes below nought"),
    pytest.param("treatments", "currency", "'<b>'", id="no currency"),
    pytest.param("results", "capture_sha256", "'../../../etc/passwd'", id="a capture by a path"),
    pytest.param("findings", "params", "'{\"who\":1e999}'", id="a parameter that is infinite"),
    pytest.param("readings", "rule", "'>'", id="a rule that there is not"),
    pytest.param("shelf_moves", "delta", str(-(2**62)), id="pieces beyond all counting"),
]


@pytest.mark.parametrize(("table", "column", "value"), VALUES)
def test_a_row_that_the_program_would_not_write_is_refused(two, table: str, column: str, value: str):
    one, folder = two
    which = {
        "units": f"id = {NEW}", "visits": f"unit_id = {NEW}", "results": f"id = {NEW_RESULT}",
        "readings": f"result_id = {NEW_RESULT} AND value IS NOT NULL", "findings": f"result_id = {NEW_RESULT}",
        "treatments": f"unit_id = {NEW}", "notes": f"unit_id = {NEW}", "lots": "name = 'lot of B-0'",
        "shelf_moves": f"unit_id = {NEW}",
    }[table]  # fmt: skip
    write(folder, f"UPDATE {table} SET {column} = {value} WHERE {which}")
    refused(one, folder, "nothing was merged")


def test_a_known_unit_changed_in_the_year_9999_is_not_overwritten_for_ever(two):
    one, folder = two
    write(folder, "UPDATE units SET becomes = 'scrap', changed_at = '9999-01-01T00:00:00.000Z' WHERE tag = 'A-0'")
    refused(one, folder, "in the future")


def test_a_changed_unit_needs_its_entry_in_the_log(two):
    one, folder = two
    later = (datetime.now(UTC) + timedelta(seconds=5)).strftime("%Y-%m-%dT%H:%M:%S.000Z")
    write(folder, "UPDATE units SET becomes = 'scrap', changed_at = ? WHERE tag = 'A-0'", later, agree=False)
    refused(one, folder, "log of the other records does not hold")


def test_a_changed_unit_of_a_file_from_before_every_state_was_logged_needs_its_entry_too(two):
    """Those files have no states to compare; the entry of the change has to have the row as it is."""
    one, folder = two
    later = (datetime.now(UTC) + timedelta(seconds=5)).strftime("%Y-%m-%dT%H:%M:%S.000Z")

    def change(db: sqlite3.Connection) -> bool:
        db.execute("DELETE FROM log WHERE instr(event, 'bench begun') OR instr(event, 'setting changed')")
        db.execute("DELETE FROM settings")
        for bench in [r[0] for r in db.execute("SELECT id FROM benches")]:
            rows = db.execute("SELECT entry FROM log WHERE bench_id = ? ORDER BY seq", (bench,)).fetchall()
            for seq, (entry,) in enumerate(rows, 1):
                db.execute("UPDATE log SET seq = ? WHERE entry = ?", (seq, entry))
        for entry, (old,) in enumerate(db.execute("SELECT entry FROM log ORDER BY entry").fetchall(), 1):
            db.execute("UPDATE log SET entry = ? WHERE entry = ?", (entry, old))
        merge_fuzz.agree(db)
        db.execute("UPDATE units SET becomes = 'scrap', changed_at = ? WHERE tag = 'A-0'", (later,))
        return True

    assert merge_fuzz.unguarded(folder, change)
    refused(one, folder, "is not as their log has it")


def test_a_log_that_does_not_hold_is_refused(two):
    one, folder = two
    write(folder, "UPDATE log SET at = '2020-01-01T00:00:00.000Z' WHERE entry = 3", agree=False)
    refused(one, folder, "log of the other records does not hold")


def test_a_row_that_never_changes_and_says_something_else_there_is_refused(two):
    one, folder = two
    write(
        folder, "UPDATE readings SET value = 1.0 WHERE result_id IN (SELECT id FROM results LIMIT 1) AND position = 0"
    )
    refused(one, folder, "such a row never changes")


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TRIGGER swallow BEFORE INSERT ON results WHEN new.outcome = 'fail' BEGIN SELECT RAISE(IGNORE); END",
        "CREATE VIEW extra AS SELECT 1",
        "DROP TRIGGER results_no_update",
    ],
)
def test_a_schema_that_is_not_ours_is_refused_in_a_merge_when_restored_and_when_opened(two, tmp_path, statement: str):
    one, folder = two
    with closing(sqlite3.connect(folder / FILE_NAME)) as db:
        db.execute(statement)
    refused(one, folder, "changed by another program")
    with pytest.raises(StationError, match="damaged"):
        one.restore_backup(folder / FILE_NAME)
    one.add_unit(a_unit("still here"))
    with pytest.raises(RecordError, match=r"changed by another program.*log verify.*restore"):
        open_store(folder)
    with open_store(folder, read_only=True) as store:  # it can be looked at, and says what is wrong
        assert any("changed by another program" in fault for fault in store.verify_log().faults)


def test_a_preview_says_what_would_change_and_no_is_no(two):
    one, folder = two
    with open_store(folder) as other:
        unit = next(u for u in other.units() if u.tag == "A-0")
        other.change_unit(replace(unit, condition="grip worn", becomes="sold"))
    before = merge_fuzz.all_rows(one)
    said: list[str] = []

    def no(preview: merging.MergePreview) -> bool:
        said.extend(preview.lines())
        return False

    assert one.merge(folder, no) is None
    assert merge_fuzz.all_rows(one) == before
    assert said[0].startswith("Would come in: 1 unit, 2 visits, 4 results, 2 treatments")
    assert "Unit A-0: condition becomes “grip worn” (here “”)." in said
    assert "Unit A-0: what becomes of it becomes “sold” (here “ready”)." in said
    report = one.merge(folder)
    assert report is not None
    assert {change.column for change in report.changes} == {"condition", "becomes", "sold_on"}


def test_a_back_up_comes_first_also_when_one_was_made_today(two):
    one, folder = two
    one.daily_backup()
    one.merge(folder)
    (made,) = [path for path in one.backups() if "before-merge" in path.name]
    with closing(sqlite3.connect(made)) as db:
        assert [r[0] for r in db.execute("SELECT tag FROM units")] == ["A-0"]


def test_a_merge_that_fails_half_way_leaves_nothing(two, monkeypatch: pytest.MonkeyPatch):
    one, folder = two
    before, files = merge_fuzz.all_rows(one), sorted((one.folder / "captures").rglob("*.npz"))
    calls: list[int] = []

    def full(*args: object) -> None:
        calls.append(1)
        if len(calls) == 3:
            raise OSError(28, "No space left on device")
        put(*args)  # type: ignore[arg-type]

    put = merging.files.sync_folder
    monkeypatch.setattr(merging.files, "sync_folder", full)
    with pytest.raises(RecordError, match="is full"):
        one.merge(folder)
    assert merge_fuzz.all_rows(one) == before
    assert sorted((one.folder / "captures").rglob("*.npz")) == files
    monkeypatch.undo()
    assert one.merge(folder) is not None


def test_two_benches_that_merge_again_and_again_come_to_rest(two):
    """Entries about a merge, other settings and other numbers of visits must not go to and fro for ever."""
    one, folder = two
    unit = next(u for u in one.units() if u.tag == "A-0")
    with open_store(folder) as other:
        for store in (one, other):
            store.set_setting("person", store.folder.name)
            store.start_visit(unit.id, "final")
        for _ in range(3):
            one.merge(other.folder)
            other.merge(one.folder)
        counts = [len(merge_fuzz.all_rows(store)["log"]) for store in (one, other)]
        for _ in range(2):
            one.merge(other.folder)
            other.merge(one.folder)
        assert [len(merge_fuzz.all_rows(store)["log"]) for store in (one, other)] == counts
        assert one.visits(unit.id) == other.visits(unit.id)
        assert [store.get_setting("person") for store in (one, other)] == ["one", "two"]
        assert one.verify_log().sound
        assert other.verify_log().sound


def test_a_bench_that_names_our_place_does_not_take_our_log_over(two):
    one, folder = two
    with one._connections.reading() as db:
        (place,) = db.execute("SELECT place FROM benches WHERE id = ?", (one.bench_id,)).fetchone()
    forged = "01900000-0000-7000-8000-00000000000a"
    write(folder, "INSERT INTO benches VALUES (?, ?, '2026-03-06T10:00:00.000Z')", forged, place)
    try:
        one.merge(folder)
    except StationError:
        return  # its log does not speak of that bench
    one.add_unit(a_unit("after"))
    one.close()
    with open_store(one.folder) as again:
        assert again.bench_id != forged


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names on this system")
@pytest.mark.parametrize("thing", ["pipe", "endless"])
def test_a_capture_over_there_that_is_no_file_is_missing(two, thing: str):
    one, folder = two
    sha256 = next(
        r.capture_sha256 for u in open_store(folder).units() if u.tag == "B-0" for v in open_store(folder).visits(u.id)
        for r in open_store(folder).results_of_visit(v.id) if r.capture_sha256
    )  # fmt: skip
    path = folder / "captures" / sha256[:2] / sha256[2:4] / f"{sha256}.npz"
    path.unlink()
    if thing == "pipe":
        os.mkfifo(path)
    else:
        path.symlink_to("/dev/zero")
    report = one.merge(folder)
    assert report is not None
    assert report.missing == (sha256,)
    assert one.verify_log().sound


def test_the_command_shows_what_would_change_and_asks(two, monkeypatch: pytest.MonkeyPatch, capsys):
    one, folder = two
    one.close()
    monkeypatch.setenv("RESTPOINT_DATA", str(one.folder))
    assert main(["merge", str(folder)]) == 1  # nobody there to ask
    assert "give the command again with --yes" in capsys.readouterr().out
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", lambda _: "n")
    assert main(["merge", str(folder)]) == 1
    assert "Nothing was merged." in capsys.readouterr().out
    monkeypatch.setattr("builtins.input", lambda _: "y")
    assert main(["merge", str(folder)]) == 0
    said = capsys.readouterr().out
    assert said.index("Would come in: 1 unit") < said.index("Merged: 1 unit")


@pytest.mark.parametrize("kind", merge_fuzz.ALTERED)
def test_altered_records_change_nothing_unsaid_and_break_nothing(tmp_path: Path, kind: str):
    (tmp_path / "base").mkdir()
    merge_fuzz.make(tmp_path / "base")
    seed = Random().randrange(2**32)
    for n in range(2):
        place = tmp_path / f"case {n}"
        place.mkdir()
        _, found = merge_fuzz.one_case(tmp_path / "base", place, kind, Random(f"{seed} {n}"), third=n == 0)
        assert not found, (seed, n, found)


def test_an_honest_bench_is_not_refused(two):
    one, folder = two
    with open_store(folder) as other:
        unit = next(u for u in other.units() if u.tag == "B-0")
        visit = other.start_visit(unit.id, "final", "Ivo O’Hara", "Prüfplatz 2")
        other.add_result(a_result(visit.id, reason="👩‍🔧 by hand", by_hand=True))
    report = one.merge(folder)
    assert report is not None
    assert report.results == 5
    with pytest.raises(InputError, match="open already"):
        one.merge(one.folder)
