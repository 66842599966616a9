"""Is there a screen? Qt aborts the process without one, so we look before it does."""

from __future__ import annotations

import os
import sys

from station.errors import InputError
from station.words import command_line as words

NEED_NONE = ("offscreen", "minimal", "vnc", "linuxfb", "eglfs")
"""Qt's platform plugins that draw without one"""


def has_display() -> bool:
    """True when a window can be shown (always so outside Linux)."""
    plugin = os.environ.get("QT_QPA_PLATFORM", "").split(":")[0]
    named = os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    return bool(sys.platform != "linux" or plugin in NEED_NONE or named)


def need_display() -> None:
    """InputError when no window can be shown."""
    if not has_display():
        raise InputError(words.NO_DISPLAY)


def paint_without_display() -> None:
    """Let Qt paint certificates where there is no screen. Call before Qt is loaded."""
    if not has_display():
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
