"""Reading one TOML table strictly: every complaint is one sentence that names file, place, fault and next action."""

from __future__ import annotations

import math
import re
from collections.abc import Collection
from difflib import get_close_matches
from typing import NoReturn

from station.errors import SheetError
from station.words import grammar
from station.words import sheets as words

IDENTIFIER = re.compile(r"[a-z][a-z0-9_]{0,63}")
MOST_TEXT = 200


def shown(value: object, most: int = 60) -> str:
    """A value from a file as it may stand in a message: short, printable."""
    try:
        text = value if isinstance(value, str) else repr(value)
    except ValueError:  # Python writes no number of thousands of digits
        return words.HUGE_NUMBER
    text = "".join(c if c.isprintable() else "?" for c in text[:most])
    return f'"{text}"' if isinstance(value, str) else text


def is_finite(number: float) -> bool:
    """Of a whole number, too: whether it is one that a float can hold."""
    try:
        return math.isfinite(number)
    except OverflowError:
        return False


class Table:
    """One table of a sheet.

    `where` is its place in words ("control left_stick"), "" for the top of the file; `prefix` stands before its
    keys in messages ("x." makes "control left_stick, x.usage: …").
    """

    def __init__(self, origin: str, where: str, data: object, prefix: str = "") -> None:
        self.origin = origin
        self.where = where
        self.prefix = prefix
        if not isinstance(data, dict):
            self.fail("", words.NOT_A_TABLE.format(value=shown(data)))
        self.data: dict[str, object] = data
        self._read: set[str] = set()

    def fail(self, key: str, complaint: str) -> NoReturn:
        """Refuse the sheet because of `key`: what is wrong with it, and what to write."""
        name = f"{self.prefix}{key}".rstrip(".")
        place = words.AT_KEY.format(table=self.where, key=name) if self.where and name else self.where or name
        if not place:
            raise SheetError(words.AT_FILE.format(file=self.origin, complaint=complaint))
        raise SheetError(words.AT_PLACE.format(file=self.origin, place=place, complaint=complaint))

    def has(self, key: str) -> bool:
        """True if the table gives `key`."""
        return key in self.data

    def raw(self, key: str) -> object:
        """The value as TOML gives it, None where it is missing; marks the key as known."""
        self._read.add(key)
        return self.data.get(key)

    def required(self, key: str, missing: str) -> object:
        """The value, or the complaint `missing`, which says what to write."""
        value = self.raw(key)
        if value is None:
            self.fail(key, missing)
        return value

    def no_other_keys(self) -> None:
        """Refuse keys that nobody read: a misspelt key must not be silently without effect."""
        for key in self.data:
            if key not in self._read:
                near = get_close_matches(key, self._read, 1)
                known = grammar.COMMA.join(sorted(self._read))
                complaint = words.MISSPELT_KEY.format(key=near[0]) if near else words.UNKNOWN_KEY.format(keys=known)
                self.fail(shown(key).strip('"'), complaint)

    def text(self, key: str, default: str | None = None, most: int = 80) -> str:
        """One line of printable text, at most `most` characters."""
        if default is not None and not self.has(key):
            self._read.add(key)
            return default
        return self.checked_text(key, self.required(key, words.NO_TEXT), most)

    def checked_text(self, key: str, value: object, most: int = 80) -> str:
        """`value` as one line of printable text."""
        if not isinstance(value, str):
            self.fail(key, words.NOT_TEXT.format(value=shown(value)))
        if not value.strip() or len(value) > most or not value.isprintable():
            self.fail(key, words.NOT_ONE_LINE.format(value=shown(value), most=most))
        return value

    def identifier(self, key: str) -> str:
        """A word such as left_stick: it becomes part of records and captures."""
        value = self.required(key, words.NO_WORD)
        if not isinstance(value, str) or not IDENTIFIER.fullmatch(value):
            self.fail(key, words.NOT_A_WORD.format(value=shown(value)))
        return value

    def choice(self, key: str, options: Collection[str], default: str | None = None) -> str:
        """One of a few words."""
        if default is not None and not self.has(key):
            self._read.add(key)
            return default
        choices = grammar.either(tuple(options))
        value = self.required(key, words.NO_CHOICE.format(choices=choices))
        if not isinstance(value, str) or value not in options:
            self.fail(key, words.UNKNOWN_CHOICE.format(value=shown(value), choices=choices))
        return value

    def integer(self, key: str, low: int, high: int, default: int | None = None) -> int:
        """A whole number within low…high."""
        if default is not None and not self.has(key):
            self._read.add(key)
            return default
        value = self.required(key, words.NO_NUMBER.format(low=low, high=high))
        return self.checked_integer(key, value, low, high)

    def checked_integer(self, key: str, value: object, low: int, high: int) -> int:
        """`value` as a whole number within low…high (true and false are not numbers)."""
        if isinstance(value, bool) or not isinstance(value, int):
            self.fail(key, words.NOT_WHOLE.format(value=shown(value), low=low, high=high))
        if not low <= value <= high:
            self.fail(key, words.OUT_OF_RANGE.format(value=shown(value), low=low, high=high))
        return value

    def flag(self, key: str, default: bool) -> bool:
        """true or false."""
        value = self.raw(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            self.fail(key, words.NOT_A_FLAG.format(value=shown(value)))
        return value

    def limits(self, key: str) -> tuple[float, float]:
        """[pass, fail beyond]: two finite numbers."""
        value = self.raw(key)
        if not isinstance(value, list) or len(value) != 2:
            self.fail(key, words.NOT_LIMITS.format(value=shown(value)))
        for number in value:
            if isinstance(number, bool) or not isinstance(number, int | float) or not is_finite(number):
                self.fail(key, words.NOT_FINITE.format(value=shown(number)))
        good, bad = (float(number) for number in value)
        return good, bad

    def items(self, key: str, most: int) -> list[object]:
        """A list of at most `most` values; empty where the key is missing."""
        value = self.raw(key)
        if value is None:
            return []
        if not isinstance(value, list):
            self.fail(key, words.NOT_A_LIST.format(value=shown(value)))
        if len(value) > most:
            self.fail(key, words.TOO_MANY_ENTRIES.format(count=len(value), most=most))
        return value
