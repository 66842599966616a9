"""Reading one TOML table strictly: every complaint is one sentence that names file, place, fault and next action."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterable
from difflib import get_close_matches
from typing import NoReturn

from station.errors import SheetError

IDENTIFIER = re.compile(r"[a-z][a-z0-9_]{0,63}")
MOST_TEXT = 200


def shown(value: object, most: int = 60) -> str:
    """A value from a file as it may stand in a message: short, printable."""
    text = value if isinstance(value, str) else repr(value)
    text = "".join(c if c.isprintable() else "?" for c in text[:most])
    return f'"{text}"' if isinstance(value, str) else text


def listed(words: Iterable[str]) -> str:
    """Words as "a, b or c" for a message."""
    names = list(words)
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + f" or {names[-1]}"


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
            self.fail("", f"{shown(data)} is not a table", "write it as { key = value }")
        self.data: dict[str, object] = data
        self._read: set[str] = set()

    def fail(self, key: str, what: str, do: str) -> NoReturn:
        """Refuse the sheet because of `key`."""
        place = [part for part in (self.where, f"{self.prefix}{key}".rstrip(".")) if part]
        raise SheetError(": ".join(part for part in (self.origin, ", ".join(place), f"{what}; {do}.") if part))

    def has(self, key: str) -> bool:
        """True if the table gives `key`."""
        return key in self.data

    def raw(self, key: str) -> object:
        """The value as TOML gives it, None where it is missing; marks the key as known."""
        self._read.add(key)
        return self.data.get(key)

    def required(self, key: str, do: str) -> object:
        """The value, or a complaint that says what to write."""
        value = self.raw(key)
        if value is None:
            self.fail(key, "is missing", do)
        return value

    def no_other_keys(self) -> None:
        """Refuse keys that nobody read: a misspelt key must not be silently without effect."""
        for key in self.data:
            if key not in self._read:
                near = get_close_matches(key, self._read, 1)
                known = f"did you mean {near[0]}?" if near else f"known here: {', '.join(sorted(self._read))}"
                self.fail(shown(key).strip('"'), "this key is not known", f"remove or correct it ({known})")

    def text(self, key: str, default: str | None = None, most: int = 80) -> str:
        """One line of printable text, at most `most` characters."""
        if default is not None and not self.has(key):
            self._read.add(key)
            return default
        return self.checked_text(key, self.required(key, 'give it as text in "quotes"'), most)

    def checked_text(self, key: str, value: object, most: int = 80) -> str:
        """`value` as one line of printable text."""
        if not isinstance(value, str):
            self.fail(key, f"{shown(value)} is not text", 'put it in "quotes"')
        if not value.strip() or len(value) > most or not value.isprintable():
            self.fail(
                key, f"{shown(value)} is not one line of 1 to {most} printable characters", "shorten or correct it"
            )
        return value

    def identifier(self, key: str) -> str:
        """A word such as left_stick: it becomes part of records and captures."""
        value = self.required(key, "give a word such as left_stick")
        if not isinstance(value, str) or not IDENTIFIER.fullmatch(value):
            self.fail(key, f"{shown(value)} is not a word of a–z, 0–9 and _ that starts with a letter", "correct it")
        return value

    def choice(self, key: str, options: Collection[str], default: str | None = None) -> str:
        """One of a few words."""
        if default is not None and not self.has(key):
            self._read.add(key)
            return default
        value = self.required(key, f"write {listed(options)}")
        if not isinstance(value, str) or value not in options:
            self.fail(key, f"{shown(value)} is not known", f"write {listed(options)}")
        return value

    def integer(self, key: str, low: int, high: int, default: int | None = None) -> int:
        """A whole number within low…high."""
        if default is not None and not self.has(key):
            self._read.add(key)
            return default
        return self.checked_integer(key, self.required(key, f"give a whole number {low} to {high}"), low, high)

    def checked_integer(self, key: str, value: object, low: int, high: int) -> int:
        """`value` as a whole number within low…high (true and false are not numbers)."""
        if isinstance(value, bool) or not isinstance(value, int):
            self.fail(key, f"{shown(value)} is not a whole number", f"give one from {low} to {high}")
        if not low <= value <= high:
            self.fail(key, f"{value} is out of range", f"give a whole number {low} to {high}")
        return value

    def flag(self, key: str, default: bool) -> bool:
        """true or false."""
        value = self.raw(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            self.fail(key, f"{shown(value)} is neither true nor false", "write true or false")
        return value

    def numbers(self, key: str, count: int, do: str) -> tuple[float, ...]:
        """Exactly `count` finite numbers."""
        value = self.raw(key)
        if not isinstance(value, list) or len(value) != count:
            self.fail(key, f"{shown(value)} is not a list of {count} numbers", do)
        for number in value:
            if isinstance(number, bool) or not isinstance(number, int | float) or not math.isfinite(number):
                self.fail(key, f"{shown(number)} is not a finite number", do)
        return tuple(float(number) for number in value)

    def items(self, key: str, most: int) -> list[object]:
        """A list of at most `most` values; empty where the key is missing."""
        value = self.raw(key)
        if value is None:
            return []
        if not isinstance(value, list):
            self.fail(key, f"{shown(value)} is not a list", "write it as [ … ]")
        if len(value) > most:
            self.fail(key, f"it has {len(value)} entries", f"give at most {most}")
        return value
