"""What a command writes: nothing in it moves the cursor, turns the writing round or hides, and nothing is lost unsaid.

Names of files, devices and sellers stand in what is written. Signs that cannot be seen are shown by their number
(`station.capture.text.visible`), and what the terminal's encoding has no sign for by its.
"""

from __future__ import annotations

import contextlib
import errno
import io
import os
import sys
from collections.abc import Iterator
from typing import Any, TextIO, cast

from station.capture.text import visible, visible_line


class _Closed(io.TextIOBase):
    """An output that was closed before the program began (`>&-`): it takes nothing, and says so."""

    def write(self, text: str) -> int:
        raise OSError(errno.EBADF, os.strerror(errno.EBADF))


class _Shown:
    """A stream that makes everything visible on its way out. All else is the stream's own."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        return self._stream.write(visible(text))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def one_line(text: str) -> str:
    """The text on one line, all of it visible: for names of files, which may hold line feeds."""
    return visible_line(text)


@contextlib.contextmanager
def shown(*, exact: bool) -> Iterator[None]:
    """Standard output and error made visible inside the block; `exact`: the output is for a program (JSON), and only
    what is said beside it on standard error is."""
    before = sys.stdout, sys.stderr
    out, beside = (_Closed() if stream is None else stream for stream in before)
    for stream in (out, beside):
        if isinstance(stream, io.TextIOWrapper):  # − in cp1252: as its number
            stream.reconfigure(errors="backslashreplace")
    sys.stdout = cast("TextIO", out if exact else _Shown(cast("TextIO", out)))
    sys.stderr = cast("TextIO", _Shown(cast("TextIO", beside)))
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before


def give_up_output() -> None:
    """Standard output takes nothing more: what is left in it goes nowhere, or the interpreter would end with a status
    of its own when it tries once more."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
