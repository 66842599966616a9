"""Reports sorted into streams, one for each kind of report, with their bits ready to be looked at.

Whether reports begin with an id is taken from the reports: ids are never 0, each has its own size or its own content.
What matters is only whether the first byte tells reports apart that must not be read with the same fields. A device
that no HID driver presents has types in the place of ids, which may be 0 and go on in the bytes that follow; or nothing
but their length tells its reports apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from station.hid.types import Layout
from station.sheets.learn.types import Observed
from station.sheets.model import ExplicitField
from station.sheets.signals import I64

U8 = NDArray[np.uint8]
MOST_IDS = 8
MOST_HEAD = 3
"""bytes at the beginning of a report that may tell its kind"""
LEAST_OF_A_KIND = 20
"""reports of a kind that can be judged"""
MOST_IN_A_ROW = 2.5
BITS_OF_A_KIND = 6
STILL, BUSY = 0.05, 0.25
"""share of the reports at which a bit changes that stands, and one that goes on"""
SAME_SIZE = 0.98
THIN_NS = 900_000
"""rows closer than this are thinned out: a hand does nothing within a millisecond, and 8 kHz would only cost memory"""
MOST_HELD_NS = 2_000_000_000


def below(bit: int, big: bool) -> int:
    """The next less significant bit of a field: the one before, or with big-endian bytes bit 7 of the byte after."""
    return bit + 15 if big and bit % 8 == 0 else bit - 1


def above(bit: int, big: bool) -> int:
    """The next more significant bit; the inverse of `below`."""
    return bit - 15 if big and bit % 8 == 7 else bit + 1


class Kind(NamedTuple):
    """What tells reports from those that must not be read with the same fields: how they begin, how long they are (0:
    that tells nothing)."""

    begins: bytes = b""
    length: int = 0

    def among(self, raw: U8, size: I64) -> NDArray[np.bool_]:
        """The rows of this kind."""
        mine = begin_with(raw, self.begins)
        return mine & (size == self.length) if self.length else mine


@dataclass(frozen=True, slots=True, eq=False)
class Stream:
    """All reports of one kind over the walk: of one id (`report` 0: they carry none), that begin with `begins`, of
    `length` bytes (0: of any length).

    `t_ns` int64[n]; `raw` uint8[n, width]; `step` int16[n], the number of the step that each came in; `held_ns`
    int64[n], how long each was the last one. Bits count from the first byte, as in sheets.
    """

    report: int
    t_ns: I64
    raw: U8
    step: NDArray[np.int16]
    held_ns: I64
    begins: bytes = b""
    length: int = 0
    _rows: dict[int, U8] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.t_ns)

    @property
    def first(self) -> int:
        """The first bit that can belong to a control."""
        return 8 * len(self.kind.begins)

    @property
    def kind(self) -> Kind:
        """What tells its reports from others."""
        return Kind(self.begins or (bytes((self.report,)) if self.report else b""), self.length)

    def field(
        self, bit: int, bits: int, signed: bool = False, low: int = 0, high: int = 1, big: bool = False
    ) -> ExplicitField:
        """A field of its reports, as a sheet says it."""
        return ExplicitField(self.report, bit, bits, signed, low, high, big, self.begins, self.length)

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
    """The streams of the walk, in order of kind; none where nothing came. `steps` must be in order of time."""
    width = max((s.block.raw.shape[1] for s in steps), default=0)
    kept = [s for s in steps if len(s.block)]
    if not kept or not width:
        return ()
    raw = np.concatenate([np.pad(s.block.raw, ((0, 0), (0, width - s.block.raw.shape[1]))) for s in kept])
    size = np.concatenate([s.block.size for s in kept]).astype(np.int64)
    t_ns = np.concatenate([s.block.t_ns for s in kept])
    number = np.concatenate([np.full(len(s.block), i, np.int16) for i, s in enumerate(steps)])
    kinds = report_kinds(raw, size, layout)
    return tuple(_stream(kind, *rows) for kind, rows in _split(kinds, raw, size, t_ns, number))


def _split(
    kinds: Sequence[Kind], raw: U8, size: I64, t_ns: I64, step: NDArray[np.int16]
) -> Iterator[tuple[Kind, tuple[U8, I64, NDArray[np.int16]]]]:
    for kind in kinds:
        mine = kind.among(raw, size)
        sizes, counts = np.unique(size[mine], return_counts=True)
        usual = int(sizes[counts.argmax()])  # shorter and longer ones are slips of the link, not what controls say
        mine &= size >= usual
        if usual:
            yield kind, (raw[mine][:, :usual], t_ns[mine], step[mine])


def begin_with(raw: U8, kind: bytes) -> NDArray[np.bool_]:
    """The rows that begin so."""
    return np.asarray((raw[:, : len(kind)] == np.frombuffer(kind, np.uint8)).all(axis=1))


def _stream(kind: Kind, raw: U8, t_ns: I64, step: NDArray[np.int16]) -> Stream:
    keep = _thinned(t_ns)
    raw, t_ns, step = raw[keep], t_ns[keep], step[keep]
    held = np.minimum(np.diff(t_ns, append=t_ns[-1:]), MOST_HELD_NS)
    begins, length = kind
    is_id = len(begins) == 1 and begins != b"\0"
    report, begins = (begins[0], b"") if is_id else (0, begins)
    return Stream(report, t_ns, np.asfortranarray(raw), step, held, begins, length)


def _thinned(t_ns: I64) -> NDArray[np.bool_]:
    """One report a millisecond at most, the first of each."""
    if len(t_ns) < 2 or float(np.median(np.diff(t_ns))) >= THIN_NS:
        return np.ones(len(t_ns), bool)
    slot = t_ns // 1_000_000
    keep = np.ones(len(t_ns), bool)
    keep[1:] = slot[1:] != slot[:-1]
    return keep


def report_kinds(raw: U8, size: I64, layout: Layout | None = None) -> tuple[Kind, ...]:
    """The kinds of reports, told by their id, by the bytes of a type or by their length; one of anything where all are
    alike."""
    if layout is not None and len(layout.reports):
        return tuple(Kind(head) for head in _ids(raw, size, layout))
    if not _lengths(raw, size):
        return tuple(Kind(head) for head in _beginnings(raw, size))
    return tuple(_by_length(raw, size))


def _ids(raw: U8, size: I64, layout: Layout | None = None) -> tuple[bytes, ...]:
    ids = report_ids(raw, size, layout)
    return tuple(bytes((i,)) for i in ids) if ids != (0,) else (b"",)


def _beginnings(raw: U8, size: I64) -> Iterator[bytes]:
    """The beginnings that tell reports of one length apart; one that is empty where nothing does."""
    for head in _ids(raw, size):
        mine = begin_with(raw, head)
        yield from tuple(_heads(raw[mine], size[mine], head)) or (head,)


def _by_length(raw: U8, size: I64) -> Iterator[Kind]:
    """Kinds of reports of several lengths: by a type as far as there is one, else by the length and then by a type."""
    for head in tuple(_heads(raw, size, b"")) or (b"",):
        mine = begin_with(raw, head)
        lengths = _lengths(raw[mine], size[mine])
        if not lengths:
            yield Kind(head)
        for length in lengths:
            of_it = raw[mine & (size == length)], size[mine & (size == length)]
            further = tuple(_heads(*of_it, head)) if head else tuple(_beginnings(*of_it))
            yield from (Kind(one, length) for one in further or (head,))


def _lengths(raw: U8, size: I64) -> tuple[int, ...]:
    """The lengths that tell reports apart, the usual one first; none where another length is a slip of the link, which
    bears what the others bear."""
    sizes, counts = np.unique(size, return_counts=True)
    many = sizes[counts >= LEAST_OF_A_KIND].tolist()
    if not 1 < len(many) <= MOST_IDS:
        return ()
    usual = int(sizes[counts.argmax()])
    others = []
    for other in many:
        bits = np.unpackbits(raw[:, : min(usual, other)], axis=1, bitorder="little")
        if other != usual and _otherwise(bits, size, usual, other) >= BITS_OF_A_KIND:
            others.append(other)
    return (usual, *others) if others else ()


def _heads(raw: U8, size: I64, before: bytes) -> Iterator[bytes]:
    """The beginnings that tell reports apart which begin with `before`; none where nothing does."""
    at = len(before)
    if at >= min(MOST_HEAD, raw.shape[1]):
        return
    values = np.unique(raw[:, at])
    if len(values) > MOST_IDS or (len(values) > 1 and not _is_type(raw, size, at)):
        return
    for value in values.tolist():
        mine = raw[:, at] == value
        head = before + bytes((value,))
        further = tuple(_heads(raw[mine], size[mine], head))
        yield from further or ((head,) if len(values) > 1 else ())


def _is_type(raw: U8, size: I64, at: int) -> bool:
    """Whether the byte at `at` says the kind of a report, where nobody said so: of reports of one size those with
    another value come in between, one or two at a time; and they have another size, or bits that go on by themselves or
    stand otherwise.

    A button is held for longer, and nothing else in the report takes part in it; a counter's values bear the same.
    """
    head = raw[:, at]
    values, counts = np.unique(head, return_counts=True)
    if any(_are_held(head[size == one]) for one in np.unique(size)):
        return False
    if _sized(size, head, values, counts):
        return True
    usual = values[counts.argmax()]
    seldom = [v for v, count in zip(values, counts, strict=True) if v != usual and count >= LEAST_OF_A_KIND]
    bits = np.unpackbits(raw[:, at + 1 :], axis=1, bitorder="little")
    return bool(seldom) and all(_otherwise(bits, head, usual, v) >= BITS_OF_A_KIND for v in seldom)


def _are_held(head: U8) -> bool:
    """Whether a value that is not the usual one stays for a while."""
    values, counts = np.unique(head, return_counts=True)
    begins = np.concatenate([[0], np.flatnonzero(head[1:] != head[:-1]) + 1])
    lengths = np.diff(np.append(begins, len(head)))
    seldom = [v for v in values[counts >= LEAST_OF_A_KIND] if v != values[counts.argmax()]]
    return any(lengths[head[begins] == v].mean() > MOST_IN_A_ROW for v in seldom)


def _sized(size: I64, head: U8, values: U8, counts: NDArray[np.intp]) -> bool:
    """Whether the size follows from the value, and is not the same for all."""
    found = set()
    for value, count in zip(values, counts, strict=True):
        sizes, of_size = np.unique(size[head == value], return_counts=True)
        if of_size.max() < SAME_SIZE * count:
            return False
        found.add(int(sizes[of_size.argmax()]))
    return len(found) > 1


def _otherwise(bits: U8, head: U8 | I64, one: np.uint8 | int, other: np.uint8 | int) -> int:
    """How many bits go on from report to report with the head `one` and stand with `other`, or stand otherwise."""
    moves, mean = [], []
    for value in (one, other):
        mine = bits[head == value]
        moves.append((mine[1:] != mine[:-1]).mean(axis=0))
        mean.append(mine.mean(axis=0))
    still = np.maximum(*moves) <= STILL
    differ = still & (np.abs(mean[0] - mean[1]) >= 1 - 2 * STILL)
    busy = (np.minimum(*moves) <= STILL) & (np.maximum(*moves) >= BUSY)
    return int((differ | busy).sum())


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
    return tuple(values.tolist()) if _differ(raw, size, values, counts) else (0,)


def _differ(raw: U8, size: I64, values: U8, counts: NDArray[np.intp]) -> bool:
    """Whether reports with another first byte are of another kind: each has its own size, or its own content."""
    by_id = [size[raw[:, 0] == v] for v in values]
    fixed = all(len(np.unique(s)) == 1 for s in by_id)
    return (fixed and len({int(s[0]) for s in by_id}) == len(values)) or _tells_apart(raw, counts)


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
