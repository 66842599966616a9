"""A rest that was over only by a clock set forward: the certificate says so, and is not one of a unit that passed."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.bench.plan import plan
from station.certificate.content import build_certificate
from station.certificate.types import Certificate
from station.checks.types import Assessment, Outcome, Reading
from station.records.types import Result
from tests.diagnosis.diagnosis_kit import SHEET
from tests.judgement.test_clock_set_right import PASSED, Day


@pytest.fixture
def day(tmp_path: Path) -> Day:
    return Day(tmp_path)


def whole_test(day: Day, kind: str) -> None:
    visit = day.store.start_visit(day.unit.id, kind)
    done = Assessment(Outcome.PASS, (Reading("offset", 1.2, "%", 0.3, 5.0, 10.0),))
    for step in plan(SHEET):
        day.store.add_result(Result("", visit.id, step.check, step.control, 0, "", done))
    day.store.finish_visit(visit.id)


def certificate_of(day: Day) -> Certificate:
    return build_certificate(
        day.history, plan(SHEET), SHEET, number="X", issued_at=day.store.now(), bench="bench 1", person="Ines"
    )


def test_a_second_test_by_a_clock_that_ran_ahead_is_none_and_the_certificate_says_why(day: Day) -> None:
    day.treat()
    day.clock.move(days=4)  # set forward: only a minute went by
    whole_test(day, "after rest")
    by_that_clock = certificate_of(day)
    assert by_that_clock.standing.kind == "passed", "nothing shows it as long as the clock is not set right"
    day.clock.move(days=-4, minutes=5)
    day.tested(PASSED, "intake")
    told = certificate_of(day)
    assert told.standing.kind == "incomplete"
    assert "not yet tested again after its rest" in told.standing.headline
    assert told.rest == (
        "Not tested after a rest yet: the test dated 2026-12-03 was made by a clock that ran ahead and was set back "
        "since, on 2026-11-29 at the latest; due from 2026-12-02."
    )
    (said,) = (text for text in told.deviations if "clock" in text)
    assert said == (
        "The bench's clock ran ahead and was set back: visit 1, after rest, dated 2026-12-03, was on 2026-11-29 at the "
        "latest. The order in which the bench recorded it counts, not this date."
    )


def test_a_treatment_that_is_dated_too_late_is_named_with_both_days(day: Day) -> None:
    day.clock.move(days=6)
    day.treat()
    day.clock.move(days=-6, minutes=5)
    whole_test(day, "intake")
    (said,) = (text for text in certificate_of(day).deviations if "clock" in text)
    assert "clean the sensor, dated 2026-12-05, was on 2026-11-29 at the latest" in said


def test_a_clock_that_was_right_is_not_spoken_of(day: Day) -> None:
    day.treat()
    day.clock.move(days=4)
    whole_test(day, "after rest")
    told = certificate_of(day)
    assert told.standing.kind == "passed"
    assert not [text for text in (*told.deviations, told.rest) if "clock" in text]
