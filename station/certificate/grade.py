"""The grade as it stands on a certificate, with every limit by which it was given. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from station.certificate.types import GradeLimit, GradeLine
from station.checks.house import Grade, House
from station.checks.registry import describe, limits_table
from station.judgement.grade import grading_of, headline, kept_from
from station.judgement.limits import in_force, origin
from station.judgement.standing import Standing
from station.judgement.tries import Key
from station.measure.decision import rule_of
from station.records.types import UnitHistory
from station.sheets.model import Sheet
from station.words import figures
from station.words import grades as words


def grade_line(history: UnitHistory, wanted: Sequence[Key], sheet: Sheet, house: House, stands: Standing) -> GradeLine:
    """The grade of the unit now; from then on the certificate says what it was. `stands`: how the unit stands. One
    that is incomplete has none, whatever a grade may accept: the certificate would say two things."""
    found = grading_of(history, wanted, sheet, house)
    grade, scale = found.grade, "shop" if house.own_grades else "shipped"
    if stands.kind == "incomplete" and found.why not in _UNUSABLE:
        return GradeLine("", words.NOT_GRADED.format(why=_why_open(stands)), "", scale)  # type: ignore[arg-type]
    said, kept = headline(found), kept_from(found, sheet, figures.PAPER)
    if grade is None:
        return GradeLine("", said, kept, scale)  # type: ignore[arg-type]
    limits = () if grade.faults else tuple(_limits(wanted, sheet, house, grade))
    return GradeLine(grade.name, said, kept, scale, grade.faults, limits)  # type: ignore[arg-type]


_UNUSABLE = ("unlisted", "limits", "sheet")
"""why no grade can be worked out at all, whatever was tested"""


def _why_open(stands: Standing) -> str:
    """In the words of the grade and the numbers of the headline."""
    if stands.missing:
        missing, required = (figures.number(len(keys), 0, figures.PAPER) for keys in (stands.missing, stands.required))
        return words.NOT_TESTED.format(missing=missing, required=required)
    return words.NOT_NAMED if stands.unnamed else words.SECOND_TEST_DUE


def _limits(wanted: Sequence[Key], sheet: Sheet, house: House, grade: Grade) -> Iterator[GradeLimit]:
    """Check by check in the order of the list; those of all presses on beats once."""
    force = in_force(sheet, house, grade)
    for check in dict.fromkeys(limits_table(check) for check, _ in wanted):
        table = force.get(check, {})
        for kind in describe(check).readings:
            if (pair := table.get(kind.limit or kind.sheet_limit)) is not None:
                where = origin(check, kind.name, sheet, house, grade)
                yield GradeLimit(check, kind.name, kind.unit, *pair, rule_of(*pair), where)
