"""The newest pictures of a folder: what the bench's camera or telephone put there last."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

import platformdirs

ENDINGS = (".jpg", ".jpeg", ".png", ".webp")
MOST = 30
ON_CERTIFICATE = "certificate_photo.{unit}"
"""setting: the hash of the photo, kept with one of the unit's notes, that stands on its certificates"""


def newest(folder: str) -> tuple[str, ...]:
    """Paths of at most `MOST` pictures, newest first; none where the folder cannot be read. `folder` empty: the
    system's folder for pictures."""
    place = Path(folder) if folder else platformdirs.user_pictures_path()
    found: list[tuple[float, str]] = []
    with contextlib.suppress(OSError), os.scandir(place) as entries:  # what came until an error will do
        pictures = (e for e in entries if e.name.lower().endswith(ENDINGS) and e.is_file())
        found.extend((e.stat().st_mtime, e.path) for e in pictures)
    return tuple(path for _, path in sorted(found, reverse=True)[:MOST])
