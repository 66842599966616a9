"""Whether a device that nobody described answers to the hand: a sign for the person, not a measurement.

Bits that change while nobody touches it (counters, checksums, noise, sensors) say nothing. Of the others one that
leaves what it says at rest for a while and comes back does: shorter is noise, longer the upper end of a time stamp.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from station.hid.types import Layout, ReportBlock
from station.sheets.learn.captured import joined
from station.sheets.learn.streams import Kind, report_kinds

LEAST_AWAY_NS, MOST_AWAY_NS = 70_000_000, 2_000_000_000
MOST_ROWS = 4_000
"""of those that came at rest, looked at for what they say as a rule"""
NEVER_NS = -(1 << 62)
_S = TypeVar("_S", np.bool_, np.uint8, np.int64)


@dataclass(frozen=True, slots=True)
class _Rest:
    """What the reports of one kind say at rest: `usual` bool[signs], and which signs change by themselves."""

    usual: NDArray[np.bool_]
    restless: NDArray[np.bool_]


class Stirring:
    """`take` everything that comes, in order; `begin` at each new prompt."""

    def __init__(self, layout: Layout | None = None) -> None:
        self.moved = False
        """something moved since `begin`"""
        self._layout = layout
        self._at_rest = True
        self._resting: list[ReportBlock] = []
        self._report_kinds: tuple[Kind, ...] = (Kind(),)
        self._rest: dict[int, _Rest] = {}
        self._before: dict[int, NDArray[np.uint8]] = {}
        self._left_ns: dict[int, NDArray[np.int64]] = {}

    def begin(self, at_rest: bool) -> None:
        """A new prompt. `at_rest`: no control is to be touched, so what changes now changes by itself."""
        if not at_rest and self._resting:
            self._know_rest(joined(self._resting))
            self._resting = []
        self.moved, self._at_rest = False, at_rest
        self._before, self._left_ns = {}, {}

    def take(self, block: ReportBlock) -> None:
        """Reports that came."""
        if not len(block) or not block.raw.shape[1]:
            return
        if self._at_rest:
            self._resting.append(block)
            return
        kinds = self._kinds(block)
        for kind in np.unique(kinds).tolist() if not self.moved else ():
            mine = kinds == kind
            self._look(kind, block.raw[mine], block.t_ns[mine])

    def _know_rest(self, block: ReportBlock) -> None:
        self._report_kinds = report_kinds(block.raw, block.size.astype(np.int64), self._layout)
        kinds = self._kinds(block)
        for kind in np.unique(kinds).tolist():
            signs = _signs(block.raw[kinds == kind])
            restless = _bits(np.bitwise_or.reduce(signs[1:] ^ signs[:-1], axis=0))
            known = self._rest.get(kind)
            if known is not None:
                restless |= _fitted(known.restless, len(restless), np.False_)
            some = _bits(signs[:: -(-len(signs) // MOST_ROWS)])
            self._rest[kind] = _Rest(2 * some.sum(axis=0, dtype=np.int64) > len(some), restless)

    def _kinds(self, block: ReportBlock) -> NDArray[np.int64]:
        """What must not be compared with one another: reports of different sizes, and of different kinds."""
        kind = np.zeros(len(block), np.int64)
        for number, one in enumerate(self._report_kinds, 1):
            if len(one.begins) <= block.raw.shape[1]:
                kind[one.among(block.raw, block.size.astype(np.int64))] = number
        return block.size.astype(np.int64) << 8 | kind

    def _look(self, kind: int, raw: NDArray[np.uint8], t_ns: NDArray[np.int64]) -> None:
        before = _fitted(self._before.get(kind, raw[0]), raw.shape[1], np.uint8(0))
        self._before[kind] = raw[-1]
        signs = _bits(_signs(np.vstack([before, raw])))
        wide = signs.shape[1]
        rest = self._rest.get(kind) or _Rest(np.zeros(wide, np.bool_), np.zeros(wide, np.bool_))
        flips = (signs[1:] != signs[:-1]) & ~_fitted(rest.restless, wide, np.False_)
        away = signs[1:] != _fitted(rest.usual, wide, np.False_)
        left = _fitted(self._left_ns.get(kind, np.zeros(0, np.int64)), wide, np.int64(NEVER_NS))
        for row in np.flatnonzero(flips.any(axis=1)):
            gone_ns = t_ns[row] - left[flips[row] & ~away[row]]
            if ((gone_ns >= LEAST_AWAY_NS) & (gone_ns <= MOST_AWAY_NS)).any():
                self.moved = True
                return
            left[flips[row] & away[row]] = t_ns[row]
        self._left_ns[kind] = left


def _signs(raw: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """uint8[n, 2 width]: the bytes, and for each bit whether it differs from the one above it: an axis that rests where
    all its bits change at once (…0111, …1000) still has neighbours that differ always."""
    above = np.zeros_like(raw)
    above[:, :-1] = raw[:, 1:] << np.uint8(7)
    return np.hstack([raw, raw ^ (raw >> np.uint8(1) | above)])


def _bits(signs: NDArray[np.uint8]) -> NDArray[np.bool_]:
    return np.unpackbits(signs, axis=-1, bitorder="little").astype(np.bool_)


def _fitted(known: NDArray[_S], width: int, empty: _S) -> NDArray[_S]:
    """`known` at this width; filled up with `empty`."""
    made = np.full(width, empty, known.dtype)
    made[: min(len(known), width)] = known[:width]
    return made
