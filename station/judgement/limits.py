"""The limits in force with their numbers: those that ship, with the sheet's own in their place."""

from __future__ import annotations

from functools import lru_cache

from station.checks.decide import base_name
from station.checks.limits import limits_for, load_limits
from station.checks.registry import CHECKS
from station.checks.types import Limits
from station.errors import InputError
from station.sheets.model import Sheet
from station.words import judgement as words


def shipped() -> Limits:
    """The limits that ship, read once for the checks there are. InputError if they cannot be read."""
    return _read(tuple(CHECKS))


@lru_cache(maxsize=2)
def _read(checks: tuple[str, ...]) -> Limits:
    return load_limits()


def in_force(sheet: Sheet | None = None) -> Limits:
    """The limits for a unit of this model (None: of no known model).

    Raises InputError if the limits that ship cannot be read, SheetError if those of the sheet are wrong.
    """
    return shipped() if sheet is None else limits_for(sheet, shipped())


def limit(check: str, reading: str, limits: Limits | None = None) -> tuple[float, float]:
    """(pass, fail beyond) of a reading of a check, in the reading's unit.

    Taken from `limits` (those in force for the unit at hand), else from those that ship; a reading of a direction or
    an axis ("reach_up") has that of its base name. InputError where there is none.
    """
    for table in (limits, shipped()):
        readings = (table or {}).get(check, {})
        found = readings.get(reading) or readings.get(base_name(reading))
        if found is not None:
            return found
    raise InputError(words.NO_SUCH_LIMIT.format(check=check, reading=reading))
