"""The evidence of one running try: reports, beats and marks, from which a take and a capture are made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from station.bench.growth import Growing, SignalLog
from station.bench.types import Step
from station.capture.file import Capture, CaptureMeta, Mark
from station.capture.types import MarkEvent
from station.checks.takes import take_between
from station.checks.types import Take
from station.hid.types import ReportBlock
from station.sheets.bind import Binding
from station.sheets.model import Control, Sheet
from station.sources.port import DeviceInfo

MOST_NS = 15 * 60 * 1_000_000_000
MOST_REPORTS = 1_000_000
"""A try longer than this has been forgotten by its person; the caps bound memory (some 100 bytes a report)."""
_FRESH_BLOCKS = 64


def join_blocks(blocks: Sequence[ReportBlock]) -> ReportBlock:
    """Blocks in order as one, padded to the widest."""
    if not blocks:
        return ReportBlock(0, np.zeros(0, np.int64), np.zeros(0, np.uint16), np.zeros((0, 0), np.uint8))
    width = max(block.raw.shape[1] for block in blocks)
    raws = [np.pad(b.raw, ((0, 0), (0, width - b.raw.shape[1]))) if b.raw.shape[1] < width else b.raw for b in blocks]
    return ReportBlock(
        blocks[0].seq0,
        np.concatenate([block.t_ns for block in blocks]),
        np.concatenate([block.size for block in blocks]),
        np.concatenate(raws),
        blocks[-1].lost,
    )


class Held:
    """The last report of each kind: what the controls hold before a try begins. Kinds are those that the sheet tells
    apart by how they begin or by their length, and report ids."""

    def __init__(self, binding: Binding) -> None:
        self._kinds = _explicit_kinds(binding.sheet)
        self._numbered = binding.layout.numbered or _explicit_ids(binding.sheet)
        self._last: dict[tuple[bytes, int] | int, ReportBlock] = {}
        self._fresh: list[ReportBlock] = []

    def update(self, block: ReportBlock) -> None:
        """Remember the newest reports of `block`. Cheap: what is needed of them is sorted out later, many at once."""
        if len(block):
            self._fresh.append(block)
            if len(self._fresh) >= _FRESH_BLOCKS:
                self._sort_out()

    def block(self) -> ReportBlock:
        """The remembered reports in order of arrival, each once."""
        self._sort_out()
        rows = {(int(row.t_ns[0]), row.seq0): row for row in self._last.values()}
        return join_blocks([rows[at] for at in sorted(rows)])

    def _sort_out(self) -> None:
        if not self._fresh:
            return
        block, self._fresh = join_blocks(self._fresh), []
        newest: dict[tuple[bytes, int] | int, int] = {0: len(block) - 1}
        if self._numbered and block.raw.shape[1]:
            ids, from_end = np.unique(block.raw[::-1, 0], return_index=True)
            newest = {int(i): len(block) - 1 - int(back) for i, back in zip(ids, from_end, strict=True)}
        for kind in self._kinds:
            if len(mine := _rows_of(kind, block)):
                newest[kind] = int(mine[-1])
        for of, at in newest.items():
            row = slice(at, at + 1)
            self._last[of] = ReportBlock(
                block.seq0 + at, block.t_ns[row].copy(), block.size[row].copy(), block.raw[row].copy(), block.lost
            )


@dataclass(slots=True)
class Beat:
    """A moment at which a press was called for, and whether the person took it back."""

    t_ns: int
    void: bool = False


@dataclass(slots=True)
class Stretch:
    """What came while tries ran, one or several at once. `begin_ns` on the source's clock; `blocks` begins with the
    reports before it."""

    binding: Binding
    begin_ns: int
    lost_before: int
    lost: int
    blocks: list[ReportBlock]
    beats: list[Beat] = field(default_factory=list)
    disconnects_ns: list[int] = field(default_factory=list)
    reports: int = 0
    _marks: list[tuple[int, MarkEvent]] = field(default_factory=list)
    _log: SignalLog = field(default_factory=SignalLog)
    _times: Growing = field(default_factory=lambda: Growing(np.int64))
    _decoded: int = 0

    def add(self, block: ReportBlock) -> None:
        """Reports that arrived; they are decoded when the next take is asked for, many at once."""
        if len(block):
            self.blocks.append(block)
            self.reports += len(block)
        self.lost = max(self.lost, block.lost)

    def beat(self, at_ns: int) -> None:
        """A press is called for at `at_ns`."""
        self.beats.append(Beat(at_ns))
        self._marks.append((at_ns, "beat"))

    def take_back(self, at_ns: int, slipped_ns: int | None = None) -> bool:
        """Withdraw the last beat that still counts, or the one at `slipped_ns`; False if there is none."""
        for beat in reversed(self.beats):
            if not beat.void and slipped_ns in (None, beat.t_ns):
                beat.void = True
                self._marks.append((at_ns if slipped_ns is None else beat.t_ns + 1, "void"))
                return True
        return False

    def over_the_caps(self, now_ns: int) -> bool:
        """True when the try has become longer than any check."""
        return now_ns - self.begin_ns > MOST_NS or self.reports > MOST_REPORTS

    def take(self, end_ns: int, control: Control | None, witness: str | None) -> Take:
        """The take of a try at that control up to `end_ns`."""
        if self._decoded < len(self.blocks):
            fresh = join_blocks(self.blocks[self._decoded :])
            self.blocks[self._decoded :] = [fresh]
            self._decoded = len(self.blocks)
            self._log.append(self.binding.signals(fresh))
            self._times.append(fresh.t_ns)
        return take_between(
            self.binding.sheet,
            self._log.signals(),
            self.begin_ns,
            end_ns,
            self._times.values,
            control=control,
            beats_ns=tuple(beat.t_ns for beat in self.beats if not beat.void),
            taken_back=sum(beat.void for beat in self.beats),
            witness=witness,
            lost=self.lost - self.lost_before,
            disconnects_ns=tuple(self.disconnects_ns),
        )

    def capture(
        self, step: Step, witness: str | None, info: DeviceInfo, end_ns: int | None, started_at: str
    ) -> Capture:
        """The try at `step` as a capture whose time counts from its first report, or from its beginning if earlier.

        `started_at` is that moment on the wall clock. `end_ns` None: the try was cut short. It has no end then, so that
        whoever measures the capture again does not judge what was never judged.
        """
        block, base = join_blocks(self.blocks), self.base_ns()
        events: list[tuple[int, MarkEvent]] = [(self.begin_ns, "begin"), *sorted(self._marks, key=lambda m: m[0])]
        if end_ns is not None:
            events.append((end_ns, "end"))
        marks = [Mark(t_ns - base, event, step.check, step.control, witness) for t_ns, event in events]
        marks[0] = replace(marks[0], mass_g=step.mass_g)
        meta = CaptureMeta(
            info.vendor_id, info.product_id, info.product, info.serial, info.bus, started_at, self.binding.sheet.name,
            self.lost - self.lost_before,
        )  # fmt: skip
        rebased = ReportBlock(0, block.t_ns - base, block.size, block.raw, meta.lost)
        return Capture(info.descriptor, rebased, meta, tuple(marks))

    def base_ns(self) -> int:
        """Where the capture's time begins, on the source's clock."""
        first = int(self.blocks[0].t_ns[0]) if self.blocks else self.begin_ns
        return min(first, self.begin_ns)


def _explicit_kinds(sheet: Sheet) -> tuple[tuple[bytes, int], ...]:
    """How reports begin and how long they are (0: any length) where the sheet says either."""
    places = (place for control in sheet.controls for place in control.places)
    fields = (place.field for place in places if place is not None and place.field is not None)
    return tuple({(field.begins, field.length) for field in fields if field.begins or field.length})


def _rows_of(kind: tuple[bytes, int], block: ReportBlock) -> NDArray[np.intp]:
    begins, length = kind
    mine = block.size == length if length else block.size >= len(begins)
    for at, byte in enumerate(begins[: block.raw.shape[1]]):
        mine = mine & (block.raw[:, at] == byte)
    return np.flatnonzero(mine)


def _explicit_ids(sheet: Sheet) -> bool:
    """True if the sheet itself names report ids (for a device whose descriptor is missing or wrong)."""
    places = (place for control in sheet.controls for place in control.places)
    return any(place is not None and place.field is not None and place.field.report for place in places)
