"""A walk as a capture: every stretch between the marks `begin` and `end` of the check `learn` is one step.

The mark's control is the step's id ("rest", "left_stick.roll"). So a walk can be kept, and learned from again.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from station.capture.types import Capture, CaptureMeta, Mark
from station.errors import CaptureError
from station.hid.types import ReportBlock
from station.sheets.learn.types import Observed
from station.sheets.learn.walk import step_named
from station.words import teaching as words

CHECK = "learn"


def as_capture(steps: Sequence[Observed], descriptor: bytes, meta: CaptureMeta) -> Capture:
    """The walk with its marks."""
    ordered = sorted(steps, key=lambda s: s.begin_ns)
    marks = [
        Mark(time_ns, event, CHECK, s.step.id)  # type: ignore[arg-type]
        for s in ordered
        for time_ns, event in ((s.begin_ns, "begin"), (s.end_ns, "end"))
    ]
    return Capture(descriptor, joined([s.block for s in ordered]), meta, tuple(marks))


def steps_in(capture: Capture) -> tuple[Observed, ...]:
    """The steps that a capture's marks bracket, in order.

    Raises:
        CaptureError: it holds no step of a walk.
        InputError: a mark names no step.
    """
    begun: dict[str, int] = {}
    found = []
    for mark in (m for m in capture.marks if m.check == CHECK):
        if mark.event == "begin":
            begun[mark.control] = mark.time_ns
        elif mark.event == "end" and mark.control in begun:
            begin_ns = begun.pop(mark.control)
            block = _between(capture.block, begin_ns, mark.time_ns)
            found.append(Observed(step_named(mark.control), block, begin_ns, mark.time_ns))
    if not found:
        raise CaptureError(words.NO_WALK)
    return tuple(sorted(found, key=lambda s: s.begin_ns))


def joined(blocks: Sequence[ReportBlock]) -> ReportBlock:
    """Consecutive blocks as one."""
    width = max((b.raw.shape[1] for b in blocks), default=0)
    if not blocks:
        return ReportBlock(0, np.zeros(0, np.int64), np.zeros(0, np.uint16), np.zeros((0, width), np.uint8))
    return ReportBlock(
        blocks[0].seq0,
        np.maximum.accumulate(np.concatenate([b.t_ns for b in blocks])),
        np.concatenate([b.size for b in blocks]),
        np.concatenate([np.pad(b.raw, ((0, 0), (0, width - b.raw.shape[1]))) for b in blocks]),
        blocks[-1].lost,
    )


def _between(block: ReportBlock, begin_ns: int, end_ns: int) -> ReportBlock:
    first, last = np.searchsorted(block.t_ns, (begin_ns, end_ns))
    return ReportBlock(
        block.seq0 + int(first), block.t_ns[first:last], block.size[first:last], block.raw[first:last], block.lost
    )
