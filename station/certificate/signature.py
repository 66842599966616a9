"""What makes a certificate provable: the bench's key (ECDSA on P-256 with SHA-256, FIPS 186-5) and what it signs.

Two signatures by one key:

* The *statement* is attached beside the content: canonical JSON (RFC 8785) that names the content by its SHA-256 and
  holds the words of every page. It outlives a file that was saved again by another program, and tells what changed.
* The *seal* covers every byte of the file, so that nothing on the pages can be changed, covered or added without
  breaking it: a PDF signature (`pdf_signature`), in certificates of before a line at the end (`former_seal`).

Keys of before are Ed25519 (RFC 8032); what they signed stays genuine. A bench that had one signs its new key with it
(the *succession*), so that whoever knows the old key knows the new one.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature, encode_dss_signature

from station.records.canonical import canonical_json

CONTENT_NAME = "certificate.json"
STATEMENT_NAME = "signature.json"
FORMAT, VERSION = "restpoint-signature", 2
Words = tuple[tuple[str, ...], ...]
"""for each page the pieces of text on it, in the order in which they were drawn"""

_ALGORITHMS = {1: "Ed25519", 2: "ECDSA-P256-SHA256"}
"""by version of the statement"""
_COORDINATE_BYTES = 32
FORMER_BYTES = 32
"""a public key of Ed25519"""
_GROUP, _GROUPS = 4, 8


def fingerprint(public: bytes) -> str:
    """What a person compares: the first 128 bits of the SHA-256 of the raw public key, eight groups of four digits."""
    digits = hashlib.sha256(public).hexdigest()
    return " ".join(digits[i : i + _GROUP] for i in range(0, _GROUP * _GROUPS, _GROUP))


@dataclass(frozen=True, slots=True)
class Succession:
    """That a key stands in the place of a former one: said by the former one's signature (64 bytes, RFC 8032, 5.1.6).
    `former`: its 32 public bytes."""

    former: bytes
    signature: bytes


@dataclass(frozen=True, slots=True)
class BenchKey:
    """A bench's signing key, with the certificate (X.509, DER) that PDF readers show it by."""

    secret: ec.EllipticCurvePrivateKey
    certificate: bytes
    succession: Succession | None = None

    @property
    def public(self) -> bytes:
        """The point without compression, 65 bytes (SEC 1, 2.3.3)."""
        return raw_point(self.secret.public_key())

    @property
    def fingerprint(self) -> str:
        return fingerprint(self.public)

    def sign(self, message: bytes) -> bytes:
        """r and s of FIPS 186-5, 6.4, as 32 bytes each."""
        return raw_signature(self.secret.sign(message, ec.ECDSA(hashes.SHA256())))


def raw_point(key: ec.EllipticCurvePublicKey) -> bytes:
    """A public key as a point without compression (SEC 1, 2.3.3): 65 bytes on P-256. ValueError on another curve."""
    if not isinstance(key.curve, ec.SECP256R1):
        raise ValueError(key.curve.name)
    return key.public_bytes(serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint)


def raw_signature(der: bytes) -> bytes:
    """r and s of an ECDSA signature in DER (RFC 3279, 2.2.3) as 32 bytes each. ValueError or OverflowError if it is
    none of P-256."""
    return b"".join(part.to_bytes(_COORDINATE_BYTES, "big") for part in decode_dss_signature(der))


def holds(public: bytes, message: bytes, signature: bytes) -> bool:
    """Whether the key signed this message: ECDSA for the 65 bytes of a point, Ed25519 for the 32 of a former key."""
    try:
        if len(public) == FORMER_BYTES:
            Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
            return True
        if len(signature) != 2 * _COORDINATE_BYTES:
            return False
        r, s = (int.from_bytes(signature[at : at + _COORDINATE_BYTES], "big") for at in (0, _COORDINATE_BYTES))
        point = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), public)
        point.verify(encode_dss_signature(r, s), message, ec.ECDSA(hashes.SHA256()))
    except (InvalidSignature, ValueError):
        return False
    return True


def succeeds(former: Ed25519PrivateKey, public: bytes) -> Succession:
    """The former key says that `public` stands in its place."""
    old = former.public_key().public_bytes_raw()
    return Succession(old, former.sign(_succession(old, public)))


def _succession(old: bytes, new: bytes) -> bytes:
    """What a former key signs: a line of its own, so that it can stand for nothing else."""
    return f"restpoint-succession 1 {old.hex()} {new.hex()}\n".encode()


@dataclass(frozen=True, slots=True)
class Seal:
    """The signature over the whole file. `public`: whose (b"" where that cannot be read); `added` counts the bytes that
    stand after what it covers."""

    public: bytes
    holds: bool
    added: int


# --- the statement ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Statement:
    """What the attached signature says, and whether its key really signed that."""

    public: bytes
    content_sha256: str
    words: Words
    holds: bool
    former: bytes = b""
    """the public key in whose place this one stands, by that key's own word"""


def statement_json(key: BenchKey, content: bytes, words: Sequence[Sequence[str]]) -> bytes:
    """The attachment `signature.json`. Signed is the canonical JSON of everything in it but `signature`."""
    said: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "algorithm": _ALGORITHMS[VERSION],
        "public_key": key.public.hex(),
        "content": {"name": CONTENT_NAME, "sha256": hashlib.sha256(content).hexdigest()},
        "pages": [list(page) for page in words],
    }
    if key.succession:
        said["succeeds"] = {"public_key": key.succession.former.hex(), "signature": key.succession.signature.hex()}
    return canonical_json(said | {"signature": key.sign(canonical_json(said).encode()).hex()}).encode()


def read_statement(data: bytes) -> Statement | None:
    """The statement in an attachment; None where there is none that this version understands."""
    try:
        said = json.loads(data)
        signature = bytes.fromhex(said.pop("signature"))
        public = bytes.fromhex(said["public_key"])
        signed = canonical_json(said).encode()
        if said["format"] != FORMAT or said["algorithm"] != _ALGORITHMS[said["version"]]:
            return None
        words = tuple(tuple(str(piece) for piece in page) for page in said["pages"])
        sound = holds(public, signed, signature)
        return Statement(public, str(said["content"]["sha256"]), words, sound, _former(said, public))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def _former(said: Mapping[str, Any], public: bytes) -> bytes:
    """The former key that vouches for this one; b"" where there is none, or its word does not hold."""
    told = said.get("succeeds")
    if told is None:
        return b""
    former = bytes.fromhex(told["public_key"])
    signed = holds(former, _succession(former, public), bytes.fromhex(told["signature"]))
    return former if signed and len(former) == FORMER_BYTES else b""


def is_newer(statement: bytes) -> bool:
    """Whether the statement is of a version that came after this program's."""
    try:
        said = json.loads(statement)
        version = said["version"] if said["format"] == FORMAT else 0
    except (ValueError, TypeError, KeyError, RecursionError):
        return False
    return isinstance(version, int) and version > VERSION
