"""The course of a unit: readings over visits, what was done in between, and whether a cure held."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from station.checks.types import Assessment, Outcome, Reading
from station.evidence.course import HEADS, course_csv, course_of, held_told, rest_told, title_of_line, values_told
from station.records.types import Result, Treatment, Unit, UnitHistory, Visit

Told = tuple[str, float | None, str]
"""kind of visit, how far off centre, what was done before; days pass where the kind is a test after a rest"""


def _history(*told: Told, check: str = "rest") -> UnitHistory:
    day, visits, results, treatments = 1, [], [], []
    for k, (kind, value, treatment) in enumerate(told, start=1):
        day += 3 if kind == "after rest" else 0
        at = f"2026-11-{day:02}T{8 + k:02}"
        if treatment:
            treatments.append(Treatment(f"t{k}", "u", treatment, f"{at}:00:00Z"))
        visits.append(Visit(f"v{k}", "u", kind, k, f"{at}:10:00Z", f"{at}:20:00Z"))
        if value is not None:
            reading = Reading("offset", value, "%", 0.3, 5.0, 10.0)
            outcome = Outcome.PASS if value <= 5 else Outcome.FAIL
            done = Assessment(outcome, (reading, Reading("offset_angle", 90.0, "°")))
            results.append(Result(f"r{k}", f"v{k}", check, "left_stick", 1, f"{at}:15:00Z", done))
    return UnitHistory(Unit("u", "A-1", "m"), None, tuple(visits), tuple(results), tuple(treatments))


def _told(*told: Told) -> str:
    course = course_of(_history(*told))
    (line,) = course.lines
    return held_told(course, line)


@pytest.mark.parametrize(
    ("visits", "said"),
    [
        ([("intake", 1.0, "")], "passes; there was one visit"),
        ([("intake", 1.0, ""), ("final", 1.1, "")], "passed at every visit"),
        ([("intake", 14.0, ""), ("after treatment", 13.0, "adjust")], "never passed"),
        (
            [("intake", 14.0, ""), ("after treatment", 1.0, "clean the sensor")],
            "passes since “clean the sensor” of 2026-11-01; whether that holds shows after a rest",
        ),
        (
            [("intake", 14.0, ""), ("after treatment", 1.0, "clean the sensor"), ("after rest", 1.2, "")],
            "passes since “clean the sensor” of 2026-11-01, and did so after a rest",
        ),
        (
            [("intake", 14.0, ""), ("after treatment", 1.0, "clean the sensor"), ("after rest", 12.0, "")],
            "since 2026-11-04 it fails again: what was done did not hold",
        ),
        ([("intake", 14.0, ""), ("after treatment", 1.0, "")], "with nothing done to it in between"),
        (
            [("intake", 14.0, ""), ("after treatment", None, "adjust"), ("after treatment", 1.0, "calibrate")],
            "passes since “calibrate”",
        ),
    ],
    ids=["once", "always", "never", "cured", "held", "did not hold", "untreated", "a visit without it"],
)
def test_whether_a_cure_held_is_said(visits: list[Told], said: str):
    assert said in _told(*visits)


def test_a_reading_that_was_not_had_at_a_visit_has_no_point_there():
    course = course_of(_history(("intake", 14.0, ""), ("after treatment", None, "adjust"), ("final", 1.0, "")))
    (line,) = course.lines
    assert [course.visits[p.visit].number for p in line.points] == [1, 3]
    assert len(course.visits) == 2  # the one without a result is no visit of the course
    assert [t.kind for t in course.before[1].treatments] == ["adjust"]


def test_rests_and_treatments_lie_before_their_visit():
    course = course_of(
        _history(("intake", 14.0, ""), ("after treatment", 1.0, "clean the sensor"), ("after rest", 1.2, ""))
    )
    assert [tuple(t.kind for t in b.treatments) for b in course.before] == [(), ("clean the sensor",), ()]
    assert [b.rest_h > 0 for b in course.before] == [False, False, True]
    assert course.before[2].rest_h == pytest.approx(72 + 1 - 10 / 60)
    assert rest_told(course.before[2].rest_h) == "3 days"
    assert rest_told(21.6) == "22 hours"


def test_only_what_is_judged_and_was_measured_is_drawn():
    history = _history(("intake", 14.0, ""), ("final", 1.0, ""))
    assert [line.name for line in course_of(history).lines] == ["offset"]
    by_hand = replace(history, results=tuple(replace(r, by_hand=True) for r in history.results))
    assert course_of(by_hand).lines == ()


def test_the_try_that_counts_at_each_visit_is_drawn():
    history = _history(("intake", 14.0, ""))
    again = replace(history.results[0], id="again", attempt=2, assessment=Assessment(Outcome.PASS, (
        Reading("offset", 2.0, "%", 0.3, 5.0, 10.0),)))  # fmt: skip
    (line,) = course_of(replace(history, results=(*history.results, again))).lines
    assert [(p.result_id, p.value) for p in line.points] == [("again", 2.0)]


def test_what_changed_sides_stands_first_and_is_named():
    one, other = _history(("intake", 1.0, ""), ("final", 1.1, "")), _history(("intake", 14.0, ""), ("final", 1.0, ""))
    results = (*one.results, *(replace(r, id=f"x{r.id}", control="right_stick") for r in other.results))
    lines = course_of(replace(one, results=results)).lines
    assert [line.control for line in lines] == ["right_stick", "left_stick"]
    assert title_of_line(lines[0], "Right stick").startswith("Right stick: ")
    assert values_told(lines[0]) == "14.00 → 1.00\u00a0%"


def test_the_file_has_every_point():
    course = course_of(_history(("intake", 14.0, ""), ("after treatment", 1.0, "adjust")))
    rows = list(csv.reader(io.StringIO(course_csv(course).decode("utf-8-sig"))))
    assert tuple(rows[0]) == HEADS
    assert [(row[0], row[6], row[11]) for row in rows[1:]] == [("1", "14.0", "fail"), ("2", "1.0", "pass")]
