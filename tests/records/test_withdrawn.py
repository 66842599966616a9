"""Mistakes taken back: nothing is deleted, what was withdrawn counts nowhere, and benches come to the same whichever
withdrawal came first."""

from __future__ import annotations

import csv
import gzip
import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from station.errors import InputError
from station.records import chain
from station.records.rows import digest, insert
from station.records.schema import newest_version
from station.records.store import FILE_NAME, Store
from station.records.types import Lot, Note, ShelfPart, Treatment, Unit, UnitHistory
from tests.records.old_files import as_version
from tests.records.records_kit import FAILED, PASSED, HandClock, a_result, a_unit, open_store

WHY = "wrong unit in hand"


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
def store(tmp_path: Path, clock: HandClock) -> Iterator[Store]:
    with open_store(tmp_path / "records", clock=clock) as opened:
        yield opened
        report = opened.verify_log()
        assert report.faults == ()


def looked_at(store: Store, tag: str = "SM-07-04") -> Unit:
    unit = store.add_unit(a_unit(tag))
    visit = store.start_visit(unit.id, "intake")
    store.add_result(a_result(visit.id, assessment=FAILED))
    store.finish_visit(visit.id)
    return unit


def sound(store: Store) -> bool:
    return store.verify_log().faults == ()


# --- one by one -----------------------------------------------------------------------------------------


def test_a_withdrawn_result_lets_the_one_before_it_stand_again(store: Store):
    unit = looked_at(store)
    (visit,) = store.visits(unit.id)
    mark = store.add_result(a_result(visit.id, assessment=PASSED, by_hand=True, reason="it is fine"))
    done = store.withdraw("result", mark.id, WHY, "Ines")
    history = store.history(unit.id)
    assert [r.assessment.outcome.value for r in history.results] == ["fail"]
    assert store.results_of_visit(visit.id) == history.results
    ((by, entry),) = [(w.by, w.entry) for w in history.withdrawn]
    assert (by, entry) == (done, mark)
    assert (by.reason, by.person) == (WHY, "Ines")


def test_a_withdrawal_needs_a_reason_and_something_to_withdraw(store: Store):
    unit = looked_at(store)
    note = store.add_note(Note("", unit.id, "", "grip worn"))
    for reason in ("", "   "):
        with pytest.raises(InputError, match="Say why"):
            store.withdraw("note", note.id, reason)
    store.withdraw("note", note.id, WHY)
    for what, row_id in (("note", note.id), ("note", "nothing"), ("result", note.id), ("lot", note.id), ("values", "")):
        with pytest.raises(InputError, match="not in the records, or was withdrawn already"):
            store.withdraw(what, row_id, WHY)
    assert store.history(unit.id).notes == ()


def test_a_withdrawal_can_be_taken_back_and_made_again(store: Store):
    unit = looked_at(store)
    note = store.add_note(Note("", unit.id, "", "grip worn"))
    for _ in range(3):
        done = store.withdraw("note", note.id, WHY)
        assert store.history(unit.id).notes == ()
        store.take_back(done.id, "it was right")
        history = store.history(unit.id)
        assert (history.notes, history.withdrawn) == ((note,), ())
        with pytest.raises(InputError):
            store.take_back(done.id, "twice")


def test_a_withdrawn_treatment_takes_its_rest_and_its_part_back(store: Store):
    unit = looked_at(store)
    part = store.add_shelf_part(ShelfPart("", "Left stick sensor", "Plover T2", 1))
    first = store.add_treatment(Treatment("", unit.id, "clean the sensor", ""))
    rest = store.unit(unit.id).rest_until
    store.withdraw("treatment", first.id, WHY)
    assert (rest, store.unit(unit.id).rest_until) == ("2026-03-09", "")
    named = Treatment("01900000-0000-7000-8000-00000000000a", unit.id, "replace sensor", "")
    swapped = store.add_treatment(named, shelf_part_id=part.id)
    assert store.shelf()[0].count == 0
    with pytest.raises(InputError, match="Pieces of that part were taken"):
        store.withdraw("part", part.id, WHY)
    done = store.withdraw("treatment", swapped.id, WHY)
    assert (store.shelf()[0].count, store.treatments_of(unit.id), store.treated()) == (1, (), ())
    store.take_back(done.id, "it was right")
    assert (store.shelf()[0].count, store.unit(unit.id).rest_until) == (0, "2026-03-09")
    again = store.withdraw("treatment", swapped.id, WHY)
    other = store.add_treatment(Treatment("", unit.id, "replace sensor", ""), shelf_part_id=part.id)
    with pytest.raises(InputError, match="No “Left stick sensor” is left"):
        store.take_back(again.id, "it was right")
    store.withdraw("treatment", other.id, WHY)
    store.withdraw("part", part.id, WHY)
    assert store.shelf() == ()


def test_the_rest_that_others_ask_for_stays(store: Store, clock: HandClock):
    unit = looked_at(store)
    store.add_treatment(Treatment("", unit.id, "clean the sensor", ""))
    clock.move(days=1)
    second = store.add_treatment(Treatment("", unit.id, "adjust", ""))
    assert store.unit(unit.id).rest_until == "2026-03-10"
    store.withdraw("treatment", second.id, WHY)
    assert store.unit(unit.id).rest_until == "2026-03-09"


def test_a_unit_that_a_mistaken_treatment_opened_again_is_ready_again(store: Store):
    unit = looked_at(store)
    store.change_unit(replace(unit, becomes="ready"))
    done = store.add_treatment(Treatment("", unit.id, "adjust", ""))
    assert store.unit(unit.id).becomes == "open"
    store.withdraw("treatment", done.id, WHY)
    assert store.unit(unit.id) == replace(unit, becomes="ready")


def test_the_reason_for_less_rest_holds_again_once_the_treatment_that_ended_it_is_withdrawn(store: Store):
    unit = looked_at(store)
    store.add_treatment(Treatment("", unit.id, "clean the sensor", ""))
    store.change_unit(replace(store.unit(unit.id), becomes="ready"), reason="the buyer waits")
    mistaken = store.add_treatment(Treatment("", unit.id, "clean the sensor", ""))
    assert "override" not in store.history(unit.id).extra
    store.withdraw("treatment", mistaken.id, WHY)
    assert store.history(unit.id).extra["override"] == "the buyer waits"
    assert store.unit(unit.id).becomes == "ready"


def test_a_unit_that_was_ready_for_a_withdrawn_test_is_open_again(store: Store, clock: HandClock):
    unit = looked_at(store)
    store.add_treatment(Treatment("", unit.id, "clean the sensor", ""))
    clock.move(days=3)
    visit = store.start_visit(unit.id, "after rest")
    result = store.add_result(a_result(visit.id, assessment=PASSED))
    store.finish_visit(visit.id)
    store.change_unit(replace(store.unit(unit.id), becomes="ready"))
    store.withdraw("result", result.id, WHY)
    assert store.unit(unit.id).becomes == "open"
    assert [u.id for u, _, _ in store.due("2026-03-10")] == [unit.id]


def test_a_withdrawn_unit_is_in_no_list_and_its_tag_is_free(store: Store):
    lot = store.add_lot(Lot("", "SM-07", "2026-03-02", cost_minor=9600))
    unit = store.add_unit(replace(a_unit(), lot_id=lot.id))
    visit = store.start_visit(unit.id, "intake")
    store.add_result(a_result(visit.id))
    store.add_treatment(Treatment("", unit.id, "clean the sensor", ""))
    done = store.withdraw("unit", unit.id, "taken in twice")
    assert (store.units(), store.units("SM-07"), store.units_of_lot(lot.id), store.lot_states()) == ((), (), (), {})
    assert (store.unfinished_visits(), store.due("2026-04-01"), store.treated(), store.visits(unit.id)) == (
        (), [], (), (),
    )  # fmt: skip
    assert store.unit_by_serial(unit.vendor_id, unit.product_id, unit.serial) is None
    history = store.history(unit.id)
    assert (history.results, history.treatments, history.unit_withdrawn) == ((), (), done)
    other = store.add_unit(a_unit())
    with pytest.raises(InputError, match="is on another unit"):
        store.take_back(done.id, "it is here after all")
    store.withdraw("unit", other.id, WHY)
    store.take_back(done.id, "it is here after all")
    assert [u.id for u in store.units()] == [unit.id]
    assert len(store.history(unit.id).results) == 1


def test_a_unit_that_gave_parts_is_not_withdrawn_before_they_are(store: Store):
    donor, other = looked_at(store), looked_at(store, "SM-07-05")
    store.give_up(donor, [ShelfPart("", "Left stick sensor", "Plover T2", 1)])
    with pytest.raises(InputError, match="Parts of this unit"):
        store.withdraw("unit", donor.id, WHY)
    store.withdraw("part", store.shelf()[0].id, WHY)
    treated = store.add_treatment(Treatment("", other.id, "replace sensor", "", donor_unit_id=donor.id))
    with pytest.raises(InputError, match="Parts of this unit"):
        store.withdraw("unit", donor.id, WHY)
    store.withdraw("treatment", treated.id, WHY)
    store.withdraw("unit", donor.id, WHY)


def test_a_withdrawn_sale_leaves_the_unit_as_it_was_before(store: Store):
    unit = looked_at(store)
    store.change_unit(replace(unit, becomes="ready"))
    with pytest.raises(InputError, match="is not sold"):
        store.withdraw_sale(unit.id, WHY)
    store.change_unit(replace(unit, becomes="sold", sold_minor=3100))
    done = store.withdraw_sale(unit.id, "the buyer stepped back")
    assert store.unit(unit.id) == replace(unit, becomes="ready")
    (shown,) = store.history(unit.id).withdrawn
    assert (shown.by.values, shown.entry) == (
        {"becomes": "sold", "sold_minor": 3100, "sold_on": "2026-03-06"}, None,
    )  # fmt: skip
    store.change_unit(replace(unit, becomes="sold", sold_minor=2900))
    assert store.unit(unit.id).sold_minor == 2900, "a sale that follows counts"
    store.withdraw_sale(unit.id, "again")
    store.take_back(done.id, "he took it after all")
    assert (store.unit(unit.id).becomes, store.unit(unit.id).sold_minor) == ("sold", 3100)


def test_tag_model_and_lot_are_corrected_and_what_stood_there_stays_in_the_log(store: Store):
    unit, other = looked_at(store), looked_at(store, "SM-07-05")
    lot = store.add_lot(Lot("", "SM-08", "2026-03-03"))
    with pytest.raises(InputError, match="The tag SM-07-05 is on another unit"):
        store.correct_unit(replace(unit, tag="SM-07-05"), WHY)
    with pytest.raises(InputError, match="Say why"):
        store.correct_unit(replace(unit, tag="SM-07-06"), "")
    with pytest.raises(InputError, match="lot"):
        store.correct_unit(replace(unit, lot_id="nothing"), WHY)
    right = replace(unit, tag="SM-07-06", model="Plover T3", sheet="Plover T3", lot_id=lot.id)
    changed, done = store.correct_unit(replace(right, claim="left alone", becomes="sold"), "read wrong", "Ines")
    assert changed == store.unit(unit.id) == right, "only what says what it is"
    assert done is not None
    assert done.values == {"tag": "SM-07-04", "model": "Plover T2", "sheet": "", "lot_id": None}
    assert store.correct_unit(right, "") == (right, None)
    assert [u.id for u in store.units("SM-07-06")] == [unit.id]
    assert store.units("SM-07-04") == ()
    assert len(store.history(unit.id).results) == 1, "what was measured stays"
    store.take_back(done.id, "it was right")
    assert store.unit(unit.id) == unit
    assert store.unit(other.id) == other


def test_one_change_of_a_unit_is_undone_and_what_was_changed_since_stays(store: Store):
    unit = looked_at(store)
    store.add_treatment(Treatment("", unit.id, "clean the sensor", ""))
    before = store.unit(unit.id)
    after = store.change_unit(replace(before, becomes="ready", condition="worn"), reason="the buyer waits")
    store.undo_change(before, after, "undone at once")
    assert store.unit(unit.id) == before
    assert "override" not in store.history(unit.id).extra
    after = store.change_unit(replace(before, condition="worn", claim="no claim"))
    later = store.change_unit(replace(after, condition="as new"))
    store.undo_change(before, after, "undone at once")
    assert store.unit(unit.id) == replace(later, claim=before.claim)
    assert store.undo_change(before, after, "undone at once") is None


def test_a_donor_that_was_given_up_by_mistake_is_whole_again(store: Store):
    unit = looked_at(store)
    given = store.give_up(unit, [ShelfPart("", name, "Plover T2", 1) for name in ("Left stick", "Left trigger")])
    store.undo_change(unit, given, "undone at once")
    assert (store.unit(unit.id), store.shelf()) == (unit, ())


# --- nothing is deleted, and everybody else's tools see it ------------------------------------------------------


def test_the_rows_stay_and_cannot_be_changed(store: Store, tmp_path: Path):
    unit = looked_at(store)
    note = store.add_note(Note("", unit.id, "", "grip worn"))
    store.withdraw("note", note.id, WHY)
    with closing(sqlite3.connect(store.path)) as db:
        assert db.execute("SELECT count(*) FROM notes").fetchone()[0] == 1
        assert db.execute("SELECT count(*) FROM counting_notes").fetchone()[0] == 0
        for statement in ("DELETE FROM withdrawals", "UPDATE withdrawals SET reason = 'x'"):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                db.execute(statement)


def test_csv_files_hold_what_counts_and_json_all_with_the_withdrawals(store: Store, tmp_path: Path):
    unit = looked_at(store)
    store.withdraw("treatment", store.add_treatment(Treatment("", unit.id, "adjust", "", minutes=9)).id, WHY)
    store.withdraw("result", store.history(unit.id).results[0].id, WHY)
    gone = looked_at(store, "SM-07-05")
    store.withdraw("unit", gone.id, WHY)
    store.export(tmp_path / "out")
    rows = {}
    for table in ("units", "visits", "results", "readings", "findings", "treatments", "withdrawals"):
        with (tmp_path / "out" / f"{table}.csv").open(encoding="utf-8-sig", newline="") as file:
            rows[table] = len(list(csv.DictReader(file)))
    assert rows == {
        "units": 1, "visits": 1, "results": 0, "readings": 0, "findings": 0, "treatments": 0, "withdrawals": 3,
    }  # fmt: skip
    told = json.loads((tmp_path / "out" / "records.json").read_text("utf-8"))["tables"]
    assert (len(told["units"]), len(told["results"]), len(told["withdrawals"])) == (2, 2, 3)


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM withdrawals",
        "UPDATE withdrawals SET reason = 'as agreed'",
        "UPDATE withdrawals SET row_id = (SELECT id FROM results)",
        "INSERT INTO withdrawals SELECT 99, 'x', 'result', id, at, 'none', '', '' FROM results",
    ],
)
def test_log_verify_finds_a_withdrawal_that_was_touched(tmp_path: Path, statement: str):
    with open_store(tmp_path) as store:
        unit = looked_at(store)
        note = store.add_note(Note("", unit.id, "", "grip worn"))
        store.withdraw("note", note.id, WHY)
        assert sound(store)
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as db:
        guards = db.execute("SELECT name, sql FROM sqlite_master WHERE name LIKE 'withdrawals_no_%'").fetchall()
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        db.execute(statement)
        for _, sql in guards:
            db.execute(sql)
        db.commit()
    with open_store(tmp_path) as store:
        assert store.verify_log().faults


# --- several benches --------------------------------------------------------------------------------------------


def as_told(history: UnitHistory) -> tuple[object, ...]:
    """All that benches have to agree in."""
    return (
        history.unit, history.lot, history.visits, [r.id for r in history.results], history.treatments, history.notes,
        history.extra, {w.by.row_id for w in history.withdrawn},
    )  # fmt: skip


MISTAKES: dict[str, Callable[[Store, Unit], str]] = {
    "result": lambda store, unit: store.history(unit.id).results[0].id,
    "treatment": lambda store, unit: store.treatments_of(unit.id)[0].id,
    "note": lambda store, unit: store.history(unit.id).notes[0].id,
    "unit": lambda store, unit: unit.id,
}


def benches(tmp_path: Path, clock: HandClock) -> tuple[tuple[Path, ...], Unit]:
    """Three that hold the same unit, tested, treated and noted on."""
    with open_store(tmp_path / "a", clock=clock) as store:
        unit = looked_at(store)
        store.add_treatment(Treatment("", unit.id, "clean the sensor", ""))
        store.add_note(Note("", unit.id, "", "grip worn"))
    for name in ("b", "c"):
        with open_store(tmp_path / name, clock=clock) as other:
            other.merge(tmp_path / "a")
    return tuple(tmp_path / name for name in "abc"), unit


@pytest.mark.parametrize("what", MISTAKES)
@pytest.mark.parametrize("order", ["abc", "cba"])
def test_a_withdrawal_goes_both_ways_and_in_any_order(tmp_path: Path, what: str, order: str):
    """A withdraws, B takes that back, C withdraws it too and works on: all come to the same."""
    clock = HandClock()
    (a, b, c), unit = benches(tmp_path, clock)
    with open_store(a, clock=clock) as store:
        done = store.withdraw(what, MISTAKES[what](store, unit), WHY)
    with open_store(b, clock=clock) as store:
        store.merge(a)
        store.take_back(done.id, "it was right")
    with open_store(c, clock=clock) as store:
        store.withdraw(what, MISTAKES[what](store, unit), "too")
        store.change_unit(replace(store.unit(unit.id), condition="worn"))
    for _ in range(2):
        for name in order:
            for other in order:
                if other != name:
                    with open_store(tmp_path / name, clock=clock) as store:
                        store.merge(tmp_path / other)
                        assert sound(store)
    found = []
    for name in order:
        with open_store(tmp_path / name, clock=clock, read_only=True) as store:
            found.append((as_told(store.history(unit.id)), store.due("2026-04-01"), store.units()))
    assert found[0] == found[1] == found[2]
    assert found[0][0][7], "C's own withdrawal was not taken back"


def test_a_merge_says_what_of_ours_it_would_withdraw(tmp_path: Path):
    clock = HandClock()
    (a, b, _), unit = benches(tmp_path, clock)
    with open_store(a, clock=clock) as store:
        done = store.withdraw("treatment", store.treatments_of(unit.id)[0].id, "on another unit")
    said: list[str] = []
    with open_store(b, clock=clock) as store:
        store.merge(a, lambda preview: said.extend(preview.lines()) or False)  # type: ignore[func-returns-value]
        assert store.treatments_of(unit.id), "it was not agreed to"
        assert any("a treatment is withdrawn: on another unit" in line for line in said)
        assert any("rest" in line for line in said)
        store.merge(a)
        assert (store.treatments_of(unit.id), store.unit(unit.id).rest_until) == ((), "")
        store.take_back(done.id, "it was this one")
    said.clear()
    with open_store(a, clock=clock) as store:
        store.merge(b, lambda preview: said.extend(preview.lines()) or True)  # type: ignore[func-returns-value]
        assert any("a withdrawn treatment counts again: it was this one" in line for line in said)
        assert store.unit(unit.id).rest_until == "2026-03-09"


@pytest.mark.parametrize("later", ["the withdrawal", "the other treatment"])
def test_the_rest_of_a_treatment_that_the_other_bench_added_is_not_lost(tmp_path: Path, later: str):
    """A withdraws the treatment that both have while B adds one of its own: the rest is B's, whoever was first."""
    clock = HandClock()
    (a, b, _), unit = benches(tmp_path, clock)

    def withdraw() -> None:
        with open_store(a, clock=clock) as store:
            store.withdraw("treatment", store.treatments_of(unit.id)[0].id, WHY)

    def treat() -> None:
        with open_store(b, clock=clock) as store:
            store.add_treatment(Treatment("", unit.id, "adjust", "2026-03-05"))

    for step in (treat, withdraw) if later == "the withdrawal" else (withdraw, treat):
        step()
        clock.move(hours=1)
    for here, there in ((a, b), (b, a), (a, b)):
        with open_store(here, clock=clock) as store:
            store.merge(there)
            assert store.unit(unit.id).rest_until == "2026-03-08", "three days after B's, not after the withdrawn one"
            assert sound(store)


def test_a_withdrawal_may_be_there_before_what_it_withdraws(tmp_path: Path):
    """As after an older back-up was put back: the log of the other bench names a note that nobody here has yet."""
    clock = HandClock()
    with open_store(tmp_path / "a", clock=clock) as store:
        unit = looked_at(store)
    shutil.copytree(tmp_path / "a", tmp_path / "b")
    with open_store(tmp_path / "a", clock=clock) as store:
        note = store.add_note(Note("", unit.id, "", "grip worn"))
    with open_store(tmp_path / "b", clock=clock) as store, store._writing() as entry:
        row = {
            "id": entry.new_id, "what": "note", "row_id": note.id, "at": entry.at, "reason": WHY, "person": "",
            "was": "",
        }  # fmt: skip
        insert(entry.db, "withdrawals", row)
        chain.append(
            entry.db, entry.bench_id, entry.at,
            {"what": "withdrawn", "id": row["id"], "digest": digest({"withdrawals": row})},
        )  # fmt: skip
    with open_store(tmp_path / "c", clock=clock) as store:
        store.merge(tmp_path / "b")
        assert (store.history(unit.id).withdrawn, sound(store)) == ((), True)
        store.merge(tmp_path / "a")
        history = store.history(unit.id)
        assert (history.notes, [w.entry for w in history.withdrawn], sound(store)) == ((), [note], True)


@pytest.mark.parametrize(
    ("column", "value"),
    [("what", "lot"), ("reason", ""), ("was", "{}"), ("was", '{"id":"x"}'), ("at", "2999-01-01T00:00:00.000Z"),
     ("row_id", "../x"), ("person", "I\u200bnes")],
)  # fmt: skip
def test_a_withdrawal_that_no_bench_would_write_is_not_believed(tmp_path: Path, column: str, value: str):
    with open_store(tmp_path / "a") as store:
        looked_at(store)
    with open_store(tmp_path / "b") as other:
        unit = looked_at(other, "SM-08-01")
        other.withdraw("note", other.add_note(Note("", unit.id, "", "grip worn")).id, WHY)
    with closing(sqlite3.connect(tmp_path / "b" / FILE_NAME)) as db:
        (guard,) = db.execute("SELECT sql FROM sqlite_master WHERE name = 'withdrawals_no_update'").fetchone()
        db.execute("DROP TRIGGER withdrawals_no_update")
        db.execute(f"UPDATE withdrawals SET {column} = ?", (value,))
        db.execute(guard)
        db.commit()
    with open_store(tmp_path / "a") as store, pytest.raises(InputError):
        store.merge(tmp_path / "b")


# --- records from before there were withdrawals -----------------------------------------------------------------


def version_3(folder: Path) -> Path:
    """A file that version 3 wrote: a unit tested, treated, tested again and ready, a part, another unit sold."""
    folder.mkdir()
    data = (Path(__file__).parent / "version_3.db.gz").read_bytes()
    (folder / FILE_NAME).write_bytes(gzip.decompress(data))
    return folder


def test_a_file_of_version_3_is_read_as_it_is_and_goes_on(tmp_path: Path):
    folder = version_3(tmp_path / "old")
    before = (folder / FILE_NAME).read_bytes()
    with open_store(folder, read_only=True) as store:
        assert store.verify_log().faults == ()
        unit = next(u for u in store.units() if u.tag == "SM-07-04")
        assert len(store.history(unit.id).results) == 3
        assert store.history(unit.id).withdrawn == ()
    assert (folder / FILE_NAME).read_bytes() == before
    with open_store(folder) as store:
        history = store.history(unit.id)
        assert (len(history.treatments), store.shelf()[0].count, history.unit.becomes) == (1, 1, "ready")
        store.withdraw("treatment", history.treatments[0].id, WHY)
        assert (store.treatments_of(unit.id), store.unit(unit.id).rest_until) == ((), "")
        sold = next(u for u in store.units() if u.becomes == "sold")
        store.withdraw_sale(sold.id, WHY)
        assert store.unit(sold.id).becomes == "open"
        assert sound(store)
        assert len(store.backups()) == 1


def test_records_of_version_3_are_merged(tmp_path: Path):
    folder = version_3(tmp_path / "old")
    with open_store(tmp_path / "new") as store:
        store.merge(folder)
        unit = next(u for u in store.units() if u.tag == "SM-07-04")
        store.withdraw("note", store.history(unit.id).notes[0].id, WHY)
        assert store.merge(folder) is not None
        assert (store.history(unit.id).notes, sound(store)) == ((), True)


def test_back_ups_of_an_earlier_version_still_count(tmp_path: Path):
    """One that a newer one holds all of makes room, whichever version wrote it."""
    from station.records.backup import held_in, holds_all

    folder = version_3(tmp_path / "old")
    held = held_in(folder / FILE_NAME)
    assert held is not None
    with open_store(folder) as store:
        newer = store.daily_backup()
    assert holds_all(newer, held)


@pytest.mark.parametrize("version", range(1, newest_version()))
def test_files_made_older_are_those_of_that_version(tmp_path: Path, version: int):
    """What other tests take for old files: the program takes them too."""
    with open_store(tmp_path) as store:
        unit = looked_at(store)
    as_version(tmp_path, version)
    with open_store(tmp_path) as store:
        assert store.units() == (unit,)
        assert sound(store)
