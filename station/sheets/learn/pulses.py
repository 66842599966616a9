"""Bits that close and open again: when, in which step, and which of them always do it together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from station.sheets.learn.streams import Stream
from station.sheets.learn.types import PRESSES
from station.sheets.learn.walked import Walked
from station.sheets.signals import I64

BOUNCE_NS = 40_000_000
"""openings shorter than this are the bounce of a contact"""
TOGETHER_NS = 60_000_000
"""edges this close are one event: two reports may tell of it"""
LONGEST_NS = 5_000_000_000
"""nobody holds a press for longer in a walk: a bit that does is a state of the device"""
REACTION_NS = 250_000_000
"""what comes sooner after a prompt answers to the one before: nobody reads and presses faster"""
MOST_PULSES = 6
"""pulses a step beyond which a bit is no button's"""


@dataclass(frozen=True, slots=True)
class Signal:
    """A bit, or several that always change together: the first stands for all.

    `rest` is its value while it is left alone. `start_ns`, `end_ns` int64[k]: its pulses; `count` int64[steps]: how
    many began in each step. `usage`: it is no bit but a choice of a list that the descriptor describes (`bit` 0 then).
    """

    stream: int
    bit: int
    rest: int
    start_ns: I64
    end_ns: I64
    count: I64
    mirrors: tuple[tuple[int, int], ...] = ()
    usage: int = 0

    def starts(self, step: int) -> I64:
        """When its pulses of that step began."""
        first = int(self.count[:step].sum())
        return self.start_ns[first : first + int(self.count[step])]

    def within(self, step: int) -> bool:
        """Whether it does anything in that step."""
        return bool(self.count[step])


def pulsing(walked: Walked) -> list[Signal]:
    """The bits that are free and rest in one state but for pulses; those that always go together are one signal."""
    found: list[Signal] = []
    for index, stream in enumerate(walked.streams):
        for bit in stream.varying():
            if bit not in walked.taken[index]:
                signal = _signal(walked, index, stream, bit)
                if signal is not None:
                    found.append(signal)
    return _joined(found)


def _signal(walked: Walked, index: int, stream: Stream, bit: int) -> Signal | None:
    row = stream.bit(bit)
    changes = int((row[1:] != row[:-1]).sum())
    if changes > 2 * MOST_PULSES * max(len(walked.steps), 1):
        return None
    rest = int(np.dot(row, stream.held_ns) * 2 > stream.held_ns.sum())
    return signal_of(walked, index, bit, rest, row != rest)


def signal_of(
    walked: Walked, index: int, bit: int, rest: int, active: NDArray[np.bool_], usage: int = 0
) -> Signal | None:
    """The signal of something that is active in some rows of a stream; None if it does not come in pulses."""
    stream = walked.streams[index]
    edges = np.flatnonzero(active[1:] != active[:-1]) + 1
    start, end = closed(active, edges, stream.t_ns, walked.steps[-1].end_ns)
    begins = np.array([s.begin_ns for s in walked.steps])
    said = np.clip(np.searchsorted(begins, start - REACTION_NS, "right") - 1, 0, None)
    count = np.bincount(said, minlength=len(begins))
    away, moved = walked.steps_with("rest", "move"), walked.steps_with("push", "roll", "tap", "ring")
    if not len(start) or int((end - start).max()) > LONGEST_NS:
        return None
    if count.max() > MOST_PULSES or count[away].sum() > PRESSES or (count[moved] > PRESSES).any():
        return None
    return Signal(index, bit, rest, start, end, count, usage=usage)


def closed(active: NDArray[np.bool_], edges: I64, t_ns: I64, end_ns: int) -> tuple[I64, I64]:
    """Begin and end of each pulse; openings shorter than `BOUNCE_NS` do not count. `edges`: rows of a change."""
    at = np.concatenate([[0], edges]) if active[0] else edges
    start = t_ns[at[active[at]]]
    end = t_ns[edges[~active[edges]]]
    if len(end) < len(start):
        end = np.append(end, end_ns)
    apart = start[1:] - end[:-1] > BOUNCE_NS
    return start[np.append(True, apart)] if len(start) else start, end[np.append(apart, True)] if len(end) else end


def _joined(signals: list[Signal]) -> list[Signal]:
    groups: list[list[Signal]] = []
    for signal in signals:
        for group in groups:
            if together(group[0], signal):
                group.append(signal)
                break
        else:
            groups.append([signal])
    return [
        Signal(g[0].stream, g[0].bit, g[0].rest, g[0].start_ns, g[0].end_ns, g[0].count,
               tuple((s.stream, s.bit) for s in g[1:]))
        for g in groups
    ]  # fmt: skip


def together(one: Signal, other: Signal) -> bool:
    """Whether two signals have the same pulses."""
    return (
        len(one.start_ns) == len(other.start_ns)
        and bool((np.abs(one.start_ns - other.start_ns) <= TOGETHER_NS).all())
        and bool((np.abs(one.end_ns - other.end_ns) <= TOGETHER_NS).all())
    )
