"""The course of a unit: each reading over its visits, with what was done in between, and whether a cure held. Pure."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from datetime import datetime

from station.checks.decide import reading_outcome
from station.checks.registry import describe, title_of
from station.checks.said import bare_value, reading_name
from station.checks.types import Outcome, Reading
from station.evidence.told import plain_name
from station.judgement.rest import SECOND_TESTS
from station.judgement.tries import counted
from station.records.types import Treatment, UnitHistory, Visit
from station.words import common, figures, grammar
from station.words import evidence_room as words
from station.words.grammar import sentence_start, spoken_name

HEADS = (
    "visit", "kind", "started_at", "check", "control", "reading", "value", "uncertainty", "unit", "limit",
    "fail_beyond", "outcome",
)  # fmt: skip
"""the columns of the file: the same in every language, since programs read it"""
_RANK = {Outcome.FAIL: 0, Outcome.BORDERLINE: 1, Outcome.PASS: 2}
A_REST_H = 20.0
"""so long between two visits is a rest, whatever it was meant as: overnight and longer (customary, no published
source)"""


@dataclass(frozen=True, slots=True)
class Point:
    """A reading at a visit, by the number of the visit among those of the course."""

    visit: int
    reading: Reading
    result_id: str
    outcome: Outcome

    @property
    def value(self) -> float:
        return 0.0 if self.reading.value is None else self.reading.value


@dataclass(frozen=True, slots=True)
class Between:
    """What lies before a visit: treatments, oldest first, and for how many hours it lay, 0 for no rest."""

    treatments: tuple[Treatment, ...] = ()
    rest_h: float = 0.0


@dataclass(frozen=True, slots=True)
class CourseLine:
    """One reading over the visits at which it was had."""

    check: str
    control: str
    name: str
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Course:
    """`before[k]`: what lies before visit k. `lines`: those that changed sides first, then those that do not pass."""

    visits: tuple[Visit, ...] = ()
    before: tuple[Between, ...] = ()
    lines: tuple[CourseLine, ...] = ()


def course_of(history: UnitHistory) -> Course:
    """The visits that hold results, and of each check the try that counts there; readings that are judged."""
    held = {r.visit_id for r in history.results}
    visits = tuple(v for v in history.visits if v.id in held)
    found: dict[tuple[str, str, str], list[Point]] = {}
    for k, visit in enumerate(visits):
        for (check, control), result in counted(r for r in history.results if r.visit_id == visit.id).items():
            for reading in result.assessment.readings:
                outcome = reading_outcome(reading)
                if reading.value is not None and outcome in _RANK and not result.by_hand:
                    point = Point(k, reading, result.id, outcome)
                    found.setdefault((check, control, reading.name), []).append(point)
    lines = [CourseLine(*key, tuple(points)) for key, points in found.items()]
    lines.sort(key=lambda line: (len({p.outcome for p in line.points}) == 1, _RANK[line.points[-1].outcome]))
    return Course(visits, tuple(_before(history, visits, k) for k in range(len(visits))), tuple(lines))


def _before(history: UnitHistory, visits: tuple[Visit, ...], k: int) -> Between:
    start = visits[k].started_at
    since = (visits[k - 1].finished_at or visits[k - 1].started_at) if k else ""
    done = tuple(t for t in history.treatments if (visits[k - 1].started_at if k else "") < t.at <= start)
    if not k:
        return Between(done)
    hours = (datetime.fromisoformat(start) - datetime.fromisoformat(since)).total_seconds() / 3600.0
    return Between(done, hours if hours >= A_REST_H else 0.0)


# --- in words ------------------------------------------------------------------------------------------------


def title_of_line(line: CourseLine, name: str) -> str:
    """ "Left stick: at rest, off centre"; `name`: of the control."""
    check = describe(line.check).short or spoken_name(title_of(line.check))
    what = words.RESULT.format(control=name or sentence_start(common.WHOLE_UNIT), check=check)
    return words.COURSE_READING.format(what=what, reading=reading_name(line.check, line.name))


def values_told(line: CourseLine) -> str:
    """ "12.8 → 1.2 → 1.4 %": the unit once, at the end."""
    last = len(line.points) - 1
    return words.ARROW.join(bare_value(line.check, p.reading, unit=k == last) for k, p in enumerate(line.points))


def held_told(course: Course, line: CourseLine) -> str:
    """Whether it ever failed, and whether what cured it held."""
    points = line.points
    bad = [k for k, p in enumerate(points) if p.outcome is not Outcome.PASS]
    now = points[-1]
    if not bad:
        return words.ALWAYS_PASSED if len(points) > 1 else words.PASSED_ONCE
    if now.outcome is not Outcome.PASS:
        verdict = words.HERE[now.outcome.value]
        passed = [k for k, p in enumerate(points) if p.outcome is Outcome.PASS]
        if not passed:
            return words.NEVER_PASSED
        first_bad = next(p for p in points[passed[-1] + 1 :])
        day = figures.day(course.visits[first_bad.visit].started_at)
        return words.DID_NOT_HOLD.format(verdict=verdict, day=day)
    first_good = points[bad[-1] + 1]
    done = [t for k in range(points[bad[-1]].visit + 1, first_good.visit + 1) for t in course.before[k].treatments]
    rested = any(
        course.visits[p.visit].kind in SECOND_TESTS or course.before[p.visit].rest_h for p in points[bad[-1] + 1 :]
    )
    rest = words.HELD_REST if rested else words.NO_REST_YET
    if not done:
        day = figures.day(course.visits[first_good.visit].started_at)
        return words.PASSES_UNTREATED.format(day=day, rest=rest)
    kind = common.TREATMENT_KINDS.get(done[-1].kind, done[-1].kind)
    return words.PASSES_SINCE.format(treatment=kind, day=figures.day(done[-1].at), rest=rest)


def rest_told(hours: float) -> str:
    """ "3 days", "22 hours"."""
    days = round(hours / 24.0)
    if hours < 36.0:
        return grammar.count_of(round(hours), words.HOURS)
    return grammar.count_of(days, words.DAYS)


def worth_drawing(course: Course) -> tuple[CourseLine, ...]:
    """The readings that did not always pass; of a unit that did, the first."""
    return tuple(ln for ln in course.lines if any(p.outcome is not Outcome.PASS for p in ln.points)) or course.lines[:1]


def course_file(tag: str, line: CourseLine) -> str:
    """The name of its picture, without an ending."""
    name = words.COURSE_FILE.format(tag=tag, check=line.check, control=line.control, reading=line.name)
    return plain_name(name)


def course_csv(course: Course) -> bytes:
    """All readings over the visits, for another program: UTF-8 with a byte order mark."""
    rows: list[tuple[object, ...]] = [HEADS]
    for line in course.lines:
        for p in line.points:
            visit, r = course.visits[p.visit], p.reading
            told = (visit.number, visit.kind, visit.started_at, line.check, line.control, line.name)
            rows.append((*told, r.value, r.uncertainty, r.unit, r.limit, r.fail_beyond, p.outcome.value))
    text = io.StringIO()
    csv.writer(text).writerows(rows)
    return text.getvalue().encode("utf-8-sig")
