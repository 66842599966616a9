"""The list of the room: the results of a unit, the newest visit first, and below the one that is open its findings and
readings. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from station.checks.decide import reading_outcome
from station.checks.registry import describe, title_of
from station.checks.said import reading_name, sentence, value_text
from station.checks.types import Outcome
from station.judgement.tries import Key, shown_by_key
from station.records.types import Result, UnitHistory
from station.ui.painting.shapes import NOTE
from station.ui.painting.tables import Line
from station.words import common, figures
from station.words import evidence_room as words
from station.words.grammar import sentence_start, spoken_name

_WORST_FIRST = (Outcome.FAIL, Outcome.BORDERLINE, Outcome.INTERRUPTED, Outcome.NOT_DONE, Outcome.PASS)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a row opens: a result, one of its findings (its number among them), or one of its readings."""

    result: Result
    finding: int = -1
    reading: int = -1


def rows(history: UnitHistory, names: Mapping[str, str], open_id: str) -> list[Line]:
    """What can be looked at. Of a visit first what is wrong; a try of each check, all of them where one is open."""
    found: list[Line] = []
    for visit in reversed(history.visits):
        mine = [r for r in history.results if r.visit_id == visit.id]
        shown = {r.id for r in shown_by_key(mine).values()}
        tries = [r for r in mine if r.id in shown or r.id == open_id]
        kind = words.VISIT.format(kind=common.VISIT_KINDS[visit.kind], day=figures.when(visit.started_at))
        for result in sorted(tries, key=lambda r: _WORST_FIRST.index(r.assessment.outcome)):
            found.append(Line((_what(result, names), kind), Asked(result), result.assessment.outcome))
            if result.id == open_id:
                found += _below(result)
    return found


def _below(result: Result) -> list[Line]:
    done = result.assessment
    found = [
        Line((words.BELOW.format(what=sentence(result.check, f)), ""), Asked(result, finding=k), NOTE)
        for k, f in enumerate(done.findings)
    ]
    for k, reading in enumerate(done.readings):
        name = sentence_start(reading_name(result.check, reading.name))
        said = words.BELOW.format(what=name)
        found.append(
            Line((said, value_text(result.check, reading)), Asked(result, reading=k), reading_outcome(reading))
        )
    return found


def _what(result: Result, names: Mapping[str, str]) -> str:
    check = describe(result.check).short or spoken_name(title_of(result.check))
    control = names.get(result.control, result.control) if result.control else sentence_start(common.WHOLE_UNIT)
    return words.RESULT.format(control=control, check=check)


def first_to_look_at(history: UnitHistory, key: Key | None = None) -> Result | None:
    """The result to open: the last one of this check where there is one, else the worst of the last visit that has
    reports."""
    mine = [r for r in history.results if key is not None and (r.check, r.control) == key]
    if mine:
        return mine[-1]
    with_reports = [r for r in history.results if r.capture_sha256]
    if not with_reports:
        return history.results[-1] if history.results else None
    last = [r for r in with_reports if r.visit_id == with_reports[-1].visit_id]
    return min(last, key=lambda r: _WORST_FIRST.index(r.assessment.outcome))
