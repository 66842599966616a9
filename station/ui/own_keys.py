"""Keys that a shop adds: a free key that does what another key does. Pure; the file is read elsewhere.

A key is added, never taken away: what stands written on the screen of a key is always true.

    [bench]
    K = "M"            # K marks by hand too
    Insert = "Space"   # a foot switch that sends Insert
    [everywhere]
    F7 = "F2"
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import get_args

from station.capture.toml import parse_toml
from station.errors import InputError
from station.ui.keys import KEYS, NAMES, KeyLine, Where, find_key
from station.words import grammar
from station.words import own_keys as words

SECTIONS: tuple[Where, ...] = get_args(Where)
MOST_SHOWN = 24
"""letters of an entry that a sentence repeats"""
_KEY = re.compile(r"(Ctrl\+)?(Shift\+)?[A-Z]|F([1-9]|1[0-2])|[!-/:-@\[-`{-~0-9]")


@dataclass(frozen=True, slots=True)
class OwnKeys:
    """`problem`: why the file could not be used, in a sentence; then `lines` is empty."""

    lines: tuple[KeyLine, ...] = ()
    problem: str = ""

    def of(self, line: KeyLine) -> tuple[str, ...]:
        """The keys that do the same as that line of the table."""
        return tuple(k.key for k in self.lines if (k.action, k.where) == (line.action, line.where))


def read_own_keys(text: str) -> OwnKeys:
    """What the file says; "" for none."""
    try:
        return OwnKeys(tuple(_lines(text)))
    except InputError as error:
        return OwnKeys(problem=words.PROBLEM.format(what=error))
    except ValueError as error:  # no TOML that can be read
        return OwnKeys(problem=words.PROBLEM.format(what=error))


def _lines(text: str) -> list[KeyLine]:
    lines: list[KeyLine] = []
    for section, entries in parse_toml(text).items():
        where = next((s for s in SECTIONS if s == section), None)
        known = grammar.COMMA.join(SECTIONS)
        if not isinstance(entries, dict):
            raise InputError(words.NO_TABLE.format(name=_short(section), sections=known))
        if where is None:
            raise InputError(words.NO_SECTION.format(name=_short(section), sections=known))
        for key, old in entries.items():
            lines.append(_line(key, old, where, lines))
    return lines


def _told(old: object) -> str:
    try:
        return _short(str(old))
    except ValueError:  # a number of too many digits
        return words.NO_WORD


def _line(key: str, old: object, where: Where, before: list[KeyLine]) -> KeyLine:
    shown, of = _short(key), _told(old)
    if key not in NAMES and not _KEY.fullmatch(key):
        raise InputError(words.NOT_A_KEY.format(key=shown))
    same = find_key(old, where) if isinstance(old, str) else None
    if same is None:
        raise InputError(words.NO_SUCH_KEY.format(key=shown, old=of))
    views = SECTIONS if where == "everywhere" else (where, "everywhere")
    taken = next((k for k in (*KEYS, *before) if k.key == key and k.where in views), None)
    if taken is not None:
        raise InputError(words.IS_TAKEN.format(key=shown, old=of, what=taken.words))
    return replace(same, key=key, where=where)


def _short(text: str, most: int = MOST_SHOWN) -> str:
    line = " ".join(text.split())
    return line if len(line) <= most else line[:most] + "…"
