"""Which pictures go on a unit's certificate: its photo, if one was chosen, and the shop's mark. One that is missing or
broken costs a sentence, not the certificate."""

from __future__ import annotations

from pathlib import Path

from station.app.photos import ON_CERTIFICATE
from station.capture.regular import read_regular
from station.certificate.photo import MARK_MM, MOST_BYTES, PHOTO_MM, Pictures, small
from station.errors import InputError, StationError
from station.records.store import Store
from station.words import desk as words


def pictures_of(store: Store, unit_id: str, mark: str) -> tuple[Pictures, str, str]:
    """The pictures, the hash of the photo that is among them, and what is to be said of one that is not. `mark`: the
    path of the shop's."""
    notes: list[str] = []
    photo, sha256 = None, store.get_setting(ON_CERTIFICATE.format(unit=unit_id))
    if any(note.photo_sha256 == sha256 for note in store.history(unit_id).notes if sha256):
        try:
            path = store.photo_path(sha256)
            if path is None:
                raise InputError(words.PICTURE_GONE)
            photo = small(_read(path), PHOTO_MM)
        except (StationError, OSError) as error:
            notes.append(words.PHOTO_LEFT_OUT.format(reason=_reason(error)))
    shown = None
    if mark:
        try:
            shown = small(_read(Path(mark).expanduser()), MARK_MM)
        except (StationError, OSError) as error:
            notes.append(words.MARK_LEFT_OUT.format(path=mark, reason=_reason(error)))
    return Pictures(photo, shown), sha256 if photo is not None else "", words.NEXT_SENTENCE.join(notes)


def check_mark(path: Path) -> None:
    """InputError or OSError where a certificate could not show this picture as the shop's mark."""
    small(_read(path), MARK_MM)


def _read(path: Path) -> bytes:
    data = read_regular(path, MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise InputError(words.PICTURE_TOO_LARGE.format(most=MOST_BYTES // 1_000_000))
    return data


def _reason(error: StationError | OSError) -> str:
    return (error.strerror or str(error)) if isinstance(error, OSError) else str(error)
