"""The grade as it stands on a certificate, with every limit by which it was given. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from station.certificate.types import GradeLimit, GradeLine
from station.checks.house import Grade, House
from station.checks.registry import describe, limits_table
from station.judgement.grade import grading_of, headline, kept_from
from station.judgement.limits import in_force, origin
from station.judgement.tries import Key
from station.measure.decision import rule_of
from station.records.types import UnitHistory
from station.sheets.beyond import Extra
from station.sheets.model import Sheet
from station.words import figures
from station.words import grades as words


def grade_line(
    history: UnitHistory, wanted: Sequence[Key], sheet: Sheet, house: House, unnamed: Sequence[Extra] = ()
) -> GradeLine:
    """The grade of the unit now; from then on the certificate says what it was. What it says it has and the sheet does
    not name (`unnamed`) was not tested: it has none then."""
    found = grading_of(history, wanted, sheet, house)
    grade, scale = found.grade, "shop" if house.own_grades else "shipped"
    if grade is not None and unnamed:
        return GradeLine("", words.NOT_NAMED, "", scale)  # type: ignore[arg-type]
    said, kept = headline(found), kept_from(found, sheet, figures.PAPER)
    if grade is None:
        return GradeLine("", said, kept, scale)  # type: ignore[arg-type]
    limits = () if grade.faults else tuple(_limits(wanted, sheet, house, grade))
    return GradeLine(grade.name, said, kept, scale, grade.faults, limits)  # type: ignore[arg-type]


def _limits(wanted: Sequence[Key], sheet: Sheet, house: House, grade: Grade) -> Iterator[GradeLimit]:
    """Check by check in the order of the list; those of all presses on beats once."""
    force = in_force(sheet, house, grade)
    for check in dict.fromkeys(limits_table(check) for check, _ in wanted):
        table = force.get(check, {})
        for kind in describe(check).readings:
            if (pair := table.get(kind.limit or kind.sheet_limit)) is not None:
                where = origin(check, kind.name, sheet, house, grade)
                yield GradeLimit(check, kind.name, kind.unit, *pair, rule_of(*pair), where)
