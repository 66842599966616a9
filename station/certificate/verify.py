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
from station.certificate.content import FORMAT
from station.certificate.keys import KnownKey
from station.certificate.signature import (
    CONTENT_NAME,
    STATEMENT_NAME,
    Seal,
    Statement,
    find_seal,
    fingerprint,
    is_newer,
    read_statement,
)
from station.certificate.unpack import Unpacked
from station.errors import InputError
from station.records.canonical import canonical_json

LAST_COMPARED = 0x0530
"""the scripts after Cyrillic begin here"""


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


def check(data: bytes, found: Unpacked, known: Mapping[bytes, KnownKey]) -> Checked:
    """Judge a file (`data`) whose attachments and page texts are `found`. InputError if it is no certificate of ours.

    Genuine: the file is byte for byte as a known key sealed it, and the content in it is the one that was signed.
    """
    seal = find_seal(data)
    names = [one.name for one in found.attached]
    if seal is None and CONTENT_NAME not in names and STATEMENT_NAME not in names:
        raise InputError(
            "This PDF carries no certificate of Restpoint; a print or a copy saved by another program loses it, so ask "
            "the seller for the file as the bench wrote it."
        )
    content, signature = _first(found, CONTENT_NAME), _first(found, STATEMENT_NAME)
    if is_newer(data, signature or b""):
        raise InputError("This certificate was signed by a newer Restpoint; install the newest version, then check it.")
    statement = None if signature is None else read_statement(signature)
    says = _says(content)
    if seal is None and STATEMENT_NAME not in names:
        return Checked(Verdict.NOT_SIGNED, (_UNSIGNED,), says=says)
    public = statement.public if statement else seal.public if seal else b""
    signer = known.get(public)
    faults = (*_seal_faults(seal, statement), *_attachment_faults(found, content, statement))
    if faults and statement and statement.holds:
        faults += tuple(_page_faults(found.pages, statement)) or (_SAME_WORDS,)
    verdict = Verdict.ALTERED if faults else Verdict.GENUINE if signer else Verdict.UNKNOWN_KEY
    return Checked(verdict, faults, fingerprint(public) if public else "", signer.name if signer else "", public, says)


def check_torn(data: bytes, known: Mapping[bytes, KnownKey]) -> Checked | None:
    """The verdict on a file that can no longer be read as a PDF: altered if its seal tells so, else None."""
    seal = find_seal(data)
    if seal is None or (seal.holds and not seal.added):
        return None
    signer = known.get(seal.public)
    faults = (*_seal_faults(seal, None), "it can no longer be read as a PDF")
    return Checked(Verdict.ALTERED, faults, fingerprint(seal.public), signer.name if signer else "", seal.public)


_UNSIGNED = (
    "it carries no signature: it was written unsigned, or the signature was taken out; so it proves nothing about who "
    "wrote it"
)
_SAME_WORDS = (
    "the words on the pages are those that were signed; drawings, colours and anything laid over them cannot be "
    "compared in a file that was saved again"
)


def _seal_faults(seal: Seal | None, statement: Statement | None) -> Iterator[str]:
    if seal is None:
        yield "the seal, the last line of the file, is missing: it was saved again or changed after it was signed"
    elif not seal.holds:
        yield "the file is not as it was sealed: some byte of it was changed"
    elif seal.added:
        yield f"{seal.added} bytes were added after the seal: something was laid over it or written into it"
    if seal and statement and seal.public != statement.public:
        yield "seal and signature are by different keys"


def _attachment_faults(found: Unpacked, content: bytes | None, statement: Statement | None) -> Iterator[str]:
    names = [one.name for one in found.attached]
    for name in (CONTENT_NAME, STATEMENT_NAME):
        if name not in names:
            yield f"the attachment {name} is missing"
        elif names.count(name) > 1:
            yield f"there is more than one attachment {name}"
    strange = [plain_text(name) or "without a name" for name in names if name not in (CONTENT_NAME, STATEMENT_NAME)]
    if strange:
        yield f"attachments were added: {', '.join(strange[:5])}{' …' if len(strange) > 5 else ''}"
    if STATEMENT_NAME in names and (statement is None or not statement.holds):
        yield f"the signature in {STATEMENT_NAME} does not hold"
    elif statement and content is not None and hashlib.sha256(content).hexdigest() != statement.content_sha256:
        yield f"the content ({CONTENT_NAME}) is not the one that was signed"
    elif content is not None and not _is_canonical(content):
        yield f"the content ({CONTENT_NAME}) is not written as a certificate is"


def _page_faults(pages: Sequence[str], statement: Statement) -> Iterator[str]:
    if len(pages) != len(statement.words):
        yield f"it had {len(statement.words)} pages when it was signed and has {len(pages)} now"
    for number, (page, words) in enumerate(zip(pages, statement.words, strict=False), 1):
        if (fault := _page_fault(page, words)) is not None:
            yield f"page {number} {fault}"


def _page_fault(page: str, words: Sequence[str]) -> str | None:
    """What differs first between the words on a page and those that were signed for it."""
    text, at, after_strange = _bare(page), 0, False
    for piece in words:
        if not _comparable(piece):
            after_strange = True
            continue
        bare = _bare(piece)
        start = text.find(bare, at) if after_strange else at
        if start < 0 or text[start : start + len(bare)] != bare:
            return f"was changed: where it now says something else, “{plain_text(piece)}” was signed"
        at, after_strange = start + len(bare), False
    if at < len(text) and not after_strange:
        return f"was changed: it says more than was signed (“{plain_text(text[at:])}”)"
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


def _says(content: bytes | None) -> dict[str, str]:
    """Number, unit, model, dates and result as the content gives them, made harmless for a terminal."""
    told = _body(content).get("certificate")
    if not isinstance(told, dict):
        return {}
    not_done = told.get("not_tested")
    told = told | {"not_done": len(not_done) if isinstance(not_done, list) else 0}
    shown = (
        "number",
        "tag",
        "model",
        "serial",
        "issued_at",
        "bench",
        "person",
        "passed",
        "borderline",
        "failed",
        "not_done",
    )
    return {name: plain_text(str(told[name])) for name in shown if isinstance(told.get(name), str | int)}
