"""Rest dates, the due list, and when a unit may be called ready."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from station.errors import InputError
from station.records.store import Store
from station.records.types import TREATMENT_KINDS, Treatment, Unit
from tests.records.records_kit import PASSED, HandClock, a_result, a_unit, open_store


@pytest.fixture
def clock() -> HandClock:
    return HandClock("2026-03-06T10:00:00+00:00")


@pytest.fixture
def store(tmp_path: Path, clock: HandClock):
    with open_store(tmp_path, clock=clock) as opened:
        yield opened


def treat(store: Store, unit: Unit, kind: str = "clean the sensor") -> Treatment:
    return store.add_treatment(Treatment("", unit.id, kind, "", minutes=9, cost_minor=40))


def second_test(store: Store, unit: Unit, kind: str = "after rest", *, results: int = 1) -> None:
    visit = store.start_visit(unit.id, kind)
    for _ in range(results):
        store.add_result(a_result(visit.id, assessment=PASSED))
    store.finish_visit(visit.id)


UNRESTED = ("other", "replace battery", "replace cable", "replace motor", "replace housing")


@pytest.mark.parametrize("kind", TREATMENT_KINDS)
def test_a_treatment_sets_the_rest_date_by_its_kind(store: Store, kind: str):
    unit = store.add_unit(a_unit())
    treat(store, unit, kind)
    assert store.unit(unit.id).rest_until == ("" if kind in UNRESTED else "2026-03-09")


def test_the_shop_sets_the_days_of_rest(store: Store):
    unit = store.add_unit(a_unit())
    store.set_setting("rest_days.clean the sensor", "10")
    store.set_setting("rest_days.adjust", "0")
    treat(store, unit, "adjust")
    assert store.unit(unit.id).rest_until == ""
    treat(store, unit)
    assert store.unit(unit.id).rest_until == "2026-03-16"


@pytest.mark.parametrize("value", ["3.5", "three", "-1", "", "²", "٣", "366", "9" * 5000])
def test_days_of_rest_that_are_none_count_as_those_that_ship(store: Store, value: str):
    """Another version may have stored them."""
    unit = store.add_unit(a_unit())
    with pytest.raises(InputError, match="is no number of days to rest"):
        store.set_setting("rest_days.adjust", value)
    store_unchecked(store, "rest_days.adjust", value)
    treat(store, unit, "adjust")
    assert store.rest_days("adjust") == 3
    assert store.unit(unit.id).rest_until == "2026-03-09"


def store_unchecked(store: Store, key: str, value: str) -> None:
    """As another version may have stored it."""
    with closing(sqlite3.connect(store.path)) as db, db:
        db.execute("INSERT INTO settings VALUES (?, ?, '')", (key, value))


def test_a_later_treatment_moves_the_date_on_and_a_shorter_one_does_not_move_it_back(store: Store, clock: HandClock):
    unit = store.add_unit(a_unit())
    treat(store, unit)
    clock.move(days=1)
    treat(store, unit)
    store.set_setting("rest_days.adjust", "1")
    treat(store, unit, "adjust")
    assert store.unit(unit.id).rest_until == "2026-03-10"


def test_due_lists_what_rests_and_says_what_is_ready_for_its_second_test(store: Store, clock: HandClock):
    first = store.add_unit(a_unit("SM-07-01"))
    began = treat(store, first).at
    clock.move(days=2)
    second = store.add_unit(a_unit("SM-07-02"))
    treat(store, second)
    store.add_unit(a_unit("SM-07-03"))
    listed = store.due(date(2026, 3, 9))
    assert [(u.tag, ready) for u, _, ready in listed] == [("SM-07-01", True), ("SM-07-02", False)]
    assert listed[0][1] == began
    clock.move(days=1)
    second_test(store, first)
    assert [u.tag for u, _, _ in store.due("2026-03-09")] == ["SM-07-02"]
    store.change_unit(replace(store.unit(second.id), becomes="donor"))
    assert store.due("2026-03-20") == []


def test_a_unit_without_a_rest_date_can_become_ready(store: Store):
    unit = store.add_unit(a_unit())
    assert store.change_unit(replace(unit, becomes="ready")).becomes == "ready"


@pytest.mark.parametrize(
    ("days", "visit", "results", "sentence"),
    [
        pytest.param(2, None, 0, "rests until 2026-03-09", id="too early"),
        pytest.param(2, "after rest", 1, "rests until 2026-03-09", id="tested too early"),
        pytest.param(3, None, 0, "not had its second test", id="rested, not tested"),
        pytest.param(3, "after treatment", 1, "not had its second test", id="tested, but not as a second test"),
        pytest.param(3, "after rest", 0, "not had its second test", id="a visit without results proves nothing"),
        pytest.param(3, "after rest", 1, "", id="rested and tested"),
        pytest.param(4, "final", 1, "", id="a final visit counts too"),
    ],
)
def test_ready_needs_the_rest_and_the_second_test(
    store: Store, clock: HandClock, days: int, visit: str | None, results: int, sentence: str
):
    unit = store.add_unit(a_unit())
    treat(store, unit)
    clock.move(days=days)
    if visit:
        second_test(store, unit, visit, results=results)
    wanted = replace(store.unit(unit.id), becomes="ready")
    if not sentence:
        assert store.change_unit(wanted).becomes == "ready"
        assert store.history(unit.id).extra == {}
        return
    with pytest.raises(InputError, match=sentence):
        store.change_unit(wanted, reason="  ")
    assert store.unit(unit.id).becomes == "open"


def test_an_override_is_recorded_with_its_reason_for_the_certificate(store: Store):
    unit = store.add_unit(a_unit())
    treat(store, unit)
    store.change_unit(replace(store.unit(unit.id), becomes="ready"), reason="the buyer waits.")
    assert store.history(unit.id).extra["override"] == "the buyer waits"
    store.change_unit(replace(store.unit(unit.id), becomes="sold", sold_minor=2600))
    assert store.history(unit.id).extra["override"] == "the buyer waits"
    assert store.verify_log().sound


def test_the_rest_date_cannot_be_cleared_to_get_round_the_second_test(store: Store):
    unit = store.add_unit(a_unit())
    treat(store, unit)
    with pytest.raises(InputError, match="rests until"):
        store.change_unit(replace(store.unit(unit.id), becomes="ready", rest_until=""))


def test_a_rest_date_moved_back_needs_a_reason_that_is_kept(store: Store):
    unit = store.add_unit(a_unit())
    treat(store, unit)
    store.change_unit(replace(store.unit(unit.id), rest_until="2026-03-07"), reason="only dust on the cap")
    assert store.unit(unit.id).rest_until == "2026-03-07"
    store.change_unit(replace(store.unit(unit.id), becomes="ready"), reason="sold to a friend")
    assert store.history(unit.id).extra["override"] == "sold to a friend"


def test_a_stale_copy_of_the_unit_does_not_shorten_the_rest(store: Store):
    unit = store.add_unit(a_unit())
    treat(store, unit)
    store.change_unit(replace(unit, condition="grip worn"))
    assert store.unit(unit.id).rest_until == "2026-03-09"
