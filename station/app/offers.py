"""What an offer needs, from a certificate that was written: the text, and pictures of the sticks beside the file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from station.app.whole_file import write_whole
from station.capture.regular import read_regular
from station.certificate.listing import TEMPLATE, facts_of, listing_text
from station.certificate.signature import CONTENT_NAME, fingerprint
from station.certificate.unpack import unpack
from station.certificate.verify import find_seal
from station.errors import InputError, RecordFull
from station.words import listing as words

MOST_BYTES = 32_000_000


@dataclass(frozen=True, slots=True)
class Offer:
    """The text, and where the pictures lie."""

    text: str
    pictures: tuple[Path, ...]


def offer_of(path: Path, folder: Path) -> Offer:
    """Text and pictures for the certificate at `path`, by the template in `folder` (the records'). InputError where it
    cannot be read, RecordFull where the pictures cannot be written."""
    try:
        data = read_regular(path, MOST_BYTES)
    except OSError as error:
        raise InputError(words.UNREADABLE.format(path=path, reason=error.strerror)) from error
    found = {one.name: one.content() for one in unpack(data, text=False).attached}
    seal = find_seal(data)
    if CONTENT_NAME not in found:
        raise InputError(words.NO_CERTIFICATE.format(path=path))
    content = found[CONTENT_NAME]
    text = listing_text(facts_of(content, fingerprint(seal.public) if seal and seal.public else ""), folder / TEMPLATE)
    return Offer(text, tuple(_pictures(content, path)))


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
