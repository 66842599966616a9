"""Where a number lies among bits of which nobody said anything: its most significant bit, its order, its lowest bit.

The top: a field of the right width and sign moves smoothly while the hand moves slowly and covers most of its range.
With a bit too many above it jumps or covers half; with a bit too few, or the wrong sign, it wraps.
The bottom: each further bit makes the course smoother, or is lost in the noise, as long as it belongs to the field. A
bit of something else makes it rougher, changes more rarely than the bit above it, or never. "Smooth" is the distance
from the line between the report before and the one after.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from station.sheets.learn.streams import Stream, below, signed_number
from station.sheets.signals import F64, I64

CORE_BITS = 6
CORE = 1 << CORE_BITS
COVERED = 36
"""codes of the 64 of a core that a full movement covers: more than half, so that no bit above fits too"""
MOST_BITS = 16
Z_SURE = 3.0
"""standard errors by which roughness must differ to count"""
MOVING_NS = 40_000_000
LARGE, WRAPS = 24, 40
"""steps of a core, from one report to the next, that are rare; and that no hand does but in letting go"""
SETTLED_NS = (60_000_000, 150_000_000)
"""when a control that was let go is back"""
AnyRows = slice | I64 | NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Top:
    """The most significant bit of a number in stream number `stream`, and whether it is a sign."""

    stream: int
    bit: int
    signed: bool


@dataclass(frozen=True, slots=True)
class Found:
    """A field: its bits, most significant first. `big`: they go on in the byte after, not in the one before."""

    stream: int
    bits: tuple[int, ...]
    signed: bool
    big: bool = False

    @property
    def top(self) -> Top:
        return Top(self.stream, self.bits[0], self.signed)

    @property
    def full(self) -> tuple[int, int]:
        """The least and the largest number that the bits hold."""
        n = len(self.bits)
        return (-(1 << n - 1), (1 << n - 1) - 1) if self.signed else (0, (1 << n) - 1)

    def value(self, stream: Stream, rows: AnyRows = slice(None)) -> I64:
        """The field's number in the rows."""
        return number(stream, self.bits, self.signed, rows)


def number(stream: Stream, bits: Sequence[int], signed: bool, rows: AnyRows = slice(None)) -> I64:
    value = stream.number(bits, rows)
    return signed_number(value, len(bits)) if signed else value


# --- the top ----------------------------------------------------------------------------------------------


def find_tops(stream: Stream, index: int, rows: slice, taken: Collection[int], onward: int) -> list[Top]:
    """Most significant bits of numbers that move smoothly over `rows` and cover more than half of their range.

    `onward`: how many large steps away from rest the movement may hold (reaching the rim of a stick is one).
    """
    tops = []
    for bit in stream.varying():
        if bit in taken:
            continue
        row = stream.bit(bit)[rows]
        changes = int((row[1:] != row[:-1]).sum()) if len(row) > 1 else 0
        if 2 <= changes <= 0.4 * len(row):
            tops += [Top(index, bit, s) for s in (False, True) if _is_top(stream, bit, s, rows, taken, onward)]
    return tops


def _core_bits(stream: Stream, bit: int, big: bool, taken: Collection[int]) -> list[int]:
    bits = [bit]
    while len(bits) < CORE_BITS and stream.inside(nxt := below(bits[-1], big)) and nxt not in taken:
        bits.append(nxt)
    return bits


def _is_top(stream: Stream, bit: int, signed: bool, rows: slice, taken: Collection[int], most: int) -> bool:
    for bits in {tuple(_core_bits(stream, bit, big, taken)): None for big in (False, True)}:  # one, within one byte
        if len(bits) < 2:
            continue
        core = number(stream, bits, signed, rows) << (CORE_BITS - len(bits))
        if _covered(core) >= COVERED and _smooth(core, stream.t_ns[rows], most):
            return True
    return False


def _covered(core: I64) -> int:
    """Codes from the lowest to the highest, one report in a hundred left out at either end."""
    seen = np.cumsum(np.bincount(core + CORE, minlength=2 * CORE))
    low, high = np.searchsorted(seen, (0.01 * seen[-1], 0.99 * seen[-1]))
    return int(high - low)


def _smooth(core: I64, t_ns: I64, most: int) -> bool:
    """Hardly any large steps but those back to where it rests and stays (letting go); none over most of the range."""
    step = np.abs(np.diff(core))
    large = np.flatnonzero(step > LARGE)
    if len(large) > 6:
        return False
    onward = [at for at in large.tolist() if not _lets_go(core, t_ns, at)]
    return len(onward) <= most and all(step[at] <= WRAPS for at in onward)


def _lets_go(core: I64, t_ns: I64, at: int) -> bool:
    """Whether the step after row `at` goes back towards rest, where the control then stays; wrapping goes on."""
    after = t_ns - t_ns[at]
    then = np.abs(core[(after > SETTLED_NS[0]) & (after <= SETTLED_NS[1])] - core[0])
    return abs(int(core[at + 1] - core[0])) < abs(int(core[at] - core[0])) and not (then > 6).any()


def core_roughness(stream: Stream, found: Found, rows: slice) -> float:
    """How rough the six highest bits run, in codes²."""
    bits = found.bits[:CORE_BITS]
    core = number(stream, bits, found.signed, _even_rows(stream, rows)) << (CORE_BITS - len(bits))
    if len(core) < 3:
        return np.inf
    return float((_roughness(core.astype(np.float64), np.arange(1, len(core) - 1)) ** 2).mean())


# --- the bottom -------------------------------------------------------------------------------------------


def grow(stream: Stream, top: Top, rows: slice, taken: Collection[int]) -> Found:
    """The whole field under `top`, judged by `rows` in which it moves."""
    usable = _even_rows(stream, rows)
    bits, unsure = [top.bit], 0
    big, known = _order_of_core(stream, top, usable, taken)
    while len(bits) < MOST_BITS:
        if bits[-1] % 8 == 0 and not known:
            z = {order: _ahead(stream, bits, top.signed, usable, order, taken) for order in (False, True)}
            big = z[True] > z[False]
            if max(z.values()) < Z_SURE:
                break
            known = True
        nxt = below(bits[-1], big)
        if not stream.inside(nxt) or nxt in taken:
            break
        z_next = _smoother(stream, bits, [nxt], top.signed, usable)
        at_byte_end = len(bits) >= 8 and bits[-1] % 8 == 0  # where most fields end: to go on there needs a reason
        if z_next <= -Z_SURE or rarer(stream, nxt, bits[-1], usable) or (at_byte_end and z_next < Z_SURE):
            break
        unsure = 0 if z_next >= Z_SURE else unsure + 1
        bits.append(nxt)
    big = big and known
    if big:
        bits += _rest_of_byte(stream, bits[-1], usable, taken)
    elif unsure and len(bits) > 8 and len(bits) % 2:
        bits.pop()  # widths are even (common practice): of two that the reports allow, the even one
    return Found(top.stream, tuple(bits), top.signed, big)


def _rest_of_byte(stream: Stream, last: int, at: I64, taken: Collection[int]) -> list[int]:
    """The bits below `last` in its byte, if they are as busy as it is: big-endian fields end with a byte."""
    more = list(range(last - 1, last - last % 8 - 1, -1))
    busy = all(b not in taken and not rarer(stream, b, last, at) for b in more)
    return more if busy else []


def _order_of_core(stream: Stream, top: Top, at: I64, taken: Collection[int]) -> tuple[bool, bool]:
    """The order in which the six highest bits follow one another, and whether they tell it: they do where they lie in
    two bytes and run clearly smoother one way."""
    rough = []
    for big in (False, True):
        bits = _core_bits(stream, top.bit, big, taken)
        if len(bits) < CORE_BITS or any(rarer(stream, low, high, at) for high, low in pairwise(bits)):
            rough.append(np.inf)  # bits that stand still run smoothly too, and are no part of a number
            continue
        core = number(stream, bits, top.signed, at).astype(np.float64)
        rough.append(float((_roughness(core, np.arange(1, len(core) - 1)) ** 2).mean()) if len(core) > 2 else 0.0)
    clear = max(rough) > 1.5 * min(rough) and np.isfinite(min(rough))
    return (rough[1] < rough[0], True) if clear and top.bit % 8 < CORE_BITS - 1 else (False, False)


def _even_rows(stream: Stream, rows: slice) -> I64:
    """The rows as they would be if the device reported at a steady rate: those that a device left out because nothing
    changed stand for the one before. Their order and number matter here, not when exactly they came."""
    t = stream.t_ns[rows]
    if len(t) < 3:
        return np.zeros(0, np.int64)
    tick = max(float(np.percentile(np.diff(t), 20)), 1.0)
    if float(np.percentile(np.diff(t), 95)) <= 1.7 * tick:
        return np.arange(len(t)) + (rows.start or 0)
    grid = np.arange(int(t[0]), int(t[-1]), int(tick))
    return np.searchsorted(t, grid + int(0.3 * tick), "right") - 1 + (rows.start or 0)


def _roughness(value: F64, at: I64) -> F64:
    """Distance of each value from the middle of its neighbours."""
    return value[at] - (value[at - 1] + value[at + 1]) / 2


def _smoother(stream: Stream, bits: Sequence[int], more: Sequence[int], signed: bool, at: I64) -> float:
    """By how many standard errors `more` bits make the course smoother (negative: rougher), where it moves slowly.

    Only where it moves: a value that stands still within one code looks smooth however few bits it has.
    """
    if len(at) < 60:
        return 0.0
    coarse = number(stream, bits, signed, at).astype(np.float64)
    fine = number(stream, [*bits, *more], signed, at) / (1 << len(more))
    span = max(int(MOVING_NS / max(float(stream.t_ns[at[-1]] - stream.t_ns[at[0]]) / len(at), 1.0)), 1)
    rows = np.arange(span, len(at) - span)
    moves = np.abs(coarse[rows + span] - coarse[rows - span]) >= 1
    slow = np.abs(coarse[rows + 1] - coarse[rows - 1]) <= 6
    rows = rows[moves & slow]
    if len(rows) < 20:
        return 0.0
    gain = _roughness(coarse, rows) ** 2 - _roughness(fine, rows) ** 2
    spread = float(gain.std()) / np.sqrt(len(gain))
    return float(gain.mean()) / spread if spread > 0 else 0.0


def _ahead(stream: Stream, bits: list[int], signed: bool, at: I64, big: bool, taken: Collection[int]) -> float:
    """As `_smoother`, for the next four bits in one of the two orders."""
    more: list[int] = []
    last = bits[-1]
    while len(more) < 4 and stream.inside(nxt := below(last, big)) and nxt not in taken:
        more.append(nxt)
        last = nxt
    return max((_smoother(stream, bits, more[:k], signed, at) for k in range(1, len(more) + 1)), default=0.0)


def rarer(stream: Stream, bit: int, than: int, at: I64) -> bool:
    """Whether a bit changes much more rarely than the one above it, which no lower bit of a number does."""
    changes = [int((np.diff(stream.bit(b)[at].astype(np.int8)) != 0).sum()) for b in (bit, than)]
    return changes[0] == 0 or (changes[1] >= 20 and changes[0] < 0.5 * changes[1])
