"""What may be typed into the records: how long a text, how great a number, which signs. Asked where something enters;
what is there already, or comes from another bench, is shown as it is (`station.capture.text.visible`).

A tag or name of thousands of characters fits on no label, page or file name; a sign that cannot be seen makes two tags
that look alike.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from station.capture.text import unseen, visible
from station.errors import InputError
from station.records.money import MOST_MINOR
from station.words import records as words

MOST_NUMBER = MOST_MINOR
"""the greatest amount, time or count that is taken"""
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?:T.*)?")
_SHOWN = 40


@dataclass(frozen=True, slots=True)
class _Kind:
    """A kind of text: how long it may be, and whether all of it has to be seen."""

    most: int
    seen: bool


_KINDS = {
    "tag": _Kind(60, seen=True),
    "serial": _Kind(120, seen=True),
    "name": _Kind(120, seen=True),
    "text": _Kind(10_000, seen=False),
}
_KIND_OF = {
    "tag": "tag",
    "serial": "serial",
    "name": "name",
    "model": "name",
    "seller": "name",
    "source": "name",
    "person": "name",
    "bench": "name",
}
"""field → its kind; every other text is just a text"""
NAMES_IN_SETTINGS = ("person", "bench")


def check_texts(**texts: object) -> None:
    """InputError for a text that is too long for what it is, or holds a sign that cannot be seen where it must not.
    What is no text is passed over."""
    for field, text in texts.items():
        if not isinstance(text, str):
            continue
        kind = _KIND_OF.get(field, "text")
        what = words.WHAT_IS_TYPED[kind]
        if len(text) > _KINDS[kind].most:
            start = visible(text[:_SHOWN])
            raise InputError(
                words.TYPED_TOO_LONG.format(what=what, start=start, length=len(text), most=_KINDS[kind].most)
            )
        if _KINDS[kind].seen and (sign := unseen(text) or _broken(text)):
            raise InputError(words.UNSEEN_SIGN.format(what=what, text=visible(text), sign=sign))


def _broken(text: str) -> str:
    """A line break or tab in what stands on one line, as it is written where it cannot be seen; "" if there is none."""
    return next((told for sign, told in (("\n", "\\n"), ("\t", "\\t")) if sign in text), "")


MOST_KIND = _KINDS["tag"].most


def is_kind(text: str) -> bool:
    """Whether it may be the kind of a treatment: a few words that can be seen. A shop has kinds of its own."""
    return 0 < len(text) <= MOST_KIND and text == text.strip() and "\n" not in text and not unseen(text)


def is_day(text: str) -> bool:
    """Whether it is written as the records write a day or a time: 2026-03-06, not 20260306 or 2026-W10-5."""
    return _DAY.fullmatch(text) is not None
