"""Reports that list what is pressed: fields that hold the number of a button instead of a bit for each.

With a descriptor that describes the list, each of its choices is a signal of its own. Without, the bits of the numbers
look like buttons that answer to several controls; they are recognised so that none of them is taken for a button.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from station.hid.decode import usage_column
from station.hid.types import Field, ReportBlock
from station.sheets.learn.pulses import Signal, signal_of
from station.sheets.learn.streams import Stream
from station.sheets.learn.walked import Walked

LEAST_CHOICES = 2
"""choices of a list that must have been pressed for the descriptor's word to be taken"""
MORE = 2
"""patterns beyond the number of bits that make a number: one more may be a slip"""


def listed_signals(walked: Walked) -> list[Signal]:
    """A signal for each choice of the lists that the descriptor describes; their bits are spoken for from then on."""
    if walked.layout is None:
        return []
    found: list[Signal] = []
    for index, stream in enumerate(walked.streams):
        slots = [f for f in walked.layout.input_fields() if f.is_array and _is_in(f, stream, walked.layout.numbered)]
        block = ReportBlock(0, stream.t_ns, np.full(len(stream), stream.raw.shape[1], np.uint16), stream.raw)
        signals = []
        for usage in sorted({u for f in slots for u in f.usages if u & 0xFFFF}):
            pressed = usage_column(walked.layout, usage, block).value != 0
            signal = signal_of(walked, index, 0, 0, pressed, usage) if len(pressed) == len(stream) else None
            signals += [signal] if signal is not None else []
        if len(signals) >= LEAST_CHOICES:
            found += signals
            for f in slots:
                walked.taken[index].update(range(f.bit_offset, f.bit_offset + f.bit_width))
    return found


def _is_in(field: Field, stream: Stream, numbered: bool) -> bool:
    fits = stream.inside(field.bit_offset) and stream.inside(field.bit_offset + field.bit_width - 1)
    return fits and (field.report_id == stream.report or not numbered)


def list_bytes(signals: Sequence[Signal], own: Mapping[str, Sequence[int]], presses: int) -> set[tuple[int, int]]:
    """Bytes (stream, byte) that hold the number of what is pressed: more controls answer there, each with its own
    pattern of bits, than there are bits. `own`: the steps of each control."""
    places: dict[tuple[int, int], list[Signal]] = {}
    for s in signals:
        if not s.usage:
            places.setdefault((s.stream, s.bit // 8), []).append(s)
    return {
        place
        for place, mine in places.items()
        if len({p for steps in own.values() if (p := _pattern(mine, steps, presses))}) >= len(mine) + MORE
    }


def _pattern(signals: Sequence[Signal], steps: Sequence[int], presses: int) -> frozenset[int]:
    """The bits that answer to most of a control's steps."""
    return frozenset(
        s.bit for s in signals if 2 * sum(int(s.count[i]) == presses for i in steps) > len(steps)
    )  # fmt: skip
