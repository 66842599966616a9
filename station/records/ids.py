"""Identifiers: UUID version 7 as text (RFC 9562, section 5.7). Python 3.11 has none of its own."""

from __future__ import annotations

import secrets
import threading
from uuid import UUID

_MASK_74 = (1 << 74) - 1


def uuid7_from(unix_ms: int, random_bits: int) -> str:
    """UUIDv7 of a time in milliseconds since 1970 and 74 random bits (rand_a 12, rand_b 62).

    Layout, RFC 9562 section 5.7: unix_ts_ms 48 | version 0111 | rand_a 12 | variant 10 | rand_b 62.
    """
    bits = random_bits & _MASK_74
    rand_a, rand_b = bits >> 62, bits & ((1 << 62) - 1)
    value = (unix_ms & ((1 << 48) - 1)) << 80 | 0x7 << 76 | rand_a << 64 | 0b10 << 62 | rand_b
    return str(UUID(int=value))


def unix_ms_of(uuid: str) -> int:
    """Milliseconds since 1970 in a UUIDv7."""
    return UUID(uuid).int >> 80


class IdMaker:
    """Makes UUIDv7 that grow within one millisecond (RFC 9562 section 6.2, method 2: random part plus a random step).

    A clock set back makes later ids smaller again; they stay unique by their 74 random bits. Nothing sorts by them.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._last_ms = -1
        self._bits = 0

    def new(self, unix_ms: int) -> str:
        """A new id for this moment."""
        with self._lock:
            stepped = self._bits + 1 + secrets.randbits(32)
            if unix_ms == self._last_ms and stepped <= _MASK_74:
                self._bits = stepped
            else:
                self._bits = secrets.randbits(74)
            self._last_ms = unix_ms
            return uuid7_from(unix_ms, self._bits)
