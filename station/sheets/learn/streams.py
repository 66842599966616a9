"""Reports sorted into streams, one for each report id, with their bits ready to be looked at.

Whether reports begin with an id is taken from the reports: ids are never 0, each has its own size or its own content.
What matters is only whether the first byte tells reports apart that must not be read with the same fields.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from station.hid.types import Layout
from station.sheets.learn.types import Observed
from station.sheets.signals import I64

U8 = NDArray[np.uint8]
MOST_IDS = 8
THIN_NS = 900_000
"""rows closer than this are thinned out: a hand does nothing within a millisecond, and 8 kHz would only cost memory"""
MOST_HELD_NS = 2_000_000_000


def below(bit: int, big: bool) -> int:
    """The next less significant bit of a field: the one before, or with big-endian bytes bit 7 of the byte after."""
    return bit + 15 if big and bit % 8 == 0 else bit - 1


def above(bit: int, big: bool) -> int:
    """The next more significant bit; the inverse of `below`."""
    return bit - 15 if big and bit % 8 == 7 else bit + 1


@dataclass(frozen=True, slots=True, eq=False)
class Stream:
    """All reports of one id over the walk (`report` 0: they carry none).

    `t_ns` int64[n]; `raw` uint8[n, width]; `step` int16[n], the number of the step that each came in; `held_ns`
    int64[n], how long each was the last one. Bits count from the first byte, as in sheets.
    """

    report: int
    t_ns: I64
    raw: U8
    step: NDArray[np.int16]
    held_ns: I64
    _rows: dict[int, U8] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.t_ns)

    @property
    def first(self) -> int:
        """The first bit that can belong to a control."""
        return 8 if self.report else 0

    @property
    def width(self) -> int:
        """Bits in a report."""
        return 8 * int(self.raw.shape[1])

    def bit(self, bit: int) -> U8:
        """That bit in every report, uint8[n] of 0 and 1."""
        if bit not in self._rows:
            self._rows[bit] = self.raw[:, bit // 8] >> np.uint8(bit % 8) & np.uint8(1)
        return self._rows[bit]

    def varying(self) -> list[int]:
        """The bits that ever change, ascending."""
        if not len(self):
            return []
        either = np.bitwise_or.reduce(self.raw, axis=0) & ~np.bitwise_and.reduce(self.raw, axis=0)
        return [b for b in np.flatnonzero(np.unpackbits(either, bitorder="little")).tolist() if b >= self.first]

    def number(self, bits: Sequence[int], rows: slice | I64 | NDArray[np.bool_] = slice(None)) -> I64:
        """The unsigned number that `bits` (most significant first) form in `rows`."""
        value = np.zeros(len(self.t_ns[rows]), np.int64)
        for bit in bits:
            value <<= 1
            value |= self.bit(bit)[rows]
        return value

    def inside(self, bit: int) -> bool:
        """True if a control's bit can stand there."""
        return self.first <= bit < self.width

    def runs(self, step: int) -> slice:
        """The rows of one step."""
        return slice(int(np.searchsorted(self.step, step)), int(np.searchsorted(self.step, step, "right")))


def signed_number(value: I64, bits: int) -> I64:
    """Two's complement of `bits` bits."""
    sign = 1 << (bits - 1)
    return (value ^ sign) - sign


def streams(steps: Sequence[Observed], layout: Layout | None) -> tuple[Stream, ...]:
    """The streams of the walk, in order of report id; none where nothing came. `steps` must be in order of time."""
    width = max((s.block.raw.shape[1] for s in steps), default=0)
    kept = [s for s in steps if len(s.block)]
    if not kept or not width:
        return ()
    raw = np.concatenate([np.pad(s.block.raw, ((0, 0), (0, width - s.block.raw.shape[1]))) for s in kept])
    size = np.concatenate([s.block.size for s in kept]).astype(np.int64)
    t_ns = np.concatenate([s.block.t_ns for s in kept])
    number = np.concatenate([np.full(len(s.block), i, np.int16) for i, s in enumerate(steps)])
    ids = report_ids(raw, size, layout)
    return tuple(_stream(i, *rows) for i, rows in _split(ids, raw, size, t_ns, number))


def _split(
    ids: Sequence[int], raw: U8, size: I64, t_ns: I64, step: NDArray[np.int16]
) -> Iterator[tuple[int, tuple[U8, I64, NDArray[np.int16]]]]:
    for i in ids:
        mine = raw[:, 0] == i if i else np.ones(len(raw), bool)
        sizes, counts = np.unique(size[mine], return_counts=True)
        usual = int(sizes[counts.argmax()])  # shorter and longer ones are slips of the link, not what controls say
        mine &= size >= usual
        if usual:
            yield i, (raw[mine][:, :usual], t_ns[mine], step[mine])


def _stream(report: int, raw: U8, t_ns: I64, step: NDArray[np.int16]) -> Stream:
    keep = _thinned(t_ns)
    raw, t_ns, step = raw[keep], t_ns[keep], step[keep]
    held = np.minimum(np.diff(t_ns, append=t_ns[-1:]), MOST_HELD_NS)
    return Stream(report, t_ns, np.asfortranarray(raw), step, held)


def _thinned(t_ns: I64) -> NDArray[np.bool_]:
    """One report a millisecond at most, the first of each."""
    if len(t_ns) < 2 or float(np.median(np.diff(t_ns))) >= THIN_NS:
        return np.ones(len(t_ns), bool)
    slot = t_ns // 1_000_000
    keep = np.ones(len(t_ns), bool)
    keep[1:] = slot[1:] != slot[:-1]
    return keep


def report_ids(raw: U8, size: I64, layout: Layout | None = None) -> tuple[int, ...]:
    """The report ids; (0,) where reports carry none."""
    first = raw[:, 0]
    values, counts = np.unique(first, return_counts=True)
    if 0 in values or len(values) > MOST_IDS:
        return (0,)
    if layout is not None and len(layout.reports):
        declared = {r.report_id for r in layout.reports if r.kind == "input"}
        if layout.numbered and set(values.tolist()) <= declared:
            return tuple(values.tolist())
        if not layout.numbered and len(values) == 1:
            return (0,)
    if len(values) == 1:
        return (int(values[0]),)
    by_id = [size[first == v] for v in values]
    fixed = all(len(np.unique(s)) == 1 for s in by_id)
    if fixed and len({int(s[0]) for s in by_id}) == len(values):
        return tuple(values.tolist())
    return tuple(values.tolist()) if _tells_apart(raw, counts) else (0,)


def _tells_apart(raw: U8, counts: NDArray[np.intp]) -> bool:
    """Whether a report is more like the one before with the same first byte than like the one just before it."""
    first = raw[:, 0]
    at = np.flatnonzero(first[1:] != first[:-1]) + 1
    if len(at) < 4 or counts.min() < 2:
        return False
    before = np.full(len(first), -1)
    for value in np.unique(first):
        mine = np.flatnonzero(first == value)
        before[mine[1:]] = mine[:-1]
    at = at[before[at] >= 0][:4000]
    ones = np.bitwise_count
    same = ones(raw[at, 1:] ^ raw[before[at], 1:]).sum(axis=1)
    other = ones(raw[at, 1:] ^ raw[at - 1, 1:]).sum(axis=1)
    return len(at) >= 3 and float(same.mean()) < 0.6 * float(other.mean())
