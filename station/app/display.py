"""Is there a screen? Qt aborts the process without one, so we look before it does."""

from __future__ import annotations

import os
import sys

from station.errors import InputError


def has_display() -> bool:
    """True when a window can be shown (always so outside Linux)."""
    if not sys.platform.startswith("linux"):
        return True
    platform = os.environ.get("QT_QPA_PLATFORM", "")
    if platform.split(":")[0] in ("offscreen", "minimal", "vnc", "linuxfb", "eglfs"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def need_display() -> None:
    """InputError when no window can be shown."""
    if not has_display():
        raise InputError(
            "There is no display to open a window on; start it from a desktop session, "
            "or use “restpoint demo --auto” and “restpoint assess”, which need none."
        )


def paint_without_display() -> None:
    """Let Qt paint certificates where there is no screen. Call before Qt is loaded."""
    if not has_display():
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
