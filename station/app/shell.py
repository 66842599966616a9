"""Lines that a person copies into a shell: a file's name must not become a command of its own."""

from __future__ import annotations

import os
import shlex
from pathlib import Path


def shell_word(what: str | Path) -> str:
    """One word for the shell of this system, whatever the name holds. Signs that cannot be seen, and bytes that are no
    text, are written by their number (POSIX.1-2024, 2.2.4: dollar-single-quotes)."""
    text = str(what)
    if text.startswith("-"):
        text = f"./{text}" if isinstance(what, Path) else text
    if os.name == "nt":
        return '"' + "".join(c for c in text if c.isprintable() and c not in '"%`$') + '"'
    if text.isprintable():
        return shlex.quote(text)
    return "$'" + "".join(_escaped(c) for c in text) + "'"


def _escaped(char: str) -> str:
    if char in "'\\":
        return "\\" + char
    if char.isprintable():
        return char
    return "".join(f"\\{byte:03o}" for byte in os.fsencode(char))
