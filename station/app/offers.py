"""What an offer needs, from a certificate that was written: the text, and pictures of the sticks beside the file."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from station.app.whole_file import write_whole
from station.capture.regular import read_regular
from station.certificate.listing import TEMPLATE, facts_of, listing_text
from station.certificate.signature import CONTENT_NAME, fingerprint
from station.certificate.unpack import unpack
from station.certificate.verify import Verdict, check, find_seal
from station.errors import InputError, RecordFull
from station.judgement.issued import is_past, states_of
from station.records.store import Store
from station.words import listing as words

MOST_BYTES = 32_000_000


@dataclass(frozen=True, slots=True)
class Offer:
    """The text, and where the pictures lie."""

    text: str
    pictures: tuple[Path, ...]


def offer_of(path: Path, folder: Path, store: Store | None = None) -> Offer:
    """Text and pictures for the certificate at `path`, by the template in `folder` (the records'). InputError where it
    cannot be read, was altered, or does not hold any more by the records `store` (None: there are none here);
    RecordFull where the pictures cannot be written."""
    try:
        data = read_regular(path, MOST_BYTES)
    except OSError as error:
        raise InputError(words.UNREADABLE.format(path=path, reason=error.strerror)) from error
    unpacked = unpack(data, text=False)
    found = {one.name: one.content() for one in unpacked.attached}
    seal = find_seal(data)
    if CONTENT_NAME not in found:
        raise InputError(words.NO_CERTIFICATE.format(path=path))
    content = found[CONTENT_NAME]
    if check(data, unpacked, {}).verdict is Verdict.ALTERED:
        raise InputError(words.IS_ALTERED.format(path=path))
    if store is not None:
        _refuse_what_is_past(store, hashlib.sha256(content).hexdigest())
    text = listing_text(facts_of(content, fingerprint(seal.public) if seal and seal.public else ""), folder / TEMPLATE)
    return Offer(text, tuple(_pictures(content, path)))


def _refuse_what_is_past(store: Store, content_sha256: str) -> None:
    """InputError for a certificate of these records that was withdrawn or replaced, or after which the unit was tested,
    treated or corrected: an offer by it would say what is known to hold no more."""
    found = [one for one in store.certificates() if one.content_sha256 == content_sha256]
    for listed in states_of(store.certificates(), store.withdrawn_certificates()) if found else ():
        one = listed.issued
        if one not in found:
            continue
        tag = store.unit(one.unit_id).tag
        if listed.state == "withdrawn":
            raise InputError(words.IS_WITHDRAWN.format(tag=tag, reason=listed.reason.rstrip(".")))
        if listed.state == "replaced":
            raise InputError(words.IS_REPLACED.format(number=one.name, tag=tag, by=listed.replaced_by))
        if is_past(one, store.history(one.unit_id)):
            raise InputError(words.IS_PAST.format(number=one.name, tag=tag))


def _pictures(content: bytes, path: Path) -> list[Path]:
    from station.certificate.pictures import dial_png, dials_in

    made = []
    for dial in dials_in(content):
        name = "".join(c if c.isalnum() else "-" for c in dial.control)
        target = path.with_name(f"{path.stem}-{name}.png")
        try:
            write_whole(target, dial_png(dial))
        except OSError as error:
            raise RecordFull(words.PICTURE_NOT_WRITTEN.format(path=target, reason=error.strerror)) from error
        made.append(target)
    return made
