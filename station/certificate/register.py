"""The signed list of a shop's certificates: which number is genuine, withdrawn or replaced. Pure.

One file of canonical JSON (RFC 8785), signed by the bench's key as the statement of a certificate is: signed is
everything in it but `signature`. It names certificates by the hash of their content, so that a number alone proves
nothing. A list says what held when it was made; only a later one says more.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from station.certificate.signature import BenchKey, holds
from station.errors import InputError
from station.judgement.issued import Listed, State
from station.records.canonical import canonical_json
from station.records.clock import day_of
from station.words import register as words

FORMAT, VERSION = "restpoint-certificate-list", 1
MOST_BYTES = 16_000_000
_ALGORITHM = "ECDSA-P256-SHA256"
_OF_A_BENCH = re.compile(r"(?:^|-)([0-9A-F]{6})-\d{5,}$", re.ASCII)
_STATES: tuple[State, ...] = ("genuine", "replaced", "withdrawn")


@dataclass(frozen=True, slots=True)
class Entry:
    """One certificate of a list; `tag` of its unit."""

    number: str
    tag: str
    at: str
    content_sha256: str
    file_sha256: str
    fingerprint: str
    state: State
    replaced_by: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Register:
    """A list that was read: who signed it, whether the signature holds, and what it says."""

    public: bytes
    shop: str
    at: str
    holds: bool
    entries: tuple[Entry, ...]

    def of(self, content_sha256: str) -> Entry | None:
        """The entry of the certificate with this content."""
        return next((one for one in self.entries if one.content_sha256 == content_sha256), None)


def entry_of(listed: Listed, tag: str) -> Entry:
    """A certificate as the list names it."""
    one = listed.issued
    return Entry(
        one.name,
        tag,
        one.at,
        one.content_sha256,
        one.file_sha256,
        one.fingerprint,
        listed.state,
        listed.replaced_by,
        listed.reason,
    )


def register_json(key: BenchKey, shop: str, at: str, entries: Sequence[Entry]) -> bytes:
    """The list as a file, signed."""
    said: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "algorithm": _ALGORITHM,
        "public_key": key.public.hex(),
        "shop": shop,
        "at": at,
        "certificates": [{name: getattr(one, name) for name in Entry.__slots__} for one in entries],
    }
    return canonical_json(said | {"signature": key.sign(canonical_json(said).encode()).hex()}).encode()


def bench_in(number: str) -> str:
    """The digits of the bench in a certificate's number; "" in one of before benches counted."""
    found = _OF_A_BENCH.search(number)
    return found.group(1) if found else ""


def is_register(data: bytes) -> bool:
    """Whether a file looks like a list, by its beginning: canonical JSON has its names in order."""
    return data.startswith(b'{"algorithm":') and b'"format":"' + FORMAT.encode() + b'"' in data


def read_register(data: bytes) -> Register:
    """The list in a file. InputError where there is none that this version understands."""
    try:
        said = json.loads(data)
        if said["format"] != FORMAT:
            raise KeyError("format")
        if said["version"] != VERSION:
            raise InputError(words.NEWER)
        signature, public = bytes.fromhex(said.pop("signature")), bytes.fromhex(said["public_key"])
        day_of(said["at"])  # it is printed
        entries = tuple(_entry(one) for one in said["certificates"])
        signed = canonical_json(said).encode()
        whole = canonical_json(said | {"signature": signature.hex()}).encode() == data
        sound = whole and said["algorithm"] == _ALGORITHM and holds(public, signed, signature)
        return Register(public, str(said["shop"]), str(said["at"]), sound, entries)
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise InputError(words.NO_LIST) from error


def _entry(told: dict[str, Any]) -> Entry:
    if told.keys() != set(Entry.__slots__) or not all(isinstance(value, str) for value in told.values()):
        raise KeyError("certificates")
    if told["state"] not in _STATES:
        raise KeyError("state")
    return Entry(**told)
