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
    """Bytes (stream, byte) that look like the number of what is pressed: some control answers with two or more of its
    bits, each of which answers to another control too. `own`: the steps of each control."""
    found = set()
    answers = [
        {c for c, steps in own.items() if any(int(s.count[i]) == presses for i in steps)} for s in signals
    ]  # fmt: skip
    for place in {(s.stream, s.bit // 8) for s in signals if not s.usage}:
        shared = [a for s, a in zip(signals, answers, strict=True) if (s.stream, s.bit // 8) == place and len(a) > 1]
        if any(sum(c in a for a in shared) >= 2 for c in own):
            found.add(place)
    return found
