"""The clock of a treatment under way: it goes on while nothing runs, stands while it is paused, and forgets nothing."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from station.bench import work as rules
from station.bench.work import Work
from station.records.clock import parse_time
from station.records.types import Treatment

BEGIN = parse_time("2026-11-28T09:00:00.000Z")
TREATMENT = Treatment("t", "u", "clean the sensor", "", "Left stick sensor, horizontal")


def at(minutes: float) -> datetime:
    return BEGIN + timedelta(minutes=minutes)


def told(*events: tuple[str, float]) -> Work:
    """What became of it, each event at its minute; kept and read again in between, as after a restart."""
    work = rules.begin(TREATMENT, BEGIN)
    for what, minute in events:
        work = rules.paused(work, at(minute)) if what == "pause" else rules.gone_on(work, at(minute))
        (work,) = rules.from_text(rules.to_text([work]))
    return work


@pytest.mark.parametrize(
    ("events", "now", "minutes"),
    [
        pytest.param([], 0.0, 1, id="a moment is a minute"),
        pytest.param([], 8.2, 9, id="begun minutes are whole"),
        pytest.param([("pause", 4.0)], 90.0, 4, id="paused"),
        pytest.param([("pause", 4.0), ("go on", 60.0)], 65.0, 9, id="paused, then gone on"),
        pytest.param([("pause", 4.0), ("pause", 30.0)], 90.0, 4, id="paused twice"),
        pytest.param([("go on", 4.0)], 8.0, 8, id="gone on with while it went"),
        pytest.param([], -5.0, 1, id="the clock was set back"),
        pytest.param([], 241.0, None, id="forgotten: nobody knows"),
        pytest.param([("pause", 20.0)], 9000.0, 20, id="paused over night"),
    ],
)
def test_the_minutes_count_themselves(events: list[tuple[str, float]], now: float, minutes: int | None) -> None:
    assert rules.minutes(told(*events), at(now)) == minutes


def test_what_is_recorded_has_its_minutes_and_the_time_of_its_end() -> None:
    done = rules.ended(told(), at(12), 12)
    assert (done.id, done.kind, done.part, done.minutes) == ("t", TREATMENT.kind, TREATMENT.part, 12)
    assert parse_time(done.at) == at(12)


@pytest.mark.parametrize(
    "text",
    ["", "[", "[" * 3000, "{}", "3", "[3]", '[{"since": 4}]', rules.to_text([told()]).replace("2026-11-28T09", "soon")],
)
def test_what_is_no_work_under_way_is_left_out(text: str) -> None:
    assert rules.from_text(text) == ()


def test_seconds_that_no_clock_counts_are_no_work() -> None:
    text = rules.to_text([told()])
    assert rules.from_text(text.replace('"passed_s": 0.0', '"passed_s": 1' + "0" * 400)) == ()


def test_one_that_is_damaged_costs_no_other() -> None:
    text = rules.to_text([told(), told()])
    assert len(rules.from_text(text.replace('"kind": "clean the sensor", ', "", 1))) == 1
