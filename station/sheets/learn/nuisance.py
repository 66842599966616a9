"""Bits that go on by themselves: counters and time stamps. They are found by how they advance from report to report.

A counter advances by the same number with every report, a time stamp by about the same number in about the same time.
From the part that shows it, the number is followed upwards for as long as each further bit changes exactly when the
part below it runs over.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from station.sheets.learn.streams import Stream, above, below
from station.sheets.learn.types import Ignored
from station.sheets.signals import I64

STEADY = 0.9
"""share of the reports in which a number must advance as expected; the rest is lost or late reports"""
LEAST_REPORTS = 50
LEAST_BITS = 2
"""bits of a counter: where reports come on change only, a single one that always flips may be the noise of an axis"""


def find_counters(stream: Stream) -> list[tuple[Ignored, list[int]]]:
    """Counters and time stamps of a stream, each with its bits."""
    if len(stream) < LEAST_REPORTS:
        return []
    found: list[tuple[Ignored, list[int]]] = []
    taken: set[int] = set()
    varying = stream.varying()
    lowest = [b for b in varying if _flips(stream, b) >= STEADY]
    for bit in lowest:
        if bit not in taken:
            bits = max((_counter(stream, bit, big) for big in (False, True)), key=len)
            if len(bits) >= LEAST_BITS:
                taken.update(bits)
                found.append((_as_ignored("counter", stream, bits), bits))
    usual = _usual_gaps(stream)
    for byte in sorted({b // 8 for b in varying}):
        if not taken & set(range(8 * byte, 8 * byte + 8)) and _advances(stream, byte, usual):
            bits = _time_stamp(stream, byte, taken)
            taken.update(bits)
            found.append((_as_ignored("time stamp", stream, bits), bits))
    return found


def _flips(stream: Stream, bit: int) -> float:
    row = stream.bit(bit)
    return float((row[1:] != row[:-1]).mean())


def _counter(stream: Stream, bit: int, big: bool) -> list[int]:
    """Bits, lowest first, of the longest number from `bit` upwards that advances by a constant."""
    bits, value = [bit], stream.bit(bit).astype(np.int64)
    odd = _exceptions(value, 1)
    while stream.inside(nxt := above(bits[-1], big)) and (changes := _changes(stream, nxt)):
        wider = value | stream.bit(nxt).astype(np.int64) << len(bits)
        odder = _exceptions(wider, len(bits) + 1)
        if odder > odd + 0.1 * changes:  # a bit of something else makes an exception of nearly every change of its own
            break
        bits.append(nxt)
        value, odd = wider, odder
    while len(bits) > 1 and _flips(stream, bits[-1]) >= STEADY:  # the end of a number is its slowest bit
        bits.pop()
    return bits


def _exceptions(value: I64, bits: int) -> int:
    """How many steps from report to report are not the usual one."""
    _, counts = np.unique(np.diff(value) % (1 << bits), return_counts=True)
    return len(value) - 1 - int(counts.max())


def _changes(stream: Stream, bit: int) -> int:
    row = stream.bit(bit)
    return int((row[1:] != row[:-1]).sum())


def _advances(stream: Stream, byte: int, usual: NDArray[np.bool_]) -> bool:
    """Whether a byte goes forward by about the same in about the same time, in every report."""
    step: I64 = np.mod(np.diff(stream.raw[:, byte].astype(np.int64))[usual], 256)
    if len(step) < LEAST_REPORTS or float((step == 0).mean()) >= 0.1:
        return False
    middle = float(np.median(step))
    room = max(1.0, 0.35 * min(middle, 256 - middle))
    away = np.abs((step - middle + 128) % 256 - 128)
    return middle >= 1 and float((away <= room).mean()) > 0.85


def _usual_gaps(stream: Stream) -> NDArray[np.bool_]:
    """Which gaps between reports are about as long as most."""
    dt = np.diff(stream.t_ns)
    middle = np.median(dt)
    near: NDArray[np.bool_] = np.abs(dt - middle) <= 0.3 * middle
    return near


def _time_stamp(stream: Stream, byte: int, taken: set[int]) -> list[int]:
    """The bits of the time stamp that `byte` belongs to, lowest first."""
    core = list(range(8 * byte, 8 * byte + 8))
    best = core
    for big in (False, True):
        bits = _carried(stream, core, big, taken)
        low: list[int] = []
        bit = below(core[0], big)
        while stream.inside(bit) and bit not in taken and _flips(stream, bit) > 0.25 and len(low) < 16:
            low.insert(0, bit)
            bit = below(bit, big)
        bits = low + bits if len(low) >= 6 and _steadier(stream, core, low) else bits
        best = max(best, bits, key=len)
    return best


def _steadier(stream: Stream, core: list[int], low: list[int]) -> bool:
    """Whether `low` bits below a time stamp make its advance more even."""
    usual = _usual_gaps(stream)
    uneven = []
    for bits in (core, low + core):
        size = 1 << len(bits)
        step = np.diff(stream.number(bits[::-1]))[usual] % size
        away = (step - np.median(step) + size / 2) % size - size / 2
        uneven.append(float(np.abs(away).mean()) / (1 << (len(bits) - len(core))))
    return uneven[1] < 0.7 * uneven[0]


def _carried(stream: Stream, core: list[int], big: bool, taken: set[int]) -> list[int]:
    """`core` and the bits above it that change exactly when what is below runs over."""
    bits = list(core)
    value: I64 = stream.number(bits[::-1])
    while stream.inside(nxt := above(bits[-1], big)) and nxt not in taken and len(bits) < 32:
        runs_over: NDArray[np.bool_] = np.diff(value) < 0
        row = stream.bit(nxt)
        changes = row[1:] != row[:-1]
        both = int((runs_over & changes).sum())
        if both < 1 or both < STEADY * max(int(runs_over.sum()), int(changes.sum())):
            break
        bits.append(nxt)
        value = stream.number(bits[::-1])
    return bits


def _as_ignored(what: str, stream: Stream, bits: list[int]) -> Ignored:
    return Ignored(what, stream.report, min(bits), max(bits) - min(bits) + 1)  # type: ignore[arg-type]
