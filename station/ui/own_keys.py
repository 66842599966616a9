"""Keys of the shop's own: one more key for what another one does, or a key that ships moved to another place. Pure; the
file is read elsewhere.

What a key that ships does stays within reach: a line may take a key only where another one is left for its meaning.
What the screen says of keys and the page of all keys follow (`Look.caps`, `OwnKeys.caps_of`).

    [bench]
    Insert = "Space"   # a foot switch that sends Insert
    K = "M"            # K marks by hand too
    M = "S"            # M skips instead, so K alone marks
    S = "R"            # S does again, ...
    R = ""             # ... and R does nothing
    [everywhere]
    F7 = "F2"
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import get_args

from station.capture.toml import parse_toml
from station.errors import InputError
from station.ui.keys import KEYS, NAMES, KeyLine, Where, cap_of, find_key
from station.words import grammar
from station.words import own_keys as words

SECTIONS: tuple[Where, ...] = get_args(Where)
MOVABLE: tuple[Where, ...] = ("bench", "lots", "shelf", "due", "figures", "evidence")
"""what counts everywhere, and in a lesson, keeps its keys: they stand on buttons and in what a lesson says"""
MOST_SHOWN = 24
"""letters of an entry that a sentence repeats"""
_KEY = re.compile(r"(Ctrl\+)?(Shift\+)?[A-Z]|F([1-9]|1[0-2])|[!-/:-@\[-`{-~0-9]")


@dataclass(frozen=True, slots=True)
class OwnKeys:
    """`problem`: why the file could not be used, in a sentence; then all else is empty. `gone`: the lines of the table
    whose keys do something else now, or nothing."""

    lines: tuple[KeyLine, ...] = ()
    problem: str = ""
    gone: tuple[KeyLine, ...] = ()

    def of(self, line: KeyLine) -> tuple[str, ...]:
        """All keys that do what that line of the table says, in its view: its own first, if that still does."""
        own = (k.key for k in self.lines if k.action == line.action and k.where in (line.where, "everywhere"))
        return (*(() if line in self.gone else (line.key,)), *own)

    def find(self, name: str, view: str) -> KeyLine | None:
        """What a key does in a view, or in a lesson; None if nothing."""
        mine = next((k for k in self.lines if k.key == name and k.where in (view, "everywhere")), None)
        shipped = find_key(name, view)
        return mine or (None if shipped in self.gone else shipped)

    def caps(self) -> tuple[tuple[str, str, str], ...]:
        """(view, key that ships, what is written on the key that does it now), of those that were moved."""
        moved = ((line, self.of(line)) for line in self.gone)
        return tuple((line.where, line.key, cap_of(keys[0])) for line, keys in moved if keys)


def read_own_keys(text: str) -> OwnKeys:
    """What the file says; "" for none."""
    try:
        return _all_of(text)
    except InputError as error:
        return OwnKeys(problem=words.PROBLEM.format(what=error))
    except ValueError as error:  # no TOML that can be read
        return OwnKeys(problem=words.PROBLEM.format(what=error))


def _all_of(text: str) -> OwnKeys:
    lines: list[KeyLine] = []
    gone: dict[KeyLine, tuple[str, str]] = {}
    for section, entries in parse_toml(text).items():
        where = next((s for s in SECTIONS if s == section), None)
        known = grammar.COMMA.join(SECTIONS)
        if not isinstance(entries, dict):
            raise InputError(words.NO_TABLE.format(name=_short(section), sections=known))
        if where is None:
            raise InputError(words.NO_SECTION.format(name=_short(section), sections=known))
        for key, old in entries.items():
            line = _line(key, old, where, lines)
            lines += [] if line is None else [line]
            gone |= {taken: (key, _told(old)) for taken in _taken(key, where)}
    found = OwnKeys(tuple(lines), gone=tuple(gone))
    for line, (key, old) in gone.items():
        if line.where not in MOVABLE or not _is_left(line, found):
            raise InputError(words.IS_TAKEN.format(key=_short(key), old=old, what=line.words))
    return found


def _taken(key: str, where: Where) -> list[KeyLine]:
    """The lines of the table that lose that key."""
    views = SECTIONS if where == "everywhere" else (where, "everywhere")
    return [line for line in KEYS if line.key == key and line.where in views]


def _is_left(line: KeyLine, own: OwnKeys) -> bool:
    """Whether another key does what that one did."""
    shipped = (k for k in KEYS if k not in own.gone and (k.action, k.where) == (line.action, line.where))
    return bool(own.of(line)) or next(shipped, None) is not None


def _told(old: object) -> str:
    try:
        return _short(str(old))
    except ValueError:  # a number of too many digits
        return words.NO_WORD


def _line(key: str, old: object, where: Where, before: list[KeyLine]) -> KeyLine | None:
    """What the entry gives the key; None: nothing."""
    shown, of = _short(key), _told(old)
    if key not in NAMES and not _KEY.fullmatch(key):
        raise InputError(words.NOT_A_KEY.format(key=shown))
    views = SECTIONS if where == "everywhere" else (where, "everywhere")
    twice = next((k for k in before if k.key == key and k.where in views), None)
    if twice is not None:
        raise InputError(words.TWICE.format(key=shown, old=of, what=twice.words))
    if old == "" and _taken(key, where):
        return None
    same = find_key(old, where) if isinstance(old, str) else None
    if same is None:
        raise InputError(words.NO_SUCH_KEY.format(key=shown, old=of))
    return replace(same, key=key, where=where)


def _short(text: str, most: int = MOST_SHOWN) -> str:
    line = " ".join(text.split())
    return line if len(line) <= most else line[:most] + "…"
