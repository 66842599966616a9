"""What a unit may be called: the best grade whose every limit its readings keep, and what keeps it from a better one.

A grade is worked out anew from the readings whenever it is asked for; only a certificate fixes it
(docs/decisions/grades.md).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from station.checks.decide import judged, outcome_of, reading_outcome
from station.checks.house import Grade, House
from station.checks.light import ON_REQUEST
from station.checks.registry import describe, limits_table, reading_kind
from station.checks.said import title_on, verdict_text
from station.checks.types import Limits, Outcome, Reading
from station.errors import SheetError
from station.judgement.claims import Claim, claim_of
from station.judgement.limits import in_force, shipped
from station.judgement.tries import Key
from station.records.types import Result, UnitHistory
from station.sheets.model import Sheet
from station.words import common, figures
from station.words import grades as words
from station.words.figures import Style

NAMED = 2
"""so many reasons are named, the others counted"""


@dataclass(frozen=True, slots=True)
class Obstacle:
    """What keeps a unit from a grade: a reading outside the grade's limit or too near to it, else the whole check,
    else (no `key`) its second test. `reading` carries the grade's limit, `outcome` is what it comes to by that."""

    key: Key | None = None
    reading: Reading | None = None
    outcome: Outcome = Outcome.NOT_DONE
    by_hand: bool = False


Why = Literal["", "unlisted", "limits", "sheet", "untested", "outside"]
"""why a unit has no grade: no sheet tells what is to be tested, the shop's limits or the sheet's cannot be used, checks
are missing, or it does not even keep the lowest grade"""


@dataclass(frozen=True, slots=True)
class Grading:
    """The grade of a unit; None: it has none, and `why` says so.

    `better`: the next better grade (where none fits, the lowest), `obstacles`: what keeps the unit from it. `missing`:
    of `required` checks those without a result that holds.
    """

    grade: Grade | None
    why: Why = ""
    better: Grade | None = None
    obstacles: tuple[Obstacle, ...] = ()
    missing: tuple[Key, ...] = ()
    required: int = 0


def grading_of(history: UnitHistory, wanted: Iterable[Key], sheet: Sheet, house: House) -> Grading:
    """The grade of a unit of which the checks `wanted` are asked for.

    Presses on request are not asked for, and count where they were done. A check that was skipped, gave no verdict, or
    is older than a treatment that may have changed it is missing, and a unit with a check missing has no grade.
    """
    required = tuple(key for key in dict.fromkeys(wanted) if key[0] not in ON_REQUEST)
    if not required:
        return Grading(None, "unlisted")
    if house.problem:
        return Grading(None, "limits")
    try:
        in_force(sheet, house)
    except SheetError:
        return Grading(None, "sheet")
    claim = claim_of(history, required, sheet)
    missing = tuple(key for key in required if key not in claim.verdicts or key in claim.older)
    if missing:
        return Grading(None, "untested", missing=missing, required=len(required))
    every = {**claim.verdicts, **claim.unlisted}
    results = tuple(result for key, result in every.items() if key not in claim.older)
    better: Grade | None = None
    against: tuple[Obstacle, ...] = ()
    for grade in house.grades:
        found = _obstacles(grade, results, claim, sheet, house)
        if not found:
            return Grading(grade, "", better, against, required=len(required))
        better, against = grade, found
    return Grading(None, "outside", better, against, required=len(required))


def _obstacles(
    grade: Grade, results: Sequence[Result], claim: Claim, sheet: Sheet, house: House
) -> tuple[Obstacle, ...]:
    rest = (Obstacle(),) if grade.second_test and claim.rest.still_due else ()
    if grade.faults:
        return rest
    limits = in_force(sheet, house, grade)
    found = [one for result in results for one in obstacles_in(result, limits)]
    found.sort(key=lambda one: one.outcome is not Outcome.FAIL)
    return (*found, *rest)


def obstacles_in(result: Result, limits: Limits) -> tuple[Obstacle, ...]:
    """What in this result does not pass by these limits: readings, or the check where something else decided it.

    What a person set by hand stands as it was set.
    """
    done, key = result.assessment, (result.check, result.control)
    if result.by_hand:
        return () if done.outcome is Outcome.PASS else (Obstacle(key, None, done.outcome, by_hand=True),)
    found = []
    for before, now in zip(done.readings, graded(result.check, done.readings, limits), strict=True):
        outcome = reading_outcome(now)
        if outcome is None or outcome is Outcome.PASS or (done.outcome is Outcome.PASS and now == before):
            continue
        found.append(Obstacle(key, now, outcome))
    if not found and done.outcome is not Outcome.PASS and not _by_readings(result):
        found.append(Obstacle(key, None, done.outcome))
    return tuple(found)


def by_wider_limits(claim: Claim) -> tuple[Key, ...]:
    """The checks with a reading that does better by the limit it was judged by (of the shop, of the sheet, of before)
    than by the one that ships. What a person set by hand was judged by no limit."""
    every = {**claim.verdicts, **claim.unlisted}
    return tuple(key for key, result in every.items() if not result.by_hand and _gained(result))


def _gained(result: Result) -> bool:
    readings = result.assessment.readings
    pairs = zip(readings, graded(result.check, readings, shipped()), strict=True)
    return any(_RANK.get(reading_outcome(now), 0) > _RANK.get(reading_outcome(before), 2) for before, now in pairs)


_RANK: dict[Outcome | None, int] = {Outcome.PASS: 0, Outcome.BORDERLINE: 1, Outcome.FAIL: 2}


def _by_readings(result: Result) -> bool:
    """Whether the readings alone gave the outcome: not the order of presses, and nobody's word."""
    about = describe(limits_table(result.check))
    if about.rates or about.person_answers:
        return False
    return outcome_of(result.assessment.readings) is result.assessment.outcome


def graded(check: str, readings: Sequence[Reading], limits: Limits) -> tuple[Reading, ...]:
    """The readings with these limits in the place of those by which they were judged.

    One that the check itself chose not to judge, though it has a limit, stays so; one for which there is no limit any
    more keeps that by which it was judged.
    """
    chosen = {kind.name for kind in describe(check).readings if kind.limit}
    fresh = judged(limits_table(check), readings, limits)
    return tuple(
        before if before.limit is None and reading_kind(check, before.name)[0].name in chosen else now
        for before, now in zip(readings, fresh, strict=True)
    )


# --- in words -------------------------------------------------------------------------------------------


def name_of(grade: Grade) -> str:
    """What the unit is called; the grades that ship in the language that is spoken."""
    return words.NAMES.get(grade.name, grade.name)


def headline(grading: Grading) -> str:
    """The grade in a few words, or why there is none: "good", "not graded: 3 of 38 not tested"."""
    return name_of(grading.grade) if grading.grade else words.NOT_GRADED.format(why=_why_none(grading))


def short(grading: Grading) -> str:
    """The grade where there is room for a word or two; a dash for none."""
    return name_of(grading.grade) if grading.grade else words.UNGRADED


def kept_from(grading: Grading, sheet: Sheet, style: Style | None = None) -> str:
    """What keeps the unit from the next better grade, the worst first; empty where nothing does."""
    if grading.better is None or not grading.obstacles:
        return ""
    said = [obstacle_text(one, sheet, style) for one in grading.obstacles[:NAMED]]
    why, more = words.NEXT_REASON.join(said), len(grading.obstacles) - NAMED
    if more > 0:
        why = words.AND_MORE.format(why=why, count=more)
    return words.KEPT_FROM.format(better=name_of(grading.better), why=why)


def obstacle_text(one: Obstacle, sheet: Sheet, style: Style | None = None) -> str:
    """One reason: "left stick, at rest: off centre 3.10 ± 0.40 %, should be at most 3 %"."""
    if one.key is None:
        return words.SECOND_TEST_DUE
    check = title_on(*one.key, sheet)
    if one.reading is None:
        said = words.BY_HAND if one.by_hand else words.BY_CHECK
        return said.format(check=check, outcome=common.OUTCOMES[one.outcome.value])
    said = words.BY_READING_BORDERLINE if one.outcome is Outcome.BORDERLINE else words.BY_READING
    return said.format(check=check, reading=verdict_text(one.key[0], one.reading, style))


def _why_none(grading: Grading) -> str:
    match grading.why:
        case "limits":
            return words.LIMITS_UNUSABLE
        case "sheet":
            return words.SHEET_UNUSABLE
        case "untested":
            missing, required = (figures.number(n, 0) for n in (len(grading.missing), grading.required))
            return words.NOT_TESTED.format(missing=missing, required=required)
        case "outside" if grading.better is not None:
            return words.NO_GRADE_FITS.format(lowest=name_of(grading.better))
        case _:
            return words.NO_LIST
