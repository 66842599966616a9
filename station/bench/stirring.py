"""Whether a device that nobody described answers to the hand: a sign for the person, not a measurement.

Bits that change while nobody touches it (counters, checksums, noise, sensors) say nothing. Of the others one that goes
and comes back within two seconds does; once is not enough, since the upper bits of a time stamp change now and then.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from station.hid.types import ReportBlock

BACK_WITHIN_NS = 2_000_000_000
MOST_IDS = 8
NEVER_NS = -(1 << 62)


class Stirring:
    """`take` everything that comes, in order; `begin` at each new prompt."""

    def __init__(self) -> None:
        self.moved = False
        """something moved since `begin`"""
        self._at_rest = True
        self._firsts: set[int] = set()
        self._before: dict[int, NDArray[np.uint8]] = {}
        self._restless: dict[int, NDArray[np.bool_]] = {}
        self._flipped_ns: dict[int, NDArray[np.int64]] = {}

    def begin(self, at_rest: bool) -> None:
        """A new prompt. `at_rest`: no control is to be touched, so what changes now changes by itself."""
        self.moved = False
        self._at_rest = at_rest
        self._before.clear()
        self._flipped_ns.clear()

    def take(self, block: ReportBlock) -> None:
        """Reports that came."""
        if not len(block) or not block.raw.shape[1] or self.moved:
            return
        if self._at_rest:
            self._firsts.update(np.unique(block.raw[:, 0]).tolist())
        kinds = self._kinds(block)
        for kind in np.unique(kinds).tolist():
            mine = kinds == kind
            self._take_kind(kind, block.raw[mine], block.t_ns[mine])

    def _kinds(self, block: ReportBlock) -> NDArray[np.int64]:
        """What must not be compared with one another: reports of different sizes and, where they bear one, ids."""
        numbered = 2 <= len(self._firsts) <= MOST_IDS and 0 not in self._firsts
        first = block.raw[:, 0].astype(np.int64) if numbered else np.zeros(len(block), np.int64)
        return block.size.astype(np.int64) << 8 | first

    def _take_kind(self, kind: int, raw: NDArray[np.uint8], t_ns: NDArray[np.int64]) -> None:
        before = self._before.get(kind, raw[0])
        width = min(len(before), raw.shape[1])
        rows = np.vstack([before[:width], raw[:, :width]])
        self._before[kind] = raw[-1]
        flips = np.unpackbits(rows[1:] ^ rows[:-1], axis=1).astype(np.bool_)
        restless = _fitted(self._restless.get(kind), flips.shape[1], False)
        if self._at_rest:
            self._restless[kind] = restless | flips.any(axis=0)
            return
        flips &= ~restless
        last = _fitted(self._flipped_ns.get(kind), flips.shape[1], NEVER_NS)
        for row in np.flatnonzero(flips.any(axis=1)):
            if (t_ns[row] - last[flips[row]] <= BACK_WITHIN_NS).any():
                self.moved = True
                return
            last[flips[row]] = t_ns[row]
        self._flipped_ns[kind] = last


def _fitted(known: NDArray[np.generic] | None, width: int, empty: object) -> NDArray:  # type: ignore[type-arg]
    """`known` at this width; filled up with `empty`."""
    made = np.full(width, empty)
    if known is not None:
        made[: min(len(known), width)] = known[:width]
    return made
