"""From the records of a lot to the problem of its plan: the ways that are open to each unit, by the diagnosis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from station.diagnosis.courses import UnitCourse, courses_of
from station.diagnosis.faults import fits
from station.diagnosis.guide import Guide, Values
from station.diagnosis.rates import Trial
from station.errors import InputError
from station.lots.outlook import UnitOutlook
from station.lots.plan import Batch, Candidate, Key, Problem, Way
from station.records.types import Lot, ShelfPart, Unit, UnitHistory
from station.sheets.model import Sheet
from station.words import figures, grammar
from station.words import plan as words

MOST_HOURS = 10_000
SELL = Way("sell", as_is=1.0)


@dataclass(frozen=True, slots=True)
class LotProblem:
    """The problem of a lot's plan. `units`: those that are in it; `to_test`: those of which nothing can be said before
    they are tested, which are not; `left_out`: names of parts on the shelf that were paid in another currency. Money in
    minor units of the lot's currency."""

    lot: Lot
    problem: Problem
    units: tuple[Unit, ...]
    to_test: tuple[Unit, ...] = ()
    left_out: tuple[str, ...] = ()


def read_hours(text: str) -> float | None:
    """Hours as they are typed, with a point or a comma; None for nothing typed. InputError says what may be typed."""
    typed = text.strip().replace(figures.MINUS, "-").replace(",", ".")
    if not typed:
        return None
    digits = typed.removeprefix("-")
    if not digits.isascii() or not digits.replace(".", "", 1).isdigit():
        raise InputError(words.NO_NUMBER_OF_HOURS.format(text=text.strip()))
    hours = float(typed)
    if hours < 0:
        raise InputError(words.NEGATIVE_HOURS)
    if hours > MOST_HOURS:
        raise InputError(words.TOO_MANY_HOURS.format(most=figures.number(MOST_HOURS, 0)))
    return abs(hours)  # "-0" is nought


def candidate_of(
    outlook: UnitOutlook, history: UnitHistory, sheet: Sheet, guide: Guide, trials: Sequence[Trial] = ()
) -> Candidate | None:
    """The unit with the ways that are open to it; None where there is nothing to decide, or not before a test."""
    unit = outlook.unit
    # what a unit will be called once it is repaired nobody knows: only of a sound one the grade has a say
    values = guide.values_for(unit.model, outlook.grade if outlook.stage == "sound" else "")
    if outlook.stage in ("settled", "test"):
        return None
    gives: tuple[str, ...] = ()
    if outlook.stage == "sound":
        ways: tuple[Way, ...] = (Way("ready", ready=1.0),)
    elif outlook.stage == "rest":
        ways = (SELL, Way("rest", float(guide.test_minutes), ready=1.0))
    else:
        courses = courses_of(history, sheet, guide, trials)
        give_up = Way("donor", float(guide.open_minutes), as_parts=1.0)
        ways = (SELL, give_up, *(_repair(course, values) for course in courses))
        gives = tuple(part.name for part in outlook.gives)
    return Candidate(unit.id, unit.tag, unit.model, values, ways, gives)


def _repair(course: UnitCourse, values: Values) -> Way:
    """A unit that is stopped at is sold as what brings more, one that is ruined for its parts."""
    as_is = course.stopped if values.as_is_minor >= values.parts_minor else 0.0
    as_parts = course.ruined + course.stopped - as_is
    materials, pieces = course.materials_minor, course.pieces
    return Way("repair", course.minutes, course.cured, as_is, as_parts, materials, pieces, course.does)


def problem_of(
    lot: Lot,
    outlooks: Sequence[UnitOutlook],
    candidates: Sequence[Candidate],
    shelf: Sequence[ShelfPart],
    guide: Guide,
) -> LotProblem:
    """Put it together. InputError, one sentence, where there is nothing to plan or nothing to plan by."""
    if not outlooks:
        raise InputError(words.EMPTY_LOT.format(lot=lot.name))
    if guide.currency != lot.currency:
        told = words.OTHER_CURRENCY.format(lot=lot.name, lot_currency=lot.currency, currency=guide.currency)
        raise InputError(told)
    to_test = tuple(o.unit for o in outlooks if o.stage == "test")
    if not candidates:
        tags = grammar.COMMA.join(sorted(unit.tag for unit in to_test))
        raise InputError(words.ALL_TO_TEST.format(tags=tags) if to_test else words.NOTHING_OPEN.format(lot=lot.name))
    if not any((c.prices.ready_minor, c.prices.as_is_minor, c.prices.parts_minor) != (0, 0, 0) for c in candidates):
        raise InputError(words.NO_PRICES.format(lot=lot.name))
    units = {o.unit.id: o.unit for o in outlooks}
    batches, left_out = batches_of(shelf, candidates, lot.currency)
    return LotProblem(
        lot,
        Problem(tuple(candidates), batches, guide.hour_minor),
        tuple(units[c.unit_id] for c in candidates),
        to_test,
        left_out,
    )


def batches_of(
    shelf: Sequence[ShelfPart], candidates: Sequence[Candidate], currency: str
) -> tuple[tuple[Batch, ...], tuple[str, ...]]:
    """What lies on the shelf and some unit may need; and the names of what was paid in another currency, so that what
    it cost cannot be added."""
    wanted = {(c.model, piece.part): piece.part_id for c in candidates for way in c.ways for piece in way.pieces}
    found, left_out = [], []
    for kept in shelf:
        keys: frozenset[Key] = frozenset(key for key, part_id in wanted.items() if fits(kept, *key, part_id))
        if not keys or kept.count <= 0:
            continue
        if kept.cost_minor and kept.currency != currency:
            left_out.append(kept.name)
        else:
            found.append(Batch(kept.name, kept.count, kept.cost_minor, keys))
    return tuple(found), tuple(dict.fromkeys(left_out))
