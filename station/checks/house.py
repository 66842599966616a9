"""The limits and grades of the house: those that ship, and what a shop puts in their place in a file of its own."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import Any

from station import RESOURCES
from station.capture.text import plain_text
from station.capture.toml import read_toml
from station.checks.limits import LIMITS_FILE, key_shown, laid_over, load_limits
from station.checks.registry import describe
from station.checks.types import Limits
from station.errors import InputError
from station.measure.decision import rule_of
from station.words import grades as words
from station.words import grammar

GRADES_FILE = RESOURCES / "grades.toml"
MOST_LETTERS = 40
MOST_BYTES = 64 * 1024
MOST_GRADES = 20
Pair = tuple[float, float]
"""(pass, fail beyond)"""
_BLANK = "\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0"
"""letters and signs that are drawn as nothing (Unicode: Hangul fillers, Khmer inherent vowels, braille blank)"""
_GRADE_KEYS = ("name", "limits", "second_test", "faults")


@dataclass(frozen=True, slots=True)
class Grade:
    """What a unit may be called.

    `limits`: where it asks more or less than the checks do. `second_test`: the test after the rest must not be due.
    `faults`: it accepts whatever is outside its limits.
    """

    name: str
    limits: Limits = field(default_factory=dict, hash=False)
    second_test: bool = False
    faults: bool = False


@dataclass(frozen=True, slots=True)
class House:
    """`limits`: for every check, the shop's own in place. `own`: those that the shop gave. `grades`: the best first.

    `own_grades`: they are the shop's. `problem`: why the shop's file could not be used, in a sentence; what ships
    stands in its place then, and no unit is graded.
    """

    limits: Limits = field(hash=False)
    grades: tuple[Grade, ...]
    own: Limits = field(default_factory=dict, hash=False)
    own_grades: bool = False
    problem: str = ""


def shipped_house() -> House:
    """The limits and grades that ship. InputError if they cannot be read."""
    limits = load_limits()
    return House(limits, _Reader(GRADES_FILE, limits).grades(_document(GRADES_FILE)))


def house_for(folder: Path, shipped: House) -> House:
    """The shop's own limits and grades, `limits.toml` in the folder of its records, over those that ship.

    A file that cannot be used changes nothing, and `problem` says so.
    """
    path = folder / LIMITS_FILE.name
    if not path.exists():
        return shipped
    try:
        return load_house(path, shipped)
    except InputError as error:
        return replace(shipped, problem=words.WITHOUT_THEM.format(problem=error))


def load_house(path: Path, shipped: House) -> House:
    """Read and check a shop's file. InputError names the entry and what is wrong with it."""
    document = _document(path)
    over = {check: table for check, table in document.items() if check != "grade"}
    reader = _Reader(path, shipped.limits)
    limits = reader.limits(over, {c: words.PLACE_CHECK.format(file=path, check=key_shown(c)) for c in over})
    own = MappingProxyType({check: MappingProxyType({r: limits[check][r] for r in over[check]}) for check in over})
    if "grade" not in document:
        grades = tuple(_beside(grade, shipped.limits, limits) for grade in shipped.grades)
        return House(limits, grades, own)
    return House(limits, _Reader(path, limits).grades(document), own, own_grades=True)


def _document(path: Path) -> Mapping[str, Any]:
    return read_toml(path, words.FILE, MOST_BYTES)


def _beside(grade: Grade, shipped: Limits, limits: Limits) -> Grade:
    """A grade that ships beside the shop's limits: one that asked more than the check never asks less than the shop,
    and one that asked less never more."""

    def fitted(check: str, reading: str, pair: Pair) -> Pair:
        before, now = shipped[check].get(reading), limits[check].get(reading)
        if now is None:
            return pair
        asked_more = before is None or stricter(pair, before)
        return _each(min, pair, now) if asked_more == (rule_of(*pair) == "<=") else _each(max, pair, now)

    return replace(grade, limits={c: {r: fitted(c, r, pair) for r, pair in t.items()} for c, t in grade.limits.items()})


def _each(pick: Callable[[float, float], float], one: Pair, other: Pair) -> Pair:
    return pick(one[0], other[0]), pick(one[1], other[1])


def stricter(pair: Pair, than: Pair) -> bool:
    """Whether a limit asks more than another one of the same reading."""
    return pair[0] < than[0] if rule_of(*pair) == "<=" else pair[0] > than[0]


def _alike(name: str) -> str:
    """The same for two names that a reader takes for one: without regard to case, width and signs that leave a blank;
    empty if nothing of it can be seen."""
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
    return "".join(c for c in folded if c not in _BLANK and not c.isspace() and unicodedata.category(c) != "Mn")


class _Reader:
    """Takes limits and grades out of a document, or says where they are wrong. `base`: the limits without a grade."""

    def __init__(self, path: Path, base: Limits) -> None:
        self._path, self._base = path, base

    def _wrong(self, place: str, what: str) -> InputError:
        return InputError(words.WRONG.format(file=self._path, place=place, what=what))

    def limits(self, over: Mapping[str, Any], places: Mapping[str, str]) -> Limits:
        """Those of `over` in the place of the base."""
        for check, table in over.items():
            if not isinstance(table, dict):
                raise self._wrong(key_shown(check), words.TABLE_EXPECTED)
        return laid_over(self._base, over, places)

    def grades(self, document: Mapping[str, Any]) -> tuple[Grade, ...]:
        """The grades in their order."""
        tables = document.get("grade")
        if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
            raise self._wrong("grade", words.GRADES_EXPECTED)
        if not tables:
            raise self._wrong("grade", words.NO_GRADE)
        if len(tables) > MOST_GRADES:
            raise self._wrong("grade", words.TOO_MANY_GRADES.format(count=len(tables), most=MOST_GRADES))
        found = tuple(self._grade(number, table) for number, table in enumerate(tables, 1))
        for number, grade in enumerate(found, 1):
            place = words.GRADE.format(number=number, name=grade.name)
            if sum(_alike(grade.name) == _alike(other.name) for other in found) > 1:
                raise self._wrong(place, words.SAME_NAME)
            if grade.faults and number < len(found):
                raise self._wrong(place, words.FAULTS_NOT_LAST)
        self._must_not_rise(found)
        return found

    def _grade(self, number: int, table: Mapping[str, Any]) -> Grade:
        name = table.get("name")
        place = words.GRADE.format(number=number, name=plain_text(name) if isinstance(name, str) else "?")
        if not isinstance(name, str) or not name.strip() or len(name) > MOST_LETTERS or plain_text(name) != name:
            raise self._wrong(place, words.NAME_MISSING.format(most=MOST_LETTERS))
        if not _alike(name):
            raise self._wrong(place, words.NAME_NOT_SEEN)
        for key in table:
            if key not in _GRADE_KEYS:
                raise self._wrong(
                    place, words.UNKNOWN_KEY.format(key=key_shown(key), known=grammar.COMMA.join(_GRADE_KEYS))
                )
        flags = {key: table.get(key, False) for key in ("second_test", "faults")}
        for key, value in flags.items():
            if not isinstance(value, bool):
                raise self._wrong(place, words.YES_OR_NO.format(key=key))
        over = table.get("limits", {})
        if not isinstance(over, dict):
            raise self._wrong(place, words.TABLE_EXPECTED)
        if over and flags["faults"]:
            raise self._wrong(place, words.FAULTS_NEED_NO_LIMITS)
        return Grade(name, self._of_grade(place, number, name, over), **flags)

    def _of_grade(self, place: str, number: int, name: str, over: Mapping[str, Any]) -> Limits:
        places = {
            check: words.PLACE_GRADE_CHECK.format(file=self._path, number=number, name=name, check=key_shown(check))
            for check in over
        }
        merged = self.limits(over, places)
        for check, table in over.items():
            for reading in table:
                if reading in describe(check).rates:
                    raise self._wrong(place, words.OF_THE_TEST.format(check=check, reading=reading))
        return MappingProxyType({c: MappingProxyType({r: merged[c][r] for r in over[c]}) for c in over})

    def _must_not_rise(self, grades: tuple[Grade, ...]) -> None:
        """A grade may not ask more of a reading than the better one before it."""
        for number, (better, grade) in enumerate(pairwise(grades), 2):
            if grade.faults:
                continue
            for check, reading in ((c, r) for one in (better, grade) for c, table in one.limits.items() for r in table):
                if self._asks_more(grade, better, check, reading):
                    place = words.GRADE.format(number=number, name=grade.name)
                    said = words.ASKS_MORE.format(check=check, reading=reading, better=better.name)
                    raise self._wrong(place, said)

    def _asks_more(self, grade: Grade, better: Grade, check: str, reading: str) -> bool:
        here, there = (self._pair(one, check, reading) for one in (grade, better))
        if here is None or there is None:
            return here is not None
        return stricter(here, there)

    def _pair(self, grade: Grade, check: str, reading: str) -> Pair | None:
        return grade.limits.get(check, {}).get(reading) or self._base.get(check, {}).get(reading)
