"""Reports that were computed, kept for readers with cursors of their own."""

from __future__ import annotations

import numpy as np

from station.hid.types import ReportBlock
from station.sources.simulated.wire import I64, U8

MOST_KEPT = 2_000_000
"""reports; about half an hour at 1 kHz. Who falls behind by more misses the oldest, as with a device's ring"""
_LEAST = 4096


class ReportStore:
    """Times and reports in arrays that grow by doubling, so that adding costs the same however many there are."""

    def __init__(self, width: int, most: int = MOST_KEPT) -> None:
        self._most = most
        self._t_ns: I64 = np.empty(_LEAST, np.int64)
        self._raw: U8 = np.empty((_LEAST, width), np.uint8)
        self._count = 0
        self._first_seq = 0

    @property
    def end(self) -> int:
        """The number that the next report gets."""
        return self._first_seq + self._count

    def add(self, t_ns: I64, raw: U8) -> None:
        """Append reports; their times must not be before those that are there."""
        if self._count + len(t_ns) > len(self._t_ns):
            self._make_room(len(t_ns))
        new = slice(self._count, self._count + len(t_ns))
        self._t_ns[new] = t_ns
        self._raw[new] = raw
        self._count += len(t_ns)

    def drop_after(self, at_ns: int) -> None:
        """Forget the reports later than that."""
        self._count = int(np.searchsorted(self._t_ns[: self._count], at_ns, side="right"))

    def read(self, cursor: int, until_ns: int, limit: int) -> tuple[ReportBlock, int]:
        """At most `limit` reports from `cursor` on that are no later than `until_ns`, and the next cursor."""
        seen = int(np.searchsorted(self._t_ns[: self._count], until_ns, side="right"))
        first = min(max(cursor - self._first_seq, 0), seen)
        stop = min(first + limit, seen)
        t_ns, raw = self._t_ns[first:stop], self._raw[first:stop]
        size = np.full(len(t_ns), raw.shape[1], np.uint16)
        for array in (t_ns, raw, size):
            array.flags.writeable = False
        begin = self._first_seq + first
        return ReportBlock(begin, t_ns, size, raw), begin + len(t_ns)

    def _make_room(self, wanted: int) -> None:
        """Move to larger arrays, leaving the oldest behind if there are too many; blocks read earlier stay valid."""
        drop = max(0, self._count + wanted - self._most)
        drop = min(self._count, max(drop, self._most // 4)) if drop else 0  # a quarter, so that it is done seldom
        needed = self._count - drop + wanted
        room = max(min(2 * needed, self._most), needed, _LEAST)
        kept = slice(drop, self._count)
        t_ns, raw = np.empty(room, np.int64), np.empty((room, self._raw.shape[1]), np.uint8)
        t_ns[: self._count - drop], raw[: self._count - drop] = self._t_ns[kept], self._raw[kept]
        self._t_ns, self._raw = t_ns, raw
        self._first_seq += drop
        self._count -= drop
