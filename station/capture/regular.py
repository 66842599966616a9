"""Opening a file that somebody else gave: a pipe would be waited on for ever, a device read without end."""

from __future__ import annotations

import errno
import os
import stat
from io import BufferedReader
from pathlib import Path

from station.words import captures as words

_FLAGS = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0) | getattr(os, "O_BINARY", 0)
"""without O_NONBLOCK the opening of a pipe that nobody writes into would not return"""


def open_regular(path: Path) -> BufferedReader:
    """The file, open for reading. OSError as `open` has it, and for anything that is no ordinary file."""
    handle = os.open(path, _FLAGS)
    try:
        mode = os.fstat(handle).st_mode
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
        if not stat.S_ISREG(mode):
            raise OSError(errno.EINVAL, words.NO_ORDINARY_FILE, str(path))
        return os.fdopen(handle, "rb")
    except BaseException:
        os.close(handle)
        raise


def read_regular(path: Path, most: int) -> bytes:
    """The first `most` bytes of it. OSError."""
    with open_regular(path) as file:
        return file.read(most)


def is_regular(path: Path) -> bool:
    """Whether an ordinary file is there (through links)."""
    try:
        return stat.S_ISREG(path.stat().st_mode)
    except (OSError, ValueError):
        return False
