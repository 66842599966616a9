"""The limits in force with their numbers, and where each comes from.

One order: those that ship, over them the shop's own, over them a grade's where a unit is graded, and over all of them
those of the model sheet, which knows what units of the model can do (docs/decisions/grades.md).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Literal

from station.checks.decide import base_name
from station.checks.house import Grade, House, shipped_house
from station.checks.limits import limits_for
from station.checks.registry import CHECKS, limits_table
from station.checks.types import Limits, Reading
from station.errors import InputError
from station.sheets.model import Sheet
from station.words import judgement as words

Origin = Literal["shipped", "shop", "grade", "sheet", "earlier"]
"""earlier: nothing that is in force now gives this limit; it was in force when the reading was made"""
_Pair = tuple[float, float]


def shipped() -> Limits:
    """The limits that ship. InputError if they cannot be read."""
    return standard().limits


def standard() -> House:
    """The limits and grades that ship, read once for the checks there are. InputError if they cannot be read."""
    return _read(tuple(CHECKS))


@lru_cache(maxsize=2)
def _read(checks: tuple[str, ...]) -> House:
    return shipped_house()


def in_force(sheet: Sheet | None = None, house: House | None = None, grade: Grade | None = None) -> Limits:
    """The limits for a unit of this model (None: of no known model), in this house (None: nothing of its own).

    Raises InputError if the limits that ship cannot be read, SheetError if those of the sheet are wrong.
    """
    limits = (house or standard()).limits
    if grade is not None and grade.limits:
        limits = {check: {**table, **grade.limits.get(check, {})} for check, table in limits.items()}
    return limits if sheet is None else limits_for(sheet, limits)


def limit(check: str, reading: str, limits: Limits | None = None) -> _Pair:
    """(pass, fail beyond) of a reading of a check, in the reading's unit.

    Taken from `limits` (those in force for the unit at hand), else from those that ship; a reading of a direction or
    an axis ("reach_up") has that of its base name. InputError where there is none.
    """
    for table in (limits, shipped()):
        found = _found(table or {}, check, reading)
        if found is not None:
            return found
    raise InputError(words.NO_SUCH_LIMIT.format(check=check, reading=reading))


def origin(check: str, name: str, sheet: Sheet, house: House, grade: Grade | None = None) -> Origin:
    """Where the limit of a reading comes from that is in force now."""
    for where, table in _layers(sheet, house, grade):
        if _found(table, check, name) is not None:
            return where
    return "shipped"


def came_from(check: str, reading: Reading, sheet: Sheet, house: House, grade: Grade | None = None) -> Origin | None:
    """Where the limit comes from by which a reading was judged; None for one that is only reported."""
    if reading.limit is None:
        return None
    beyond = reading.limit if reading.fail_beyond is None else reading.fail_beyond
    layers = (*_layers(sheet, house, grade), ("shipped", shipped()))
    for where, table in layers:
        if _found(table, check, reading.name) == (reading.limit, beyond):
            return where
    return "earlier"


def _layers(sheet: Sheet, house: House, grade: Grade | None) -> tuple[tuple[Origin, Limits], ...]:
    """Those that may stand over what ships, the last word first."""
    return ("sheet", sheet.limits), ("grade", grade.limits if grade else {}), ("shop", house.own)


def _found(limits: Mapping[str, Mapping[str, _Pair]], check: str, reading: str) -> _Pair | None:
    readings = limits.get(limits_table(check), {})
    return readings.get(reading) or readings.get(base_name(reading))
