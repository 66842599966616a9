"""Records of several benches become one: no clash, no duplicate, captures included."""

from __future__ import annotations

import shutil
import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from station.errors import InputError, RecordCorrupt, RecordTooNew
from station.records.store import FILE_NAME, Store
from station.records.types import Lot, Note, ShelfPart, Treatment
from tests.records.records_kit import PASSED, HandClock, a_result, a_unit, open_store


@pytest.fixture
def two(tmp_path: Path):
    """Two benches that share a lot and its first unit, since the second began with a copy of the first."""
    clock = HandClock()
    with open_store(tmp_path / "one", clock=clock) as one:
        lot = one.add_lot(Lot("", "SM-07", "2026-03-02"))
        unit = one.add_unit(replace(a_unit("SM-07-01"), lot_id=lot.id))
        visit = one.start_visit(unit.id, "intake")
        one.add_result(a_result(visit.id, capture_sha256=one.keep_capture(b"shared")))
        one.finish_visit(visit.id)
    shutil.copytree(tmp_path / "one", tmp_path / "two")
    with open_store(tmp_path / "one", clock=clock) as one, open_store(tmp_path / "two", clock=clock) as other:
        yield one, other, clock


def rows_of(store: Store) -> dict[str, set[tuple[object, ...]]]:
    """Every row of every table that merges, without local counters."""
    tables = ("lots", "units", "visits", "results", "readings", "findings", "treatments", "notes", "overrides",
              "shelf_parts", "shelf_moves")  # fmt: skip
    with store._connections.reading() as db:
        content = {}
        for table in tables:
            columns = [r[1] for r in db.execute(f"PRAGMA table_info({table})") if r[1] != "seq"]
            content[table] = set(db.execute(f"SELECT {', '.join(columns)} FROM {table}").fetchall())
        return content


def work(store: Store, tag: str) -> str:
    unit = store.add_unit(a_unit(tag))
    visit = store.start_visit(unit.id, "intake")
    first = store.add_result(a_result(visit.id, capture_sha256=store.keep_capture(tag.encode())))
    store.add_result(a_result(visit.id, assessment=PASSED, replaces=first.id))
    treatment = store.add_treatment(Treatment("", unit.id, "open and clean", ""))
    store.start_visit(unit.id, "after treatment", treatment_id=treatment.id)
    store.add_note(Note("", unit.id, "", tag, photo_sha256=store.keep_photo(b"\xff\xd8\xff" + tag.encode())))
    store.take_shelf_part(store.add_shelf_part(ShelfPart("", f"sensor of {tag}", "Plover T2", 3)).id)
    return unit.id


def test_everything_of_the_other_bench_comes_in_with_its_captures(two):
    one, other, _ = two
    work(one, "A-1")
    theirs = work(other, "B-1")
    report = one.merge(other.folder)
    assert (report.units, report.visits, report.results, report.treatments, report.files) == (1, 2, 2, 1, 2)
    assert report.missing == report.double_tags == ()
    assert report.sentence() == "Merged: 1 unit, 2 visits, 2 results, 1 treatment, 2 files came in."
    assert one.history(theirs) == other.history(theirs)
    for result in one.history(theirs).results:
        if result.capture_sha256:
            assert one.capture_path(result.capture_sha256).read_bytes() == b"B-1"
    assert [u.tag for u in one.units("b-1")] == ["B-1"]
    assert one.verify_log().sound
    assert one.first_problem() == ""


def test_a_second_merge_changes_nothing(two):
    one, other, _ = two
    work(other, "B-1")
    one.merge(other.folder)
    before, log = rows_of(one), one.verify_log()
    report = one.merge(other.folder)
    assert (report.units, report.visits, report.results, report.treatments, report.files) == (0, 0, 0, 0, 0)
    assert rows_of(one) == before
    assert one.verify_log() == log


def test_merging_both_ways_leaves_both_with_the_same_rows(two):
    one, other, _ = two
    work(one, "A-1")
    work(other, "B-1")
    one.merge(other.folder)
    other.merge(one.folder)
    assert rows_of(one) == rows_of(other)
    assert other.verify_log().sound


def test_of_a_unit_that_both_changed_the_later_change_holds_and_the_longer_rest(two):
    one, other, clock = two
    unit = one.units()[0]
    other.add_treatment(Treatment("", unit.id, "open and clean", ""))
    clock.move(hours=1)
    one.change_unit(replace(one.unit(unit.id), condition="grip worn", claim_state="confirmed"))
    one.merge(other.folder)
    merged = one.unit(unit.id)
    assert (merged.condition, merged.claim_state, merged.rest_until) == ("grip worn", "confirmed", "2026-03-09")
    other.merge(one.folder)
    assert other.unit(unit.id) == merged


def test_visits_of_one_unit_at_both_benches_get_numbers_of_their_own(two):
    one, other, _ = two
    unit = one.units()[0]
    mine, theirs = one.start_visit(unit.id, "after treatment"), other.start_visit(unit.id, "after rest")
    other.add_result(a_result(theirs.id, assessment=PASSED))
    assert mine.number == theirs.number == 2
    one.merge(other.folder)
    assert {v.id: v.number for v in one.visits(unit.id)}[theirs.id] == 3
    assert one.history(unit.id).results[-1].visit_id == theirs.id
    one.merge(other.folder)
    assert [v.number for v in one.visits(unit.id)] == [1, 2, 3]


def test_a_visit_finished_over_there_is_finished_here(two):
    one, other, _ = two
    unit = one.units()[0]
    visit = one.start_visit(unit.id, "after treatment")
    other.merge(one.folder)
    other.finish_visit(visit.id)
    one.merge(other.folder)
    assert one.unfinished_visits() == ()


def test_the_same_tag_on_two_units_is_named(two):
    one, other, _ = two
    work(one, "SM-08-01")
    work(other, "SM-08-01")
    report = one.merge(other.folder)
    assert report.double_tags == ("SM-08-01",)
    assert "relabel one of them: SM-08-01" in report.sentence()


def test_parts_taken_at_both_benches_are_counted_together(two):
    one, other, _ = two
    part = one.add_shelf_part(ShelfPart("", "spring", "Plover T2", 5))
    other.merge(one.folder)
    one.take_shelf_part(part.id)
    other.take_shelf_part(part.id, count=2)
    one.merge(other.folder)
    assert [p.count for p in one.shelf()] == [2]


def test_a_damaged_or_missing_capture_over_there_is_named_and_its_result_comes_in(two):
    one, other, _ = two
    unit_id = work(other, "B-1")
    sha = other.history(unit_id).results[0].capture_sha256
    other.capture_path(sha).write_bytes(b"spoiled")
    report = one.merge(other.folder)
    assert report.missing == (sha,)
    assert not one.capture_path(sha).exists()
    assert len(one.history(unit_id).results) == 2


def test_two_copies_that_carried_on_one_log_are_both_kept_and_said(two, tmp_path: Path):
    """A file copied by hand over a file at the same place: the same bench wrote on in both."""
    one, _, clock = two
    with one._connections.outside() as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    copy = tmp_path / "kept" / FILE_NAME
    copy.parent.mkdir()
    shutil.copyfile(one.path, copy)
    work(one, "A-1")
    one.close()
    shutil.move(one.path, tmp_path / "carried-on.db")
    for beside in tmp_path.glob("one/restpoint.db-*"):
        beside.unlink()
    shutil.copyfile(copy, one.path)
    with open_store(tmp_path / "one", clock=clock) as again:
        work(again, "A-2")
        bench = again.bench_id
        again.merge(tmp_path / "carried-on.db")
        assert {u.tag for u in again.units()} == {"SM-07-01", "A-1", "A-2"}
        report = again.verify_log()
        assert report.sound
        assert any("two copies" in note for note in report.notes)
        assert again.bench_id != bench
        work(again, "A-3")
        assert again.verify_log().sound


def test_the_other_file_can_be_in_use_and_lies_open_in_its_write_ahead_log(two):
    one, other, _ = two
    with other._connections.outside() as db:
        db.execute("PRAGMA wal_autocheckpoint = 0")
    unit_id = work(other, "B-1")
    one.merge(other.path)
    assert one.unit(unit_id).tag == "B-1"
    assert other.unit(unit_id).tag == "B-1"
    assert not list(one.folder.glob(".merge-*"))


@pytest.mark.parametrize(
    ("make", "kind", "says"),
    [
        pytest.param(lambda p: None, InputError, "no records in", id="nothing there"),
        pytest.param(lambda p: p.write_bytes(b"x" * 5000), RecordCorrupt, "damaged", id="no database"),
        pytest.param(lambda p: sqlite3.connect(p).close(), InputError, "no records", id="an empty one"),
        pytest.param(lambda p: newer(p), RecordTooNew, "newer version", id="a newer one"),
    ],
)
def test_what_cannot_be_merged_is_said_and_changes_nothing(two, tmp_path: Path, make, kind: type[Exception], says: str):
    one, _, _ = two
    before = rows_of(one)
    make(tmp_path / "other.db")
    with pytest.raises(kind, match=says):
        one.merge(tmp_path / "other.db")
    assert rows_of(one) == before
    assert not list(one.folder.glob(".merge-*"))


def newer(path: Path) -> None:
    open_store(path.parent / "newer").close()
    shutil.copyfile(path.parent / "newer" / FILE_NAME, path)
    file = sqlite3.connect(path)
    file.execute("PRAGMA user_version = 99")
    file.close()


def test_records_are_not_merged_with_themselves(two):
    one, _, _ = two
    with pytest.raises(InputError, match="open already"):
        one.merge(one.folder)
