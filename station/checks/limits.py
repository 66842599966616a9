"""The limits of the checks: those that ship, and those that a model sheet puts in their place."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

from station import RESOURCES
from station.capture.text import visible_line
from station.checks.ask import METER_NAMES
from station.checks.registry import describe, described, shipped_limits
from station.checks.types import Limits
from station.errors import InputError, SheetError
from station.measure.decision import rule_of
from station.sheets.model import Sheet
from station.sheets.table import is_finite, shown
from station.words import checks as words
from station.words import grammar

LIMITS_FILE = RESOURCES / "limits.toml"
MOST_KEY = 40


def load_limits(path: Path = LIMITS_FILE) -> Limits:
    """Read a limits file (check → reading → [pass, fail beyond]); those that a check brings along stand in for what it
    does not name. InputError in one sentence if it cannot be used or one is missing."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as err:
        raise InputError(words.LIMITS_UNREADABLE.format(path=path, error=err)) from err
    try:
        tables = tomllib.loads(text)
    except (ValueError, RecursionError) as err:  # no TOML, or a number of too many digits
        raise InputError(words.LIMITS_NOT_TOML.format(path=path, error=err)) from err
    found = {check: _check_table(path, check, table) for check, table in tables.items()}
    merged = {check: {**own, **found.get(check, {})} for check, own in {**found, **shipped_limits()}.items()}
    for check, about in described().items():
        for reading in about.limits:
            if reading not in merged.get(check, {}):
                raise InputError(words.LIMITS_LACKING.format(path=path, check=check, reading=reading))
    return MappingProxyType({check: MappingProxyType(table) for check, table in merged.items()})


def limits_for(sheet: Sheet, base: Limits) -> Limits:
    """`base` with the sheet's own limits in place; SheetError where there is nothing to override or a pair is wrong."""
    asked = {ask.id: ask.meter for ask in sheet.asks if ask.id not in base}
    places = {check: words.SHEET_LIMITS.format(sheet=sheet.name, check=check) for check in sheet.limits}
    own = {
        check: _ask_limits(places[check], readings, asked[check])
        for check, readings in sheet.limits.items()
        if check in asked
    }
    over = {check: readings for check, readings in sheet.limits.items() if check not in asked}
    try:
        return MappingProxyType({**laid_over(base, over, places), **own})
    except InputError as error:
        raise SheetError(str(error)) from error


def laid_over(base: Limits, over: Mapping[str, Mapping[str, object]], places: Mapping[str, str]) -> Limits:
    """`base` with those of `over` in their place; `places`: check → how the place where they stand is called.

    InputError in one sentence where there is nothing to override, a pair is wrong, or one turns round on which side of
    its limit a value should be.
    """
    merged = {check: dict(readings) for check, readings in base.items()}
    for check, readings in over.items():
        where = places[check]
        if check not in merged:
            raise InputError(words.SHEET_NO_CHECK.format(where=where, known=grammar.COMMA.join(merged)))
        for reading, pair in readings.items():
            if reading not in merged[check] and reading not in describe(check).sheet_limits:
                known = grammar.COMMA.join(merged[check])
                raise InputError(words.SHEET_NO_LIMIT.format(where=where, reading=key_shown(reading), known=known))
            merged[check][reading] = _checked(where, check, reading, pair, base[check].get(reading, (0.0, 0.0)))
    return MappingProxyType({check: MappingProxyType(readings) for check, readings in merged.items()})


def key_shown(key: str) -> str:
    """A key of a file as it may stand in a sentence."""
    return visible_line(key, MOST_KEY)


def _checked(where: str, check: str, reading: str, pair: object, base: tuple[float, float]) -> tuple[float, float]:
    problem = _pair_problem(pair)
    if not problem:
        assert isinstance(pair, list | tuple)
        problem = _side_problem((pair[0], pair[1]), base) or _rates_problem(check, reading, pair)
        if not problem:
            return float(pair[0]), float(pair[1])
    raise InputError(words.SHEET_WRONG_PAIR.format(where=where, reading=reading, problem=problem))


def _ask_limits(
    where: str, readings: Mapping[str, tuple[float, float]], meter: tuple[str, ...]
) -> dict[str, tuple[float, float]]:
    """Limits of an ask of the sheet's own: its readings are those of the meter, and nothing ships for them."""
    for reading, pair in readings.items():
        names = [METER_NAMES.get(unit, unit) for unit in meter]
        if reading not in names:
            known = grammar.COMMA.join(names) or words.SHEET_METER_NONE
            raise SheetError(words.SHEET_NO_METER.format(where=where, reading=reading, known=known))
        if problem := _pair_problem(pair):
            raise SheetError(words.SHEET_WRONG_PAIR.format(where=where, reading=reading, problem=problem))
    return {reading: (float(pair[0]), float(pair[1])) for reading, pair in readings.items()}


def _check_table(path: Path, check: str, table: object) -> Mapping[str, tuple[float, float]]:
    if not isinstance(table, dict):
        raise InputError(words.LIMITS_NO_TABLE.format(path=path, check=check))
    pairs: dict[str, tuple[float, float]] = {}
    for reading, pair in table.items():
        problem = _pair_problem(pair) or _rates_problem(check, reading, pair)
        if problem:
            raise InputError(words.LIMITS_WRONG_PAIR.format(path=path, check=check, reading=reading, problem=problem))
        pairs[reading] = (float(pair[0]), float(pair[1]))
    return pairs


def _pair_problem(pair: object) -> str:
    if not isinstance(pair, list | tuple) or len(pair) != 2:
        return words.PAIR_TWO_NUMBERS
    for x in pair:
        if isinstance(x, bool) or not isinstance(x, int | float) or not is_finite(x):
            return words.PAIR_NOT_FINITE.format(number=shown(x))
    return ""


def _side_problem(pair: tuple[float, float], base: tuple[float, float]) -> str:
    """A sheet may move a limit, not turn round on which side of it a value should be."""
    if rule_of(*pair) == rule_of(*base):
        return ""
    return words.PAIR_AT_LEAST if rule_of(*base) == "<=" else words.PAIR_LESS


def _rates_problem(check: str, reading: str, pair: Sequence[float]) -> str:
    """The sequential test needs two shares to tell apart."""
    if reading not in describe(check).rates or 0 < pair[0] < pair[1] < 100:
        return ""
    return words.PAIR_RATES
