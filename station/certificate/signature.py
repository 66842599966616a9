"""What makes a certificate provable: Ed25519 (RFC 8032) over its content, the words on its pages, and the whole file.

Two signatures by one key, pure functions of bytes:

* The *statement* is attached beside the content: canonical JSON (RFC 8785) that names the content by its SHA-256 and
  holds the words of every page. It outlives a file that was saved again by another program, and tells what changed.
* The *seal* is the file's last line, a PDF comment after %%EOF. It signs the SHA-256 of every byte before it, so that
  nothing on the pages can be changed, covered or added without breaking it.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from station.records.canonical import canonical_json

CONTENT_NAME = "certificate.json"
STATEMENT_NAME = "signature.json"
FORMAT, VERSION = "restpoint-signature", 1
Words = tuple[tuple[str, ...], ...]
"""for each page the pieces of text on it, in the order in which they were drawn"""

_SEAL_MARK = b"%restpoint-seal "
_SEAL = re.compile(rb"%restpoint-seal 1 ([0-9a-f]{64}) ([0-9a-f]{128})\n")
_ANY_SEAL = re.compile(rb"%restpoint-seal (\d{1,6}) ")
_GROUP, _GROUPS = 4, 8


def fingerprint(public: bytes) -> str:
    """What a person compares: the first 128 bits of the SHA-256 of the raw public key, eight groups of four digits."""
    digits = hashlib.sha256(public).hexdigest()
    return " ".join(digits[i : i + _GROUP] for i in range(0, _GROUP * _GROUPS, _GROUP))


@dataclass(frozen=True, slots=True)
class BenchKey:
    """A bench's signing key."""

    secret: Ed25519PrivateKey

    @property
    def public(self) -> bytes:
        """The 32 bytes of RFC 8032, section 5.1.5."""
        return self.secret.public_key().public_bytes_raw()

    @property
    def fingerprint(self) -> str:
        return fingerprint(self.public)

    def sign(self, message: bytes) -> bytes:
        """The 64 bytes of RFC 8032, section 5.1.6."""
        return self.secret.sign(message)


def holds(public: bytes, message: bytes, signature: bytes) -> bool:
    """Whether the key signed this message (RFC 8032, section 5.1.7)."""
    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
    except (InvalidSignature, ValueError):
        return False
    return True


# --- the statement ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Statement:
    """What the attached signature says, and whether its key really signed that."""

    public: bytes
    content_sha256: str
    words: Words
    holds: bool


def statement_json(key: BenchKey, content: bytes, words: Sequence[Sequence[str]]) -> bytes:
    """The attachment `signature.json`. Signed is the canonical JSON of everything in it but `signature`."""
    said = {
        "format": FORMAT,
        "version": VERSION,
        "algorithm": "Ed25519",
        "public_key": key.public.hex(),
        "content": {"name": CONTENT_NAME, "sha256": hashlib.sha256(content).hexdigest()},
        "pages": [list(page) for page in words],
    }
    return canonical_json(said | {"signature": key.sign(canonical_json(said).encode()).hex()}).encode()


def read_statement(data: bytes) -> Statement | None:
    """The statement in an attachment; None where there is none that this version understands."""
    try:
        said = json.loads(data)
        signature = bytes.fromhex(said.pop("signature"))
        public = bytes.fromhex(said["public_key"])
        signed = canonical_json(said).encode()
        if (said["format"], said["version"], said["algorithm"]) != (FORMAT, VERSION, "Ed25519"):
            return None
        words = tuple(tuple(str(piece) for piece in page) for page in said["pages"])
        return Statement(public, str(said["content"]["sha256"]), words, holds(public, signed, signature))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


# --- the seal ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Seal:
    """The seal found in a file. `added` counts the bytes that stand after it."""

    public: bytes
    holds: bool
    added: int


def seal(pdf: bytes, key: BenchKey) -> bytes:
    """The file with its seal as last line. ISO 32000-1, 7.2.3: a comment; annex H: %%EOF within the last 1024 bytes."""
    body = pdf if pdf.endswith(b"\n") else pdf + b"\n"
    return body + f"%restpoint-seal 1 {key.public.hex()} {key.sign(_sealed(body)).hex()}\n".encode()


def find_seal(data: bytes) -> Seal | None:
    """The last seal of a file, wherever it stands; None if there is none, or none that is whole."""
    start = data.rfind(_SEAL_MARK)
    found = _SEAL.match(data, start) if start >= 0 else None
    if found is None:
        return None
    public, signature = (bytes.fromhex(part.decode()) for part in found.groups())
    return Seal(public, holds(public, _sealed(data[:start]), signature), len(data) - found.end())


def is_newer(data: bytes, statement: bytes) -> bool:
    """Whether seal or statement are of a version that came after this program's."""
    mark = _ANY_SEAL.match(data, max(data.rfind(_SEAL_MARK), 0))
    try:
        said = json.loads(statement)
        version = said["version"] if said["format"] == FORMAT else 0
    except (ValueError, TypeError, KeyError, RecursionError):
        version = 0
    newer_statement = isinstance(version, int) and version > VERSION
    return newer_statement or (mark is not None and int(mark.group(1)) > 1)


def _sealed(body: bytes) -> bytes:
    """What a seal signs: a line of its own, so that it can stand for nothing else."""
    return f"restpoint-seal 1 sha256 {hashlib.sha256(body).hexdigest()}\n".encode()
