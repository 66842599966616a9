"""The seal of certificates that were signed before the file bore a PDF signature: read, no longer written.

It is the file's last line, a PDF comment after %%EOF, and signs the SHA-256 of every byte before it by Ed25519
(RFC 8032).
"""

from __future__ import annotations

import hashlib
import re

from station.certificate.signature import Seal, holds

_SEAL_MARK = b"%restpoint-seal "
_SEAL = re.compile(rb"%restpoint-seal 1 ([0-9a-f]{64}) ([0-9a-f]{128})\n")
_ANY_SEAL = re.compile(rb"%restpoint-seal (\d{1,6}) ")


def find_seal(data: bytes) -> Seal | None:
    """The last seal of a file, wherever it stands; None if there is none, or none that is whole."""
    start = data.rfind(_SEAL_MARK)
    found = _SEAL.match(data, start) if start >= 0 else None
    if found is None:
        return None
    public, signature = (bytes.fromhex(part.decode()) for part in found.groups())
    return Seal(public, holds(public, _sealed(data[:start]), signature), len(data) - found.end())


def is_newer(data: bytes) -> bool:
    """Whether the seal is of a version that came after this program's."""
    mark = _ANY_SEAL.match(data, max(data.rfind(_SEAL_MARK), 0))
    return mark is not None and int(mark.group(1)) > 1


def _sealed(body: bytes) -> bytes:
    """What a seal signs: a line of its own, so that it can stand for nothing else."""
    return f"restpoint-seal 1 sha256 {hashlib.sha256(body).hexdigest()}\n".encode()
