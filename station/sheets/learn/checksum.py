"""Checksums: bits that follow from all the others.

Sums are tried directly. XOR and every CRC are affine over GF(2), whatever their polynomial, start and reflection, so
they need not be guessed: elimination over the reports' bits shows which bits are the XOR of several others. Of a set
of bits that depend on one another the last ones of the report are taken, where checksums stand (common practice, no
source). A dependence counts only with far more different reports than unknowns.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from station.sheets.learn.streams import Stream
from station.sheets.learn.types import Ignored

MOST_ROWS = 1200
SPARE_ROWS = 32
"""different reports needed beyond the number of independent bits: 2⁻³² is the chance that a stray bit passes"""
LEAST_SOURCES = 2
"""bits that a bit of a sum follows from; one that follows from a single other bit may be the copy of a control"""


def find_checksums(stream: Stream) -> list[tuple[Ignored, list[int]]]:
    """Checksum bytes of a stream, each with its bits."""
    rows = _different_rows(stream)
    found = [_summed(stream, byte) for byte in _sum_bytes(stream, rows)]
    return found or _affine(stream, rows)


def _different_rows(stream: Stream) -> np.ndarray[tuple[int, int], np.dtype[np.uint8]]:
    """At most `MOST_ROWS` different reports, spread over the walk."""
    _, first = np.unique(stream.raw, axis=0, return_index=True) if len(stream) <= 20_000 else (None, None)
    at = np.sort(first) if first is not None else np.arange(len(stream))
    chosen = np.linspace(0, len(at) - 1, min(MOST_ROWS, len(at))).astype(int)
    picked: np.ndarray[tuple[int, int], np.dtype[np.uint8]] = stream.raw[at[chosen]]
    return picked


def _summed(stream: Stream, byte: int) -> tuple[Ignored, list[int]]:
    return Ignored("checksum", stream.report, 8 * byte, 8), list(range(8 * byte, 8 * byte + 8))


def _sum_bytes(stream: Stream, rows: np.ndarray[tuple[int, int], np.dtype[np.uint8]]) -> list[int]:
    """Bytes that are ± the sum of others (all, or all before from the first, second or third on) + a constant."""
    value = rows.astype(np.int64)
    varying = np.flatnonzero((rows != rows[:1]).any(axis=0))
    total = value.sum(axis=1)
    before = np.concatenate([np.zeros((len(rows), 1), np.int64), np.cumsum(value, axis=1)], axis=1)
    for byte in varying[::-1].tolist():
        sums = [total - value[:, byte]] + [before[:, byte] - before[:, start] for start in (0, 1, 2) if start < byte]
        others = len(varying) - 1
        for number, of in enumerate(sums):
            enough = others if number == 0 else int((varying < byte).sum())
            if enough >= 2 and len(np.unique(of % 256)) > 8:
                for sign in (1, -1):
                    rest = (value[:, byte] - sign * of) % 256
                    if (rest == rest[0]).all():
                        return [byte]
    return []


def _affine(stream: Stream, rows: np.ndarray[tuple[int, int], np.dtype[np.uint8]]) -> list[tuple[Ignored, list[int]]]:
    """Bytes all of whose varying bits are the XOR of several earlier bits (or, failing that, of several later ones)."""
    bits = np.unpackbits(rows ^ rows[:1], axis=1, bitorder="little")
    varying = [b for b in np.flatnonzero(bits.any(axis=0)).tolist() if b >= stream.first]
    columns = {b: int.from_bytes(np.packbits(bits[:, b]).tobytes(), "big") for b in varying}
    for order in (varying, varying[::-1]):
        sources, rank = _dependent(columns, order)
        if len(rows) < rank + SPARE_ROWS:
            return []
        whole = [byte for byte in sorted({b // 8 for b in sources}) if _all_of(byte, sources, columns)]
        if whole:
            return [_summed(stream, byte) for byte in whole]
    return []


def _all_of(byte: int, sources: Mapping[int, int], columns: Mapping[int, int]) -> bool:
    """Whether all bits of a byte follow from others, at least half of them from several, and say different things: the
    sign of a number, repeated above it, follows from one bit."""
    mine = [b for b in columns if b // 8 == byte]
    several = sum(sources.get(b, 0) >= LEAST_SOURCES for b in mine)
    return len({columns[b] for b in mine}) >= 4 and all(b in sources for b in mine) and 2 * several >= len(mine)


def _dependent(columns: Mapping[int, int], order: list[int]) -> tuple[dict[int, int], int]:
    """Bits that are the XOR of bits earlier in `order` → of how many; and the rank of all.

    Elimination on columns as long integers: `basis` maps a leading report to (column, mask of the bits it is made of).
    """
    basis: dict[int, tuple[int, int]] = {}
    sources: dict[int, int] = {}
    for place, bit in enumerate(order):
        column, made_of = columns[bit], 1 << place
        while column:
            lead = column.bit_length()
            if lead not in basis:
                basis[lead] = column, made_of
                break
            column ^= basis[lead][0]
            made_of ^= basis[lead][1]
        if not column:
            sources[bit] = made_of.bit_count() - 1
    return sources, len(basis)
