"""The reading side of the shared-memory ring: any number of readers, each with its own cursor.

A reader never stops the writer. It copies first and looks afterwards how far the writer has come: rows
that may have been overwritten meanwhile are left out: the block begins later then.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from station.hid.types import ReportBlock
from station.sources.ring import PAGE, W_CAPACITY, W_LOST, W_SEQ, W_WIDTH, fence, map_ring


class RingView:
    """Read access to the ring in `path`. Copies only; what it returned stays valid."""

    def __init__(self, path: str) -> None:
        self._memory = map_ring(path)
        self._words = np.frombuffer(self._memory, np.uint64, PAGE // 8)
        self.capacity, self.width = self.word(W_CAPACITY), self.word(W_WIDTH)
        n, sizes = self.capacity, PAGE + 8 * self.capacity
        self._t = np.frombuffer(self._memory, np.int64, n, PAGE)
        self._size = np.frombuffer(self._memory, np.uint16, n, sizes)
        self._raw = np.frombuffer(self._memory, np.uint8, n * self.width, sizes + 2 * n).reshape(n, self.width)

    def word(self, word: int) -> int:
        """One of the counters of the first page."""
        return int(self._words[word])

    def written(self) -> int:
        """Reports published so far."""
        return self.word(W_SEQ)

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        """Reports from `cursor` on (at most `limit`) and the next cursor.

        Between `cursor` and the block's `seq0` lies what was overwritten unseen; `lost` does not hold it.
        """
        head = self.written()
        fence()
        first = min(max(cursor, self._oldest(head)), head)
        end = min(first + max(limit, 0), head)
        rows = np.arange(first, end) % self.capacity
        block = ReportBlock(first, self._t[rows], self._size[rows], self._raw[rows], self.word(W_LOST))
        fence()
        unsure = min(self._oldest(self.written()) - first, end - first)
        if unsure > 0:
            block = _without(block, unsure)
        return block, end

    def _oldest(self, head: int) -> int:
        """The oldest report that the writer is not about to overwrite (it may be filling the next slot)."""
        return max(0, head - self.capacity + 1)


def _without(block: ReportBlock, n: int) -> ReportBlock:
    """The block without its first `n` reports."""
    raw: NDArray[np.uint8] = block.raw[n:]
    return replace(block, seq0=block.seq0 + n, t_ns=block.t_ns[n:], size=block.size[n:], raw=raw)
