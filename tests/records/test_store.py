"""What is recorded comes back as it was, and nothing else is possible."""

from __future__ import annotations

import math
import sqlite3
import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from station.bench.types import Recorder
from station.checks.types import Assessment, Outcome, Reading
from station.errors import InputError, RecordError
from station.records.store import FILE_NAME, Store
from station.records.types import Lot, Note, ShelfPart, Treatment
from tests.records.records_kit import FAILED, PASSED, HandClock, a_result, a_unit, open_store


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
def store(tmp_path: Path, clock: HandClock):
    with open_store(tmp_path, clock=clock) as opened:
        yield opened


def test_the_store_is_what_a_session_needs(store: Store):
    recorder: Recorder = store
    unit = store.add_unit(a_unit())
    visit = recorder.start_visit(unit.id, "intake", "Ines", "bench 1", None)
    sha = recorder.keep_capture(b"a capture")
    kept = recorder.add_result(a_result(visit.id, capture_sha256=sha))
    assert recorder.results_of_visit(visit.id) == (kept,)
    assert recorder.finish_visit(visit.id).finished_at
    assert store.capture_path(sha).read_bytes() == b"a capture"


def test_a_result_comes_back_with_its_readings_and_findings_exactly(store: Store):
    visit = store.start_visit(store.add_unit(a_unit()).id, "intake")
    kept = store.add_result(
        a_result(visit.id, clock="process", stamp_error_p99_us=61.5, lost=2, by_hand=True, reason="under the lamp")
    )
    assert store.results_of_visit(visit.id) == (kept,)
    assert kept.assessment == FAILED
    assert (kept.attempt, store.add_result(a_result(visit.id)).attempt) == (1, 2)


def test_numpy_numbers_are_kept_as_numbers(store: Store):
    visit = store.start_visit(store.add_unit(a_unit()).id, "intake")
    done = Assessment(Outcome.PASS, (Reading("reach", np.float32(97.5), "%", np.float64(0.25), 95, n=np.int64(12)),))  # type: ignore[arg-type]
    store.add_result(a_result(visit.id, assessment=done))
    (back,) = store.results_of_visit(visit.id)
    assert back.assessment.readings[0] == Reading("reach", 97.5, "%", 0.25, 95.0, n=12)


@pytest.mark.parametrize(
    "reading",
    [
        pytest.param(Reading("offset", math.nan, "%"), id="a value that is not a number"),
        pytest.param(Reading("offset", math.inf, "%"), id="an infinite value"),
        pytest.param(Reading("offset", 1.0, "%", math.nan), id="an uncertainty that is not a number"),
        pytest.param(Reading("offset", 1.0, "%", 0.1, -math.inf), id="an infinite limit"),
    ],
)
def test_what_is_not_finite_is_refused_and_nothing_of_it_kept(store: Store, reading: Reading):
    visit = store.start_visit(store.add_unit(a_unit()).id, "intake")
    with pytest.raises(InputError, match="not a finite number"):
        store.add_result(a_result(visit.id, assessment=Assessment(Outcome.PASS, (reading,))))
    assert store.results_of_visit(visit.id) == ()
    assert store.verify_log().sound


@pytest.mark.parametrize("table", ["results", "readings", "findings", "treatments", "notes", "overrides", "log"])
@pytest.mark.parametrize("change", ["UPDATE {} SET {} = 'x'", "DELETE FROM {}"])
def test_no_program_can_change_what_is_append_only(store: Store, tmp_path: Path, table: str, change: str):
    unit = store.add_unit(a_unit())
    visit = store.start_visit(unit.id, "intake")
    store.add_result(a_result(visit.id))
    store.add_treatment(Treatment("", unit.id, "adjust", ""))
    store.add_note(Note("", unit.id, "", "a scratch"))
    store.change_unit(replace(store.unit(unit.id), becomes="ready"), reason="the buyer waits")
    column = {"readings": "unit", "findings": "text", "notes": "text", "overrides": "reason", "log": "event"}
    other = sqlite3.connect(tmp_path / FILE_NAME)
    assert other.execute(f"SELECT count(*) FROM {table}").fetchone()[0] > 0
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        other.execute(change.format(table, column.get(table, "kind" if table == "treatments" else "control")))
    other.close()


def test_visits_of_a_unit_are_numbered_and_unfinished_ones_are_offered(store: Store):
    first, second = store.add_unit(a_unit("SM-07-01")), store.add_unit(a_unit("SM-07-02"))
    one = store.start_visit(first.id, "intake")
    store.finish_visit(one.id)
    two = store.start_visit(first.id, "after treatment")
    other = store.start_visit(second.id, "intake")
    assert [v.number for v in store.visits(first.id)] == [1, 2]
    assert [v.id for v in store.unfinished_visits()] == [other.id, two.id]
    assert store.finish_visit(one.id).finished_at == store.visits(first.id)[0].finished_at


def test_the_history_holds_everything_oldest_first(store: Store, clock: HandClock):
    lot = store.add_lot(Lot("", "SM-07", "2026-03-02", cost_minor=9600))
    donor = store.add_unit(a_unit("SM-07-09"))
    unit = store.add_unit(replace(a_unit(), lot_id=lot.id))
    visit = store.start_visit(unit.id, "intake")
    first = store.add_result(a_result(visit.id))
    again = store.add_result(a_result(visit.id, assessment=PASSED, replaces=first.id))
    treatment = store.add_treatment(Treatment("", unit.id, "swap with donor part", "", donor_unit_id=donor.id))
    clock.move(days=3)
    later = store.start_visit(unit.id, "after rest", treatment_id=treatment.id)
    last = store.add_result(a_result(later.id, assessment=PASSED))
    note = store.add_note(Note("", unit.id, "", "grip worn", "Ines", store.keep_photo(b"\xff\xd8\xffphoto")))
    found = store.history(unit.id)
    assert (found.lot, found.unit.lot_id) == (lot, lot.id)
    assert [v.id for v in found.visits] == [visit.id, later.id]
    assert found.results == (first, again, last)
    assert (found.treatments, found.notes) == ((treatment,), (note,))
    assert found.extra == {f"tag:{donor.id}": "SM-07-09"}
    photo = store.photo_path(note.photo_sha256)
    assert photo is not None
    assert photo.read_bytes() == b"\xff\xd8\xffphoto"


@pytest.mark.parametrize(
    ("search", "tags"),
    [
        pytest.param("", ["B-2", "A-17", "A-1"], id="all, newest first"),
        pytest.param("a-1", ["A-17", "A-1"], id="tag, whatever the case"),
        pytest.param("stick", ["A-17", "A-1"], id="a word of the claim"),
        pytest.param("tic", ["A-17", "A-1"], id="a piece of a word"),
        pytest.param("88123", ["B-2"], id="the end of a serial number"),
        pytest.param("le", ["A-1"], id="two letters: the beginning of a word"),
        pytest.param("le plover", ["A-1"], id="a short and a long word"),
        pytest.param("stick right", ["A-17"], id="every word must be there"),
        pytest.param("heron", ["B-2"], id="model"),
        pytest.param('"', [], id="a quotation mark"),
        pytest.param("tag:x OR", [], id="what the search engine takes for commands"),
        pytest.param("*", [], id="a star"),
        pytest.param("%%%", [], id="percent signs"),
    ],
)
def test_search(store: Store, search: str, tags: list[str]):
    store.add_unit(replace(a_unit("A-1"), claim="left stick bad"))
    store.add_unit(replace(a_unit("A-17"), claim="Right stick jumps"))
    store.add_unit(replace(a_unit("B-2"), model="Heron 4", serial="HX0088123"))
    assert [u.tag for u in store.units(search)] == tags


def test_search_follows_a_change_of_the_unit(store: Store):
    unit = store.add_unit(replace(a_unit(), claim="dead"))
    store.change_unit(replace(unit, claim="left stick bad", serial="ZZ99"))
    assert store.units("dead") == ()
    assert [u.serial for u in store.units("zz99")] == ["ZZ99"]


def test_a_unit_is_known_again_by_its_serial_number_only_if_it_has_one(store: Store):
    unit = store.add_unit(a_unit())
    store.add_unit(replace(a_unit("SM-07-05"), serial=""))
    assert store.unit_by_serial(0x1209, 1, unit.serial) == unit
    assert store.unit_by_serial(0x1209, 2, unit.serial) is None
    assert store.unit_by_serial(0x1209, 1, "") is None


def test_a_tag_is_on_one_unit_that_is_here(store: Store):
    unit = store.add_unit(a_unit())
    with pytest.raises(InputError, match="sm-07-04 is on another unit"):
        store.add_unit(a_unit("sm-07-04 "))
    store.change_unit(replace(unit, becomes="sold", sold_minor=2600))
    assert store.add_unit(a_unit()).tag == "SM-07-04"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        pytest.param({"tag": "  "}, "has no tag", id="no tag"),
        pytest.param({"becomes": "lost"}, "“lost” is no thing", id="unknown state"),
        pytest.param({"claim_state": "maybe"}, "“maybe” is no state", id="unknown state of the claim"),
        pytest.param({"rest_until": "next week"}, "write the date as", id="no date"),
        pytest.param({"sold_minor": -5}, "cannot be -5", id="negative price"),
        pytest.param({"lot_id": "nowhere"}, "refused this entry", id="a lot that is not there"),
    ],
)
def test_a_unit_that_cannot_be_is_refused_with_a_sentence(store: Store, change: dict[str, object], sentence: str):
    unit = store.add_unit(a_unit())
    with pytest.raises((InputError, RecordError), match=sentence):
        store.change_unit(replace(unit, **change))  # type: ignore[arg-type]
    assert store.unit(unit.id) == unit


@pytest.mark.parametrize(
    "call",
    [
        pytest.param(lambda s: s.unit("x"), id="unit"),
        pytest.param(lambda s: s.history("x"), id="history"),
        pytest.param(lambda s: s.start_visit("x", "intake"), id="visit of no unit"),
        pytest.param(lambda s: s.start_visit(s.units()[0].id, "second"), id="kind of visit"),
        pytest.param(lambda s: s.finish_visit("x"), id="end of no visit"),
        pytest.param(lambda s: s.add_treatment(Treatment("", "x", "adjust", "")), id="treatment of no unit"),
        pytest.param(lambda s: s.add_treatment(Treatment("", s.units()[0].id, "", "")), id="kind of treatment"),
        pytest.param(lambda s: s.add_lot(Lot("", "", "2026-03-02")), id="lot without a name"),
        pytest.param(lambda s: s.add_lot(Lot("", "SM-08", "soon")), id="lot without a date"),
        pytest.param(lambda s: s.take_shelf_part("x"), id="no such part"),
        pytest.param(lambda s: s.capture_path("../../etc/passwd"), id="no hash"),
        pytest.param(lambda s: s.keep_photo(b"GIF89a"), id="no photo"),
        pytest.param(lambda s: s.set_setting("rest_days.adjust", "some"), id="days that are no number"),
    ],
)
def test_what_cannot_be_gets_an_error_that_ends_a_sentence(store: Store, call: Callable[[Store], object]):
    store.add_unit(a_unit())
    with pytest.raises(InputError) as caught:
        call(store)
    assert str(caught.value).endswith(".")
    assert len(str(caught.value).split()) > 6


def test_a_result_of_a_visit_that_is_not_there_is_refused(store: Store):
    with pytest.raises(RecordError, match="refused"):
        store.add_result(a_result("nowhere"))
    assert store.verify_log().sound


def test_hostile_text_is_kept_plain(store: Store):
    unit = store.add_unit(replace(a_unit(), claim="left\x00 stick\x1b[31m \ud800bad'); DROP TABLE units;--"))
    assert store.unit(unit.id).claim == "left stick[31m bad'); DROP TABLE units;--"


def test_the_shelf_counts_what_was_put_and_taken(store: Store):
    part = store.add_shelf_part(ShelfPart("", "Left stick sensor", "Plover T2", 2, cost_minor=120))
    store.take_shelf_part(part.id)
    assert [(p.name, p.count) for p in store.shelf()] == [("Left stick sensor", 1)]
    store.take_shelf_part(part.id)
    with pytest.raises(InputError, match="No “Left stick sensor” is left"):
        store.take_shelf_part(part.id)
    assert store.shelf()[0].count == 0


def test_a_unit_given_up_becomes_a_donor_and_its_parts_lie_on_the_shelf(store: Store):
    donor = store.add_unit(a_unit())
    parts = [ShelfPart("", name, "Plover T2", 1, note="from SM-07-04") for name in ("Left stick sensor", "Right cap")]
    assert store.give_up(donor, parts, reason="gives a sensor to SM-07-05").becomes == "donor"
    assert store.unit(donor.id).becomes == "donor"
    assert [(p.name, p.count, p.source_unit_id) for p in store.shelf()] == [
        ("Left stick sensor", 1, donor.id),
        ("Right cap", 1, donor.id),
    ]
    assert store.verify_log().sound


def test_a_unit_is_given_up_with_all_its_parts_or_not_at_all(store: Store):
    donor = store.add_unit(a_unit())
    with pytest.raises(InputError, match="no name"):
        store.give_up(donor, [ShelfPart("", "Right cap", "Plover T2", 1), ShelfPart("", " ", "Plover T2", 1)])
    assert store.unit(donor.id).becomes == "open"
    assert store.shelf() == ()


def test_a_treatment_takes_its_part_off_the_shelf_or_is_not_written_down(store: Store):
    unit = store.add_unit(a_unit())
    part = store.add_shelf_part(ShelfPart("", "Left stick sensor", "Plover T2", 1))
    treatment = Treatment("", unit.id, "replace sensor", "", part=part.name)
    store.add_treatment(treatment, shelf_part_id=part.id)
    assert store.shelf()[0].count == 0
    with pytest.raises(InputError, match="is left on the shelf"):
        store.add_treatment(treatment, shelf_part_id=part.id)
    assert len(store.treatments_of(unit.id)) == 1


def test_lots_say_what_their_units_became_however_many_there_are(store: Store):
    lot, other = store.add_lot(Lot("", "SM-07", "2026-03-02")), store.add_lot(Lot("", "SM-08", "2026-03-03"))
    store.add_unit(a_unit("loose"))
    units = [store.add_unit(replace(a_unit(f"SM-07-{n:03d}"), lot_id=lot.id)) for n in range(205)]
    store.change_unit(replace(units[0], becomes="scrap"))
    assert store.lot_states() == {"": {"open": 1}, lot.id: {"open": 204, "scrap": 1}}
    assert [h.unit.tag for h in store.histories_of_lot(lot.id)] == [u.tag for u in units]
    assert store.histories_of_lot(other.id) == ()


def test_settings_are_remembered(store: Store, tmp_path: Path):
    assert store.get_setting("size", "big") == "big"
    store.set_setting("size", "small")
    store.set_setting("size", "tiny")
    with open_store(tmp_path, read_only=True) as other:
        assert other.get_setting("size") == "tiny"


def test_many_threads_write_and_read_at_once(store: Store):
    unit = store.add_unit(a_unit())
    visit = store.start_visit(unit.id, "intake")
    faults: list[BaseException] = []

    def work() -> None:
        try:
            for _ in range(10):
                store.add_result(a_result(visit.id))
                store.history(unit.id)
        except BaseException as fault:  # noqa: BLE001
            faults.append(fault)

    threads = [threading.Thread(target=work) for _ in range(4)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert faults == []
    assert sorted(r.attempt for r in store.results_of_visit(visit.id)) == list(range(1, 41))
    assert store.verify_log().sound


def test_two_stations_on_one_file_share_one_log(tmp_path: Path, clock: HandClock):
    with open_store(tmp_path, clock=clock) as one, open_store(tmp_path, clock=clock) as two:
        unit = one.add_unit(a_unit())
        first = one.start_visit(unit.id, "intake")
        second = two.start_visit(unit.id, "after treatment")
        for _ in range(5):
            one.add_result(a_result(first.id))
            two.add_result(a_result(second.id))
        assert (first.number, second.number) == (1, 2)
        report = two.verify_log()
        assert (report.sound, len(report.heads)) == (True, 1)


def test_a_store_opened_for_reading_writes_nothing(store: Store, tmp_path: Path):
    unit = store.add_unit(a_unit())
    with open_store(tmp_path, read_only=True) as reading:
        assert reading.units() == (unit,)
        with pytest.raises(RecordError, match="for reading only"):
            reading.add_unit(a_unit("SM-07-05"))


def test_a_long_reading_keeps_no_short_one_waiting(store: Store):
    unit = store.add_unit(a_unit())
    with store._connections.reading_apart() as db:
        assert db.execute("SELECT count(*) FROM units").fetchone()[0] == 1
        seen: list[object] = []
        other = threading.Thread(target=lambda: seen.extend(store.units()))
        other.start()
        other.join(timeout=20)
        assert seen == [unit]
