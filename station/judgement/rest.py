"""Rest between a treatment and the second test: how long, whether it is over, and when the second test is done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from station.judgement.alone import done_alone
from station.judgement.tries import gave_verdict
from station.records.clock import day_of, days_later
from station.records.rules import ResultsOf
from station.records.types import Result, Treatment, Unit, UnitHistory, Visit
from station.words import figures
from station.words import judgement as words

DEFAULT_REST_DAYS = 3
SECOND_TESTS = ("after rest", "final")
"""kinds of visit that count as the test after the rest"""
NO_REST = ("other", "replace battery", "replace cable", "replace motor", "replace housing")
"""kinds of treatment after which no rest is asked for, unless the shop sets it"""


def rest_days(kind: str) -> int:
    """Days of rest when the shop has set none: 3 after what cleaned or repaired (common practice, no source)."""
    return 0 if kind in NO_REST else DEFAULT_REST_DAYS


def rest_until(unit: Unit, treatment: Treatment, days: int) -> str:
    """The rest date of the unit after this treatment: the later of the one it has and the new one."""
    return max(unit.rest_until, days_later(treatment.at, days)) if days else unit.rest_until


def becomes_after_treatment(unit: Unit) -> str:
    """What becomes of a unit once it was treated: nobody has shown that it still is what it was called ready for."""
    return "open" if unit.becomes == "ready" else unit.becomes


def rest_over(unit: Unit, today: str) -> bool:
    """Whether the rest date has come (or none was set); `today`: YYYY-MM-DD."""
    return today >= unit.rest_until


def second_test(unit: Unit, visits: Sequence[Visit], results_of: ResultsOf) -> Visit | None:
    """The last visit that is the test after the rest; None while there is none.

    It is a finished visit *after rest* or *final* that began on the rest date or later (days in UTC; where
    the clock was set back since, by the day to which it was set) and in which at
    least one try that counts was measured and gave a verdict; being left alone is no test of its own, nor is what a
    person said. `results_of`: visit id → its
    results, asked only where that decides.
    """
    return next((v for v in reversed(visits) if _in_time(unit, v) and any(map(_tested, results_of(v.id)))), None)


def _tested(result: Result) -> bool:
    return gave_verdict(result) and not done_alone(result) and not result.by_hand


def _in_time(unit: Unit, visit: Visit) -> bool:
    return visit.kind in SECOND_TESTS and bool(visit.finished_at) and visit.order[:10] >= unit.rest_until


def why_not_rested(history: UnitHistory, today: str) -> str:
    """What rest and second test have against calling the unit ready, one sentence; empty when they have nothing."""
    unit = history.unit
    if not rest_facts(history).still_due:
        return ""
    if (ahead := rest_facts(history).ahead) is not None:
        days = (figures.day(day) for day in (ahead.started_at, ahead.order, unit.rest_until))
        return words.TESTED_AHEAD.format(tag=unit.tag, **dict(zip(("said", "was", "until"), days, strict=True)))
    if rest_over(unit, today):
        return words.NOT_TESTED_AFTER_REST.format(tag=unit.tag)
    return words.STILL_RESTS.format(tag=unit.tag, day=figures.day(unit.rest_until))


def _tested_ahead(history: UnitHistory) -> Visit | None:
    """The last test that came in time by a clock which ran ahead, and was set back afterwards."""
    until = history.unit.rest_until
    found = (v for v in reversed(history.visits) if v.kind in SECOND_TESTS and v.finished_at and v.ordered)
    return next((v for v in found if v.started_at[:10] >= until > v.order[:10]), None)


@dataclass(frozen=True, slots=True)
class RestFacts:
    """Rest and second test of a unit, as they can be told.

    `days`: from the last treatment before the second test to that test; None where there is no such pair. `since`: the
    treatments after it (they asked for no rest, or the date would have moved on). `waived`: something was done after
    which a rest is usual, the shop asks for none, and there was no second test. `ahead`: there was one, which came in
    time only by a clock that ran ahead.
    """

    treated: bool
    until: str
    second: Visit | None = None
    days: int | None = None
    since: tuple[Treatment, ...] = ()
    waived: bool = False
    ahead: Visit | None = None

    @property
    def still_due(self) -> bool:
        """Whether a second test is asked for and not done."""
        return bool(self.until) and self.second is None


def rest_facts(history: UnitHistory) -> RestFacts:
    """What can be told of a unit's rest, out of its whole history."""
    unit, treatments = history.unit, history.treatments
    second = second_test(unit, history.visits, results_in(history))
    if second is None:
        waived = not unit.rest_until and any(rest_days(t.kind) for t in treatments)
        return RestFacts(bool(treatments), unit.rest_until, waived=waived, ahead=_tested_ahead(history))
    before = [t for t in treatments if t.order < second.order]
    since = tuple(t for t in treatments if t.order >= second.order)
    days = days_between(before[-1].order, second.order) if before else None
    return RestFacts(bool(treatments), unit.rest_until, second, days, since)


def days_between(start: str, end: str) -> int:
    """Days from the date of one time text to that of another, in UTC."""
    return (day_of(end) - day_of(start)).days


def results_in(history: UnitHistory) -> ResultsOf:
    """Visit id → its results, out of a history that was read whole."""
    return lambda visit_id: (r for r in history.results if r.visit_id == visit_id)
