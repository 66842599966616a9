"""One consumer's place in a stream of reports, and what that consumer came too late for.

A source keeps a bounded past: a device's ring, the last pieces of a steady source, the store of a simulated unit. A
consumer that comes too late misses reports which were read, stamped and written as evidence, and which other consumers
had. That is its own affair: the `lost` of a source never holds it. It is told here, for every source alike, by the
numbers of the reports: a block that begins later than the cursor that asked for it.
"""

from __future__ import annotations

from station.hid.types import ReportBlock
from station.sources.port import PRESENT, Source
from station.sources.ring import MAX_CAPACITY

__all__ = ["A_RING", "Follower"]

A_RING = MAX_CAPACITY
"""reports; as far as a device's ring reaches back, at most"""


class Follower:
    """Follows a source from the first `take` on, and gives at most `look_back` reports from before that.

    For one thread. What came before the first `take` is never counted as missed.
    """

    def __init__(self, source: Source, look_back: int = 0) -> None:
        self._source = source
        self._look_back = look_back
        self._begin = 0
        self._cursor: int | None = None

    def take(self, limit: int = 65536) -> tuple[ReportBlock, int]:
        """What came since the last call, at most `limit` reports, and how many before it are gone unseen.

        Never waits. An empty block: that was all.
        """
        cursor = self._first() if self._cursor is None else self._cursor
        block, after = self._source.take(cursor, limit)
        missed = max(0, block.seq0 - max(cursor, self._begin))
        self._cursor = after
        return block, missed

    def _first(self) -> int:
        self._begin = self._source.take(PRESENT, 0)[1]
        return max(0, self._begin - self._look_back)
