"""What an offer needs, from a certificate that was written: the text, and pictures of the sticks beside the file."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from station.app.certify import told_now
from station.app.options import usable_page
from station.app.whole_file import write_whole
from station.capture.regular import read_regular
from station.certificate.listing import TEMPLATE, facts_of, listing_text, still_says
from station.certificate.signature import CONTENT_NAME
from station.certificate.unpack import unpack
from station.certificate.verify import Verdict, check
from station.errors import InputError, RecordFull
from station.judgement.issued import states_of
from station.records.store import Store
from station.sheets.model import Sheet
from station.words import listing as words

WHERE = "check_page"
"""the setting that says where buyers find the page that checks certificates"""
MOST_BYTES = 32_000_000


@dataclass(frozen=True, slots=True)
class Offer:
    """The text, and where the pictures lie. `note`: what had to be left out of it, in one sentence."""

    text: str
    pictures: tuple[Path, ...]
    note: str = ""


def offer_of(
    path: Path, folder: Path, store: Store | None = None, sheet_of: Callable[[str], Sheet | None] | None = None
) -> Offer:
    """Text and pictures for the certificate at `path`, by the template in `folder` (the records'). InputError where it
    cannot be read or is not as it was signed, where it was withdrawn or replaced in the records, or where these say
    something else of its unit by now; RecordFull where the pictures cannot be written.

    `sheet_of`: the sheet at hand by its name.
    """
    try:
        data = read_regular(path, MOST_BYTES)
    except OSError as error:
        raise InputError(words.UNREADABLE.format(path=path, reason=error.strerror)) from error
    found = unpack(data, text=False)
    content = {one.name: one.content() for one in found.attached}.get(CONTENT_NAME)
    if content is None:
        raise InputError(words.NO_CERTIFICATE.format(path=path))
    checked = check(data, found, {})
    if checked.verdict is Verdict.ALTERED:
        raise InputError(words.ALTERED.format(path=path, reason=checked.reasons[0].rstrip(".")))
    stored = store.get_setting(WHERE) if store is not None else ""
    where = usable_page(stored)
    facts = facts_of(content, checked.fingerprint, where)
    if store is not None:
        _still_holds(store, content, facts["tag"], sheet_of or (lambda name: None))
    note = words.PAGE_LEFT_OUT if stored.strip() and not where else ""
    return Offer(listing_text(facts, folder / TEMPLATE), tuple(_pictures(content, facts, path)), note)


def _still_holds(store: Store, content: bytes, tag: str, sheet_of: Callable[[str], Sheet | None]) -> None:
    """InputError where these records have taken the certificate back, or would say something else. One that they do not
    know is left to whoever has it."""
    sha256 = hashlib.sha256(content).hexdigest()
    listed = states_of(store.certificates(), store.withdrawn_certificates())
    one = next((one for one in listed if one.issued.content_sha256 == sha256), None)
    if one is None:
        return
    number, unit_id = one.issued.name, one.issued.unit_id
    if one.state == "withdrawn":
        raise InputError(words.IS_WITHDRAWN.format(tag=tag, reason=one.reason.rstrip(".")))
    if one.state == "replaced":
        raise InputError(words.REPLACED.format(number=number, newer=one.replaced_by))
    sheet = sheet_of(store.unit(unit_id).sheet)
    if sheet is not None and not still_says(content, told_now(store, unit_id, sheet, one.issued.at)):
        raise InputError(words.RECORD_CHANGED.format(tag=tag, number=number))


def _pictures(content: bytes, facts: Mapping[str, str], path: Path) -> list[Path]:
    from station.certificate.pictures import dial_png, dials_in, is_simulated

    made = []
    said = words.PICTURE.format(model=facts["model"], tag=facts["tag"], number=facts["number"])
    for dial in dials_in(content):
        name = "".join(c if c.isalnum() else "-" for c in dial.control)
        target = path.with_name(f"{path.stem}-{name}.png")
        try:
            write_whole(target, dial_png(dial, said, simulated=is_simulated(content)))
        except OSError as error:
            raise RecordFull(words.PICTURE_NOT_WRITTEN.format(path=target, reason=error.strerror)) from error
        made.append(target)
    return made
