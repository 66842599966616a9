"""The newest files of a folder: what the bench's camera or telephone put there last, or what was loaded down."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

import platformdirs

ENDINGS = (".jpg", ".jpeg", ".png", ".webp")
MOST = 30
ON_CERTIFICATE = "certificate_photo.{unit}"
"""setting: the hash of the photo, kept with one of the unit's notes, that stands on its certificates"""


def newest(folder: str, endings: tuple[str, ...] = ENDINGS) -> tuple[str, ...]:
    """Paths of at most `MOST` files with these endings, newest first; none where the folder cannot be read. `folder`
    empty: the system's folder for pictures."""
    place = Path(folder) if folder else platformdirs.user_pictures_path()
    found: list[tuple[float, str]] = []
    with contextlib.suppress(OSError), os.scandir(place) as entries:  # what came until an error will do
        files = (e for e in entries if e.name.lower().endswith(endings) and e.is_file())
        found.extend((e.stat().st_mtime, e.path) for e in files)
    return tuple(path for _, path in sorted(found, reverse=True)[:MOST])
