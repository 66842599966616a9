"""A clock that ran ahead and was set right: what was recorded before is not newer than what was recorded after."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.checks.types import Assessment, Finding, Outcome, Reading
from station.judgement.rest import rest_facts, second_test, why_not_rested
from station.judgement.treated import older, untested
from station.judgement.tries import suspicions
from station.records.changed import seen_now, touched_since
from station.records.store import Store
from station.records.types import Result, Treatment, Unit, UnitHistory
from station.ui.record.rows import log_lines
from tests.diagnosis.diagnosis_kit import SHEET
from tests.records.records_kit import HandClock, a_unit, open_store

FAILED = Assessment(Outcome.FAIL, (), (Finding("spikes", "spikes", "x"),))
PASSED = Assessment(Outcome.PASS, (Reading("offset", 1.2, "%", 0.3, 5.0, 10.0),))
CLEANED = "clean the sensor"


class Day:
    """Records of one unit under a clock that is moved."""

    def __init__(self, folder: Path) -> None:
        self.clock = HandClock("2026-11-29T10:00:00+00:00")
        self.store: Store = open_store(folder, clock=self.clock, sheet=SHEET)
        self.unit = self.store.add_unit(a_unit())

    def tested(self, outcome: Assessment, kind: str = "intake", check: str = "sweep") -> None:
        visit = self.store.start_visit(self.unit.id, kind)
        self.store.add_result(Result("", visit.id, check, "left_stick", 0, "", outcome))
        self.store.finish_visit(visit.id)

    def treat(self) -> None:
        self.store.add_treatment(Treatment("", self.unit.id, CLEANED, "", part="Left stick sensor, horizontal"))

    @property
    def history(self) -> UnitHistory:
        return self.store.history(self.unit.id)


@pytest.fixture
def day(tmp_path: Path) -> Day:
    return Day(tmp_path)


def test_what_was_measured_with_the_clock_ahead_is_older_than_the_treatment_after_it_was_set_right(day: Day) -> None:
    day.clock.move(days=6)
    day.tested(FAILED)
    day.clock.move(days=-6)
    day.treat()
    history = day.history
    assert history.results[0].at > history.treatments[0].at, "the times are kept as they were recorded"
    assert history.results[0].ordered
    assert set(older(history, SHEET)) == {("sweep", "left_stick")}
    assert untested(history, SHEET) == history.treatments[0]
    day.clock.move(minutes=5)
    day.tested(PASSED, "after treatment")
    assert untested(day.history, SHEET) is None
    assert older(day.history, SHEET) == {}


def test_treatments_keep_the_order_in_which_they_were_done(day: Day) -> None:
    day.clock.move(days=6)
    day.treat()
    day.clock.move(days=-6, minutes=5)
    day.treat()
    first, last = day.history.treatments
    assert first.at > last.at
    assert first.order < last.order
    assert [t.id for t in day.store.treatments_of(day.unit.id)] == [first.id, last.id]


def test_the_log_of_the_record_pane_has_the_order_in_which_it_was_recorded(day: Day) -> None:
    day.clock.move(days=6)
    day.tested(FAILED)
    day.clock.move(days=-6, minutes=5)
    day.treat()
    assert [line.text.partition(":")[0] for line in log_lines(day.history)] == ["intake", CLEANED]


def test_a_clock_that_fell_back_to_its_beginning_and_was_set_right_again_changes_no_order(day: Day) -> None:
    day.tested(FAILED)
    day.clock.move(days=-9000)
    day.treat()
    assert set(older(day.history, SHEET)) == {("sweep", "left_stick")}
    day.clock.move(minutes=5)
    day.tested(FAILED, "after treatment")
    day.clock.move(days=9000, hours=2)
    day.treat()
    day.clock.move(minutes=5)
    assert set(older(day.history, SHEET)) == {("sweep", "left_stick")}
    day.tested(PASSED, "after treatment")
    assert older(day.history, SHEET) == {}
    told = day.history
    every = sorted((*told.results, *told.treatments), key=lambda row: row.order)
    assert [type(row).__name__ for row in every] == ["Result", "Treatment", "Result", "Treatment", "Result"]


def test_a_suspicion_of_a_look_is_cleared_by_a_test_after_the_clock_was_set_right(day: Day) -> None:
    day.clock.move(days=6)
    day.tested(FAILED, "first look", "glance")
    day.clock.move(days=-6, minutes=5)
    assert suspicions(day.history.results)
    day.tested(PASSED)
    assert suspicions(day.history.results) == {}


def test_a_rest_that_was_over_only_by_a_clock_set_forward_is_not_over(day: Day) -> None:
    day.treat()
    day.clock.move(days=6)
    day.tested(PASSED, "after rest")
    assert second_test(day.history.unit, day.history.visits, lambda visit: day.history.results) is not None
    day.clock.move(days=-6, minutes=10)
    day.store.add_unit(Unit("", "other", "Plover T2"))  # anything that is recorded shows that the clock was set back
    assert rest_facts(day.history).still_due
    said = why_not_rested(day.history, "2026-11-29")
    assert "by a clock that ran ahead" in said
    assert day.store.due("2026-11-29"), "it waits for its second test"
    day.clock.move(days=4)
    day.tested(PASSED, "after rest")
    assert not rest_facts(day.history).still_due


def test_whoever_keeps_what_was_worked_out_reads_every_unit_again_once_the_clock_was_set_back(day: Day) -> None:
    other = day.store.add_unit(Unit("", "other", "Plover T2"))
    day.clock.move(days=6)
    day.tested(FAILED)
    with day.store._reading() as db:
        seen = seen_now(db)
    day.tested(FAILED)
    with day.store._reading() as db:
        assert touched_since(db, seen) == {day.unit.id}
    day.clock.move(days=-6, minutes=5)
    day.treat()
    with day.store._reading() as db:
        assert touched_since(db, seen) == {day.unit.id, other.id}


def test_where_the_clock_was_never_set_back_nothing_is_moved(day: Day) -> None:
    day.tested(FAILED)
    day.clock.move(minutes=5)
    day.treat()
    assert not any(row.ordered for row in (*day.history.results, *day.history.treatments, *day.history.visits))


def test_another_file_in_the_place_of_one_that_was_read_is_read_anew(tmp_path: Path) -> None:
    one = Day(tmp_path / "one")
    one.clock.move(days=6)
    one.tested(FAILED)
    one.clock.move(days=-6)
    one.treat()
    assert one.history.results[0].ordered
    one.store.close()
    (tmp_path / "one" / "restpoint.db").rename(tmp_path / "aside.db")
    two = Day(tmp_path / "one")
    two.clock.move(days=6)
    two.tested(FAILED)
    assert two.history.results[0].ordered == ""
