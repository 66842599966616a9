"""A certificate gets its number and its file: no number without a file, no file without a number, after a crash either.

The file is written first, under a name that begins with a dot; then the number is taken in the records; then the file
gets its name. Cut short before the number is taken nothing was issued, after that the file only waits for its name.
"""

from __future__ import annotations

import hashlib
import secrets
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from station.app.known_beside import highest_number
from station.app.whole_file import write_whole
from station.capture.regular import read_regular
from station.certificate.content import content_sha256, file_stem
from station.certificate.signature import BenchKey
from station.certificate.types import Certificate
from station.errors import RecordFull, RecordLocked
from station.records.store import Store
from station.records.types import Issued
from station.words import desk as words

_WAITING = ".waiting-"
_MARK_BYTES = 4
"""random ones in the name of a file that waits: two windows may make one with the same number"""
_LONGEST_NAME = 120
"""signs of a file name; its end tells certificates apart"""
_MOST_TRIES = 20
_MOST_BYTES = 32_000_000
_LEFT_BEHIND_S = 86_400.0
"""so old a file whose number was never taken is of no program that still runs"""

Make = Callable[[str], Certificate]
"""the content under a number"""
Render = Callable[[Certificate], bytes]


def issue(store: Store, unit_id: str, folder: Path, key: BenchKey | None, make: Make, render: Render) -> Path:
    """Write a certificate with the bench's next number, above that of every file there, and return its file.
    RecordFull where the disk has no room: then no number was taken."""
    finish_waiting(store, folder)
    for _ in range(_MOST_TRIES):
        number, name = store.next_certificate()
        if above := highest_number(folder, name.rpartition("-")[0] + "-", number):
            number, name = store.next_certificate(above)
        content = make(name)
        data = render(content)
        stem = file_stem(content)[-_LONGEST_NAME:]
        waiting = folder / f"{_WAITING}{secrets.token_hex(_MARK_BYTES)}-{stem}.pdf"
        _write(waiting, data)
        shas = hashlib.sha256(data).hexdigest(), content_sha256(content)
        signed = key.fingerprint if key else ""
        taken = store.add_certificate(
            Issued("", unit_id, "", number, content.number, "", content.person, *shas, signed), above
        )  # fmt: skip
        if taken is not None:
            return _named(waiting)
        waiting.unlink(missing_ok=True)
    raise RecordLocked(words.NUMBERS_TAKEN)


def finish_waiting(store: Store, folder: Path) -> None:
    """Give their names to files whose number was taken before a crash; clear away those whose number never was."""
    known: set[str] | None = None
    for waiting in sorted(folder.glob(f"{_WAITING}*.pdf")):
        with suppress(OSError):
            if known is None:
                known = {one.file_sha256 for one in store.certificates()}
            if hashlib.sha256(read_regular(waiting, _MOST_BYTES)).hexdigest() in known:
                _named(waiting)
            elif time.time() - waiting.stat().st_mtime > _LEFT_BEHIND_S:
                waiting.unlink(missing_ok=True)


def _named(waiting: Path) -> Path:
    path = waiting.with_name(waiting.name[len(_WAITING) + 2 * _MARK_BYTES + 1 :])
    try:
        waiting.replace(path)
    except FileNotFoundError:  # another window has just given it its name
        pass
    except OSError as error:
        raise RecordFull(words.CERTIFICATE_NOT_NAMED.format(path=path, reason=error.strerror)) from error
    return path


def _write(path: Path, data: bytes) -> None:
    try:
        write_whole(path, data)
    except OSError as error:
        said = words.CERTIFICATE_NOT_WRITTEN.format(folder=path.parent, reason=error.strerror)
        raise RecordFull(said) from error
