"""A folder that several benches reach: each puts its own records there and reads those of the others.

    FOLDER/bench-<place>/restpoint.db     a whole back-up, put in place in one step
    FOLDER/bench-<place>/captures/…       captures and photos under their SHA-256
    FOLDER/bench-<place>/photos/…

Nobody writes what another wrote, and no file is open as records over the network: what is read is copied first. A name
that begins with a dot is not there yet; what is cut short is made again the next time.
"""

from __future__ import annotations

import sqlite3
import tempfile
from pathlib import Path

from station.capture.regular import is_regular
from station.errors import InputError
from station.records import backup, files
from station.records.place import place_of
from station.words import records as words

_PREFIX = "bench-"
_KINDS = ("captures", "photos")


def own_folder(shared: Path, records: Path) -> Path:
    """Where the bench with the records file `records` writes."""
    return shared / f"{_PREFIX}{place_of(records)}"


def other_folders(shared: Path, records: Path) -> tuple[Path, ...]:
    """Those of the other benches that are there, by name. Raises OSError."""
    own = own_folder(shared, records)
    found = sorted(path for path in shared.iterdir() if path.name.startswith(_PREFIX) and path.name != own.name)
    return tuple(path for path in found if path.is_dir() and any(path.glob("restpoint.db")))


def refuse_elsewhere(folder: Path, shared: Path, records: Path) -> None:
    """InputError for a bench's folder that is a link, or in which a folder leads out of it: whoever can write the share
    would say where this bench writes, its own records included."""
    for path in (folder, *(folder / kind for kind in (*_KINDS, "keys", "keys/known", records.name))):
        if path.is_symlink() or not _lies_in(path, shared, records.parent):
            raise InputError(words.SHARE_LEADS_ELSEWHERE.format(path=path))


def _lies_in(path: Path, shared: Path, records: Path) -> bool:
    real, share, here = path.resolve(), shared.resolve(), records.resolve()
    return share in real.parents and here != real and here not in real.parents


def put_own(db: sqlite3.Connection, records: Path, shared: Path) -> int:
    """Write the records and what they name for the others; returns how many files. Raises OSError, sqlite3.Error.

    InputError where that folder leads elsewhere. Captures first: who finds the records there finds what they name.
    """
    own = own_folder(shared, records)
    refuse_elsewhere(own, shared, records)
    own.mkdir(exist_ok=True)
    for left in own.rglob(".*.part"):
        left.unlink(missing_ok=True)
    count = 0
    for kind in _KINDS:
        for file in sorted((records.parent / kind).glob("*/*/*")):
            target = own / file.relative_to(records.parent)
            if file.name.startswith(".") or not is_regular(file):
                continue
            if is_regular(target) and target.stat().st_size == file.stat().st_size:
                continue
            target.parent.mkdir(parents=True, exist_ok=True)
            if target.parent.resolve() != own.resolve() / target.parent.relative_to(own):
                raise InputError(words.SHARE_LEADS_ELSEWHERE.format(path=target.parent))
            files.copy_in_place(file, target)
            count += 1
    with tempfile.TemporaryDirectory(prefix=".merge-", dir=records.parent) as folder:
        made = backup.back_up(db, Path(folder), "shared", "")
        target = own / records.name
        if not (is_regular(target) and files.sha256_of(target) == files.sha256_of(made)):
            files.copy_in_place(made, target)
            count += 1
    return count
