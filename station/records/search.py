"""What the search index over units is made of, and what is asked of it.

The index keeps every run of three characters (SQLite's FTS5 trigram tokenizer), so that any piece of a tag or serial
number is found. For one or two letters it would find nothing: beginnings of words are put in as marks of three
characters ("^^s", "^sm").
"""

from __future__ import annotations

import re

from station.records.types import Unit

_WORD = re.compile(r"\w+")
_RUN = 3


def search_text(unit: Unit) -> str:
    """Tag, model, serial number and claim, a line each, and the marks of their words' beginnings."""
    lines = (unit.tag, unit.model, unit.serial, unit.claim)
    words = {word.casefold() for line in lines for word in _WORD.findall(line)}
    marks = {_mark(word[:n]) for word in words for n in (1, 2)}
    return "\n".join((*lines, " ".join(sorted(marks))))


def search_terms(search: str) -> str:
    """The FTS5 query for what a person typed: every word must be there; empty when nothing was typed."""
    return " ".join(_quoted(word if len(word) >= _RUN else _mark(word.casefold())) for word in search.split())


def _mark(beginning: str) -> str:
    return beginning.rjust(_RUN, "^")


def _quoted(word: str) -> str:
    return '"' + word.replace('"', '""') + '"'
