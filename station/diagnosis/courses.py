"""The ways on that a faulty unit has, each followed to its end: chances, minutes, materials, and the parts it may need.

The best plan of a unit alone (`treatments.propose`) takes parts at their price and time at the price of an hour. Among
many units parts and hours are short, so other plans of the same unit can be the better ones: what would be done were
every part at hand, or none, or an hour dearer. A lot's plan chooses among them (station.lots.plan).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from station.diagnosis.faults import SWAP, Choice, Fault, case_of, faults_of, needs_part
from station.diagnosis.guide import Guide, Method
from station.diagnosis.plan import Plan
from station.diagnosis.rates import Trial
from station.diagnosis.treatments import best_order, stakes_of
from station.records.types import UnitHistory
from station.sheets.model import Sheet

DEARER_HOURS = (1.0, 3.0)
"""an hour at its price, and where hours are short: customary, no published source"""
BETTER_PRICES = (1.0, 1.1)
"""a ready unit at its price, and as far above it as a plan is asked about: customary, no published source"""


@dataclass(frozen=True, slots=True)
class Piece:
    """A part that a course may need. `use`: probability that it is put in (0…1); `new_minor`: what it costs new, None
    where it can only come from the shelf or from another unit. `part_id`: as the shelf may call it."""

    part: str
    use: float
    new_minor: int | None
    part_id: str = ""


@dataclass(frozen=True, slots=True)
class Deed:
    """A treatment of a course. `chance`: probability that it comes to that (0…1)."""

    kind: str
    title: str
    part: str
    chance: float

    @property
    def needs_part(self) -> bool:
        return needs_part(self.kind)


@dataclass(frozen=True, slots=True)
class UnitCourse:
    """A plan for a unit, followed to its end.

    `cured`, `stopped`, `ruined`: probabilities of the three ends, which add up to 1. `minutes`: expected, with openings
    and tests. `materials_minor`: expected, without the parts, which stand in `pieces`.
    """

    cured: float
    stopped: float
    ruined: float
    minutes: float
    materials_minor: float
    pieces: tuple[Piece, ...]
    does: tuple[Deed, ...]


def courses_of(
    history: UnitHistory, sheet: Sheet, guide: Guide, trials: Sequence[Trial] = ()
) -> tuple[UnitCourse, ...]:
    """Every different course on which something is done; none where nothing was found or nothing is worth while."""
    found: dict[object, UnitCourse] = {}
    values = guide.values_for(history.unit.model)
    for treatments, dearer, better in product(_stocks(guide), DEARER_HOURS, BETTER_PRICES):
        other = replace(guide, treatments=treatments, hour_minor=round(guide.hour_minor * dearer))
        case = case_of(history, sheet, other, trials, ())
        if not case.evidence.seen:
            return ()
        stakes = stakes_of(replace(values, ready_minor=round(values.ready_minor * better)), other)
        course = _followed(best_order(faults_of(case), stakes), guide)
        key = tuple((deed.kind, deed.part, round(deed.chance, 9)) for deed in course.does)
        if key:
            found.setdefault(key, course)
    return tuple(found.values())


def with_free_parts(guide: Guide) -> Guide:
    """The guide as if every part were at hand for nothing."""
    return replace(guide, treatments=tuple(_free(m) for m in guide.treatments))


def without_parts(guide: Guide) -> Guide:
    """The guide without what needs a part."""
    return replace(guide, treatments=tuple(m for m in guide.treatments if not needs_part(m.kind)))


def _stocks(guide: Guide) -> Iterator[tuple[Method, ...]]:
    """The treatments as parts can be had: all at hand, what can be bought at hand, bought at its price, none."""
    bought = tuple(m for m in guide.treatments if m.kind != SWAP)
    yield with_free_parts(guide).treatments
    yield tuple(_free(m) for m in bought)
    yield bought
    yield without_parts(guide).treatments


def _free(method: Method) -> Method:
    return replace(method, cost_minor=0) if needs_part(method.kind) else method


def _followed(plans: Sequence[tuple[Fault, Plan]], guide: Guide) -> UnitCourse:
    """The faults one after the other: with the next one it goes on only where the last is cured."""
    here, stopped, ruined, minutes, materials = 1.0, 0.0, 0.0, 0.0, 0.0
    pieces, does = [], []
    for fault, plan in plans:
        if not here:
            break
        course = plan.course
        for index, chance in course.does:
            choice, reached = fault.choices[index], here * chance
            minutes += reached * choice.method.minutes
            does.append(Deed(choice.method.kind, choice.method.title, choice.suspect.name, reached))
            if needs_part(choice.method.kind):
                pieces.append(Piece(choice.suspect.name, reached, _new_minor(choice, guide), choice.suspect.part_id))
            else:
                materials += reached * choice.cost_minor
        minutes += here * (course.openings * guide.open_minutes + course.tests * guide.test_minutes)
        stopped += here * course.stopped
        ruined += here * course.ruined
        here *= course.cured
    return UnitCourse(here, stopped, ruined, minutes, materials, tuple(pieces), tuple(does))


def _new_minor(choice: Choice, guide: Guide) -> int | None:
    method = guide.method(choice.method.kind)
    return None if method is None or method.kind == SWAP else method.cost_minor
