"""Is this file the certificate that its bench signed? A pure function of what was read from it.

The seal decides: it covers every byte of the file. The attached statement tells what was changed where the seal does
not hold: the content, the words on a page, an attachment, or nothing that can be read (a picture laid over, a file
that another program saved again).
"""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import Any

from station.capture.text import plain_text
from station.certificate import former_seal
from station.certificate.content import FORMAT
from station.certificate.keys import KnownKey
from station.certificate.pdf_signature import find_signature
from station.certificate.signature import (
    CONTENT_NAME,
    STATEMENT_NAME,
    Seal,
    Statement,
    fingerprint,
    is_newer,
    read_statement,
)
from station.certificate.unpack import Unpacked
from station.errors import InputError
from station.records.canonical import canonical_json
from station.records.chain import Head, heads_of
from station.words import grammar
from station.words import verify as words

LAST_COMPARED = 0x0530
"""the scripts after Cyrillic begin here"""
MOST_NAMED = 5
"""attachments that are named, of those that were added"""
_LONGEST_HEADLINE = 2000
"""signs of it that are shown; cut short, it would leave out a fault or an exception"""


class Verdict(Enum):
    GENUINE = "genuine"
    ALTERED = "altered"
    UNKNOWN_KEY = "unknown key"
    NOT_SIGNED = "not signed"


@dataclass(frozen=True, slots=True)
class Checked:
    """The verdict and its reasons, what the certificate says it is, and who signed it ("" where not known)."""

    verdict: Verdict
    reasons: tuple[str, ...]
    fingerprint: str = ""
    signed_by: str = ""
    public: bytes = b""
    says: Mapping[str, str] = field(default_factory=dict)
    log: tuple[Head, ...] = ()
    """where the log of the bench's records ended when it was written; none before certificates held that"""
    content_sha256: str = ""
    """of the content in it, whatever the verdict"""


def check(data: bytes, found: Unpacked, known: Mapping[bytes, KnownKey]) -> Checked:
    """Judge a file (`data`) whose attachments and page texts are `found`. InputError if it is no certificate of ours.

    Genuine: the file is byte for byte as a known key sealed it, and the content in it is the one that was signed.
    Where the text of its pages was not read (None), it is not told which word on them was changed.
    """
    seal = find_seal(data)
    names = [one.name for one in found.attached]
    if seal is None and CONTENT_NAME not in names and STATEMENT_NAME not in names:
        raise InputError(words.NO_CERTIFICATE)
    content, signature = _first(found, CONTENT_NAME), _first(found, STATEMENT_NAME)
    if former_seal.is_newer(data) or is_newer(signature or b""):
        raise InputError(words.NEWER)
    statement = None if signature is None else read_statement(signature)
    says = _says(content)
    if seal is None and STATEMENT_NAME not in names:
        return Checked(Verdict.NOT_SIGNED, (words.NO_SIGNATURE,), says=says)
    public = statement.public if statement else seal.public if seal else b""
    signer = known.get(public) or (known.get(statement.former) if statement and statement.holds else None)
    faults = (*_seal_faults(seal, statement), *_attachment_faults(found, content, statement))
    if faults and statement and statement.holds and found.pages is not None:
        faults += tuple(_page_faults(found.pages, statement)) or (words.SAME_WORDS,)
    verdict = Verdict.ALTERED if faults else Verdict.GENUINE if signer else Verdict.UNKNOWN_KEY
    return Checked(
        verdict,
        faults,
        fingerprint(public) if public else "",
        signer.name if signer else "",
        public,
        says,
        _log(content),
        hashlib.sha256(content or b"").hexdigest(),
    )


def find_seal(data: bytes) -> Seal | None:
    """The signature over the whole file, in the form of today or of before; None where there is neither."""
    return former_seal.find_seal(data) or find_signature(data)


def is_whole(data: bytes) -> bool:
    """Whether the seal holds, whosever it is: what stands on the pages needs no comparing then."""
    seal = find_seal(data)
    return seal is not None and seal.holds and not seal.added


def check_torn(data: bytes, known: Mapping[bytes, KnownKey]) -> Checked | None:
    """The verdict on a file that can no longer be read as a PDF: altered if its seal tells so, else None."""
    seal = find_seal(data)
    if seal is None or is_whole(data):
        return None
    signer = known.get(seal.public)
    faults = (*_seal_faults(seal, None), words.NO_PDF_ANY_MORE)
    return Checked(Verdict.ALTERED, faults, fingerprint(seal.public), signer.name if signer else "", seal.public)


def _seal_faults(seal: Seal | None, statement: Statement | None) -> Iterator[str]:
    if seal is None:
        yield words.NO_SEAL
    elif not seal.holds:
        yield words.SEAL_BROKEN
    elif seal.added:
        yield grammar.plural(seal.added, words.BYTES_ADDED).format(count=seal.added)
    if seal and seal.public and statement and seal.public != statement.public:
        yield words.TWO_KEYS


def _attachment_faults(found: Unpacked, content: bytes | None, statement: Statement | None) -> Iterator[str]:
    names = [one.name for one in found.attached]
    for name in (CONTENT_NAME, STATEMENT_NAME):
        if name not in names:
            yield words.ATTACHMENT_MISSING.format(name=name)
        elif names.count(name) > 1:
            yield words.ATTACHMENT_TWICE.format(name=name)
    strange = [plain_text(name) or words.WITHOUT_A_NAME for name in names if name not in (CONTENT_NAME, STATEMENT_NAME)]
    if len(strange) > MOST_NAMED:
        yield words.MANY_ATTACHMENTS_ADDED.format(names=grammar.COMMA.join(strange[:MOST_NAMED]))
    elif strange:
        yield grammar.plural(len(strange), words.ATTACHMENTS_ADDED).format(names=grammar.COMMA.join(strange))
    if STATEMENT_NAME in names and (statement is None or not statement.holds):
        yield words.SIGNATURE_BROKEN.format(name=STATEMENT_NAME)
    elif statement and content is not None and hashlib.sha256(content).hexdigest() != statement.content_sha256:
        yield words.OTHER_CONTENT.format(name=CONTENT_NAME)
    elif content is not None and not _is_canonical(content):
        yield words.NOT_OUR_CONTENT.format(name=CONTENT_NAME)


def _page_faults(pages: Sequence[str], statement: Statement) -> Iterator[str]:
    if len(pages) != len(statement.words):
        before = grammar.count_of(len(statement.words), words.PAGE)
        yield words.OTHER_PAGES.format(pages=before, now=len(pages))
    for number, (page, signed) in enumerate(zip(pages, statement.words, strict=False), 1):
        if (fault := _page_fault(number, page, signed)) is not None:
            yield fault


def _page_fault(number: int, page: str, signed: Sequence[str]) -> str | None:
    """What differs first between the words on a page and those that were signed for it."""
    text, at, after_strange = _bare(page), 0, False
    for piece in signed:
        if not _comparable(piece):
            after_strange = True
            continue
        bare = _bare(piece)
        start = text.find(bare, at) if after_strange else at
        if start < 0 or text[start : start + len(bare)] != bare:
            return words.PAGE_CHANGED.format(page=number, signed=plain_text(piece))
        at, after_strange = start + len(bare), False
    if at < len(text) and not after_strange:
        return words.PAGE_SAYS_MORE.format(page=number, more=plain_text(text[at:]))
    return None


def _bare(text: str) -> str:
    """The signs that count when words are compared: no spaces, no controls, ligatures taken apart."""
    return "".join(c for c in unicodedata.normalize("NFKC", text) if c.isprintable() and not c.isspace())


def _comparable(piece: str) -> bool:
    """Whether a text reads back from a PDF as it was written: Latin, Greek, Cyrillic and common signs do; other
    scripts may be drawn in another order, or with signs that give no letters back."""
    return all(ord(c) < LAST_COMPARED or 0x2000 <= ord(c) < 0x2300 for c in unicodedata.normalize("NFKC", piece))


# --- what it says -----------------------------------------------------------------------------------


def _first(found: Unpacked, name: str) -> bytes | None:
    return next((one.content() for one in found.attached if one.name == name), None)


def _body(content: bytes | None) -> dict[str, Any]:
    try:
        body = json.loads(content or b"")
    except (ValueError, RecursionError):
        return {}
    return body if isinstance(body, dict) else {}


def _is_canonical(content: bytes) -> bool:
    body = _body(content)
    try:
        return body.get("format") == FORMAT and canonical_json(body).encode() == content
    except (ValueError, TypeError, RecursionError):
        return False


def _log(content: bytes | None) -> tuple[Head, ...]:
    """The heads of the log that the content holds."""
    told = _body(content).get("certificate")
    try:
        return heads_of(told["log"]) if isinstance(told, dict) and "log" in told else ()
    except ValueError:
        return ()


def _says(content: bytes | None) -> dict[str, str]:
    """Number, unit, model, dates and result as the content gives them, made harmless for a terminal."""
    told = _body(content).get("certificate")
    if not isinstance(told, dict):
        return {}
    not_done = told.get("not_tested")
    told = told | {"not_done": len(not_done) if isinstance(not_done, list) else 0}
    grade = told.get("grade")
    told["grade"] = grade.get("said") if isinstance(grade, dict) else None
    standing = told.get("standing")
    told["headline"] = standing.get("headline") if isinstance(standing, dict) else None
    told["simulated"] = "yes" if isinstance(standing, dict) and standing.get("simulated") else None
    told["grade_scale"] = grade.get("scale") if isinstance(grade, dict) and grade.get("name") else None
    shown = (
        "number",
        "tag",
        "model",
        "serial",
        "issued_at",
        "bench",
        "person",
        "headline",
        "simulated",
        "grade",
        "grade_scale",
        "passed",
        "borderline",
        "failed",
        "not_done",
    )
    says = {name: plain_text(str(told[name])) for name in shown if isinstance(told.get(name), str | int)}
    if "headline" in says:
        says["headline"] = plain_text(str(told["headline"]), _LONGEST_HEADLINE)
    return says
