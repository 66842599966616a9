"""A bug of ours that must not end the visit: the crash hook is told of it, and the visit goes on."""

from __future__ import annotations

import threading

from station.errors import StationError
from station.words import bench as words


def tell_crash_hook(error: BaseException) -> None:
    """Report it as if it had ended this thread; what a person is told as a sentence (StationError) is no bug."""
    if not isinstance(error, StationError):
        told = threading.ExceptHookArgs((type(error), error, error.__traceback__, threading.current_thread()))
        threading.excepthook(told)


def in_words(error: BaseException) -> str:
    """What went wrong, inside a sentence or as one."""
    return str(error) if isinstance(error, StationError) else words.PROGRAM_ERROR.format(error=type(error).__name__)
