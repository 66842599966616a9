"""The limits of the checks: those that ship, and those that a model sheet puts in their place."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType

from station import RESOURCES
from station.checks.types import Limits
from station.errors import InputError, SheetError
from station.measure.decision import rule_of
from station.sheets.model import Sheet

METER_NAMES = {"V": "voltage", "A": "current"}
"""names of the readings that a person types in, by what the meter shows; any other unit is its own name"""
LIMITS_FILE = RESOURCES / "limits.toml"


def load_limits(path: Path = LIMITS_FILE) -> Limits:
    """Read a limits file (check → reading → [pass, fail beyond]); InputError in one sentence if it cannot be used."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as err:
        raise InputError(f"The limits file {path} cannot be read ({err}); restore it from the package.") from err
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as err:
        raise InputError(f"The limits file {path} is not valid TOML ({err}); correct that line.") from err
    return MappingProxyType({check: _check_table(path, check, table) for check, table in tables.items()})


@lru_cache(maxsize=1)
def _shipped() -> Limits:
    return load_limits()


def limit_in_force(limits: Limits, check: str, reading: str) -> tuple[float, float]:
    """(pass, fail beyond) of a reading: from `limits`, or where they say nothing of it from those that ship.

    KeyError for a reading that has no limit at all.
    """
    pair = limits.get(check, {}).get(reading)
    return pair if pair is not None else _shipped()[check][reading]


def limits_for(sheet: Sheet, base: Limits) -> Limits:
    """`base` with the sheet's own limits in place; SheetError where there is nothing to override or a pair is wrong."""
    merged = {check: dict(readings) for check, readings in base.items()}
    asked = {ask.id: ask.meter for ask in sheet.asks if ask.id not in base}
    for check, readings in sheet.limits.items():
        where = f'Sheet "{sheet.name}", limits.{check}'
        if check in asked:
            merged[check] = _ask_limits(where, readings, asked[check])
            continue
        if check not in merged:
            raise SheetError(f"{where}: no check of that name has limits; use one of {', '.join(merged)}.")
        for reading, pair in readings.items():
            if reading not in merged[check]:
                known = ", ".join(merged[check])
                raise SheetError(f"{where}.{reading}: that reading has no limit; use one of {known}.")
            problem = _pair_problem(pair) or _side_problem(pair, base[check][reading])
            problem = problem or _rates_problem(check, reading, pair)
            if problem:
                raise SheetError(f"{where}.{reading}: {problem}; write [pass, fail beyond].")
            merged[check][reading] = (float(pair[0]), float(pair[1]))
    return MappingProxyType({check: MappingProxyType(readings) for check, readings in merged.items()})


def _ask_limits(
    where: str, readings: Mapping[str, tuple[float, float]], meter: tuple[str, ...]
) -> dict[str, tuple[float, float]]:
    """Limits of an ask of the sheet's own: its readings are those of the meter, and nothing ships for them."""
    for reading, pair in readings.items():
        names = [METER_NAMES.get(unit, unit) for unit in meter]
        if reading not in names:
            known = ", ".join(names) or "none: the ask has no meter"
            raise SheetError(f"{where}.{reading}: the ask has no such reading; use one of its meter's ({known}).")
        if problem := _pair_problem(pair):
            raise SheetError(f"{where}.{reading}: {problem}; write [pass, fail beyond].")
    return {reading: (float(pair[0]), float(pair[1])) for reading, pair in readings.items()}


def _check_table(path: Path, check: str, table: object) -> Mapping[str, tuple[float, float]]:
    if not isinstance(table, dict):
        raise InputError(f"The limits file {path}, {check}: a table of readings is expected; write [{check}].")
    pairs: dict[str, tuple[float, float]] = {}
    for reading, pair in table.items():
        problem = _pair_problem(pair) or _rates_problem(check, reading, pair)
        if problem:
            raise InputError(f"The limits file {path}, {check}.{reading}: {problem}; write [pass, fail beyond].")
        pairs[reading] = (float(pair[0]), float(pair[1]))
    return MappingProxyType(pairs)


def _pair_problem(pair: object) -> str:
    if not isinstance(pair, list | tuple) or len(pair) != 2:
        return "two numbers are expected"
    for x in pair:
        if isinstance(x, bool) or not isinstance(x, int | float) or not math.isfinite(x):
            return f"{x!r} is not a finite number"
    return ""


def _side_problem(pair: tuple[float, float], base: tuple[float, float]) -> str:
    """A sheet may move a limit, not turn round on which side of it a value should be."""
    if rule_of(*pair) == rule_of(*base):
        return ""
    return f"the second number must be {'at least' if rule_of(*base) == '<=' else 'less than'} the first"


def _rates_problem(check: str, reading: str, pair: Sequence[float]) -> str:
    """The sequential test needs two shares to tell apart."""
    if (check, reading) != ("light", "faulty_rate") or 0 < pair[0] < pair[1] < 100:
        return ""
    return "two shares between 0 and 100 % are expected, the good one smaller than the bad one"
