"""Who sits at the bench, as far as the computer knows."""

from __future__ import annotations

import getpass


def person_here() -> str:
    """The name of the user; empty where the system knows none (no such account, no environment)."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""
