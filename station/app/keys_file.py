"""The file of the shop's own keys, beside the records."""

from __future__ import annotations

from pathlib import Path

from station.capture.regular import read_regular
from station.errors import InputError
from station.words import own_keys as words

NAME = "keys.toml"
MOST_BYTES = 16 * 1024


def keys_text(folder: Path) -> str:
    """What is in it; "" if it is not there. InputError says why it cannot be read."""
    try:
        data = read_regular(folder / NAME, MOST_BYTES + 1)
        if len(data) > MOST_BYTES:
            raise InputError(words.PROBLEM.format(what=words.TOO_LONG.format(most=MOST_BYTES)))
        return data.decode("utf-8-sig")
    except FileNotFoundError:
        return ""
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror or str(error) if isinstance(error, OSError) else error.reason
        raise InputError(words.PROBLEM.format(what=words.UNREADABLE.format(reason=reason))) from error
