"""TOML that a person or a stranger wrote: read within bounds, or refused with what to mend."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from station.capture.regular import read_regular
from station.capture.text import visible_line
from station.errors import InputError
from station.words import files as words

MOST_BYTES = 256 * 1024
MOST_DOTS = 200
"""in a line: the time for a key grows with the square of its dots"""


def read_toml(path: Path, what: str, most_bytes: int = MOST_BYTES) -> dict[str, Any]:
    """The file's entries. InputError in one sentence that begins with `what` it is and its name."""
    try:
        data = read_regular(path, most_bytes + 1)
        if len(data) > most_bytes:
            raise ValueError(words.TOO_LARGE.format(most=most_bytes // 1024))
        return parse_toml(data.decode("utf-8-sig"))
    except (OSError, UnicodeDecodeError) as fault:
        reason = words.NOT_READABLE.format(fault=fault)
        raise InputError(words.NOT_USED.format(what=what, file=path, reason=reason)) from fault
    except ValueError as fault:
        raise InputError(words.NOT_USED.format(what=what, file=path, reason=fault)) from fault


def parse_toml(text: str) -> dict[str, Any]:
    """The entries of a text. ValueError says what is wrong, and what to mend."""
    for number, line in enumerate(text.split("\n"), 1):
        if line.count(".") > MOST_DOTS and not line.lstrip().startswith("#"):
            raise ValueError(words.TOO_MANY_DOTS.format(line=number, most=MOST_DOTS))
    try:
        return tomllib.loads(text)
    except RecursionError as fault:
        raise ValueError(words.TOO_DEEP) from fault
    except ValueError as fault:  # what is no TOML, and a number that Python does not read
        raise ValueError(words.NOT_TOML.format(fault=visible_line(str(fault), 160))) from fault
