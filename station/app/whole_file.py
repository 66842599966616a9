"""A file for a person, written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path


def write_whole(path: Path, data: bytes) -> None:
    """Put the bytes in place in one step, on the disk; a full disk leaves what was there. Raises OSError."""
    part = path.with_suffix(".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    except OSError:
        part.unlink(missing_ok=True)
        raise
