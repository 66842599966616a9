"""Where this bench's private key lies: beside the folder of the records, not in it, since that folder is what another
bench is asked to read.

Earlier versions kept it in `keys` among the records; it is moved from there when it is first wanted.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from station.app import paths
from station.certificate import keys

FILE = "bench-p256.pem"


def own_key_file() -> Path:
    """The file of the private key. Where no folder can be made beside the records (they are a disk of their own) it
    stays in theirs."""
    records, old = paths.records_folder().absolute(), paths.keys_folder() / FILE
    if not records.name:
        return old
    folder = records.with_name(f"{records.name}-keys")
    if not folder.is_dir() and not _can_be_made(folder):
        return old
    new = folder / FILE
    with contextlib.suppress(OSError):  # it can be used where it is
        for file in sorted(old.parent.glob("bench*.pem")):
            keys.move_secret(file, folder / file.name)
    return old if old.exists() and not new.exists() else new


def _can_be_made(folder: Path) -> bool:
    above = next((place for place in folder.parents if place.exists()), folder)
    return os.access(above, os.W_OK)
