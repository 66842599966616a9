"""A direction pad: four bits of their own, or one code for all directions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from station.sheets.learn.board import MOST_PULLS
from station.sheets.learn.pulses import BOUNCE_NS
from station.sheets.learn.streams import Stream
from station.sheets.learn.types import PRESSES
from station.sheets.learn.walked import Walked
from station.sheets.model import Control, ExplicitField
from station.sheets.signals import I64

SHORT_NS = 30_000_000
ENOUGH_STATES = 6
"""of eight directions seen in the ring; with codes for four, as many corners passed: fewer, and a bit may be missed"""


@dataclass(frozen=True, slots=True)
class Hat:
    """What a hat's steps showed: four bits (`sides`: stream, bit, rest value) or a `code`; `doubt`: why not sure."""

    control: Control
    stream: int = 0
    sides: tuple[tuple[int, int], ...] = ()
    code: ExplicitField | None = None
    bits: tuple[int, ...] = ()
    doubt: str = ""


def find_hat(walked: Walked, control: Control) -> Hat:
    """Bits that move in the hat's steps and hardly elsewhere, and what they mean."""
    best = Hat(control, doubt="nothing")
    for index, stream in enumerate(walked.streams):
        bits = _bits(walked, index, stream, control)
        for part in _parts(bits):
            hat = _read(walked, index, stream, control, part)
            if not hat.doubt:
                return hat
            best = hat if best.doubt == "nothing" else best
    return best


def _bits(walked: Walked, index: int, stream: Stream, control: Control) -> list[int]:
    """Free bits that move to and fro in the ring and are quiet elsewhere (one slip forgiven), or that no button answers
    to."""
    own = walked.steps_of(control.id)
    ring = walked.steps_of(control.id, "ring")
    found = []
    for bit in stream.varying():
        if bit in walked.taken[index]:
            continue
        row = stream.bit(bit)
        edges = np.flatnonzero(row[1:] != row[:-1]) + 1
        moves = np.bincount(stream.step[edges], minlength=len(walked.steps))
        foreign = [i for i in np.flatnonzero(moves).tolist() if i not in own]
        pressed = [i for i in foreign if walked.steps[i].step.action == "press" and moves[i] >= 2 * PRESSES - 1]
        if (
            len(edges) >= 2
            and any(moves[i] >= 2 for i in ring)
            and len(foreign) <= 1
            and not pressed
            and moves.max() <= 30 * MOST_PULLS
        ):
            found.append(bit)
    return found


def _read(walked: Walked, index: int, stream: Stream, control: Control, bits: list[int]) -> Hat:
    taps = [_taps(walked, stream, bits, i) for i in walked.steps_of(control.id, "tap")]
    taps = [t for t in taps if len(t) == 4]
    ring = [_states(walked, stream, bits, i) for i in walked.steps_of(control.id, "ring")]
    if not taps or not any(ring):
        return Hat(control, index, doubt="count")
    rest = _rest(walked, stream, bits, control)
    agreed = _agreed(taps, [r[0] for r in ring if r])
    if agreed is None:
        return Hat(control, index, doubt="order")
    seen = {state for r in ring for state in r}
    changed = [state ^ rest for state in agreed]
    if all(not changed[i] & changed[j] for i in range(4) for j in range(i)):
        return _four_bits(control, index, bits, rest, changed, seen)
    corners = sum(_corners_passed(r, agreed) for r in ring)
    return _code(walked, index, control, bits, agreed, rest, seen, corners)


def _agreed(taps: Sequence[tuple[int, ...]], first: Sequence[int]) -> tuple[int, ...] | None:
    """The four states that most walks gave; None where they disagree, or the ring began on another side than up."""
    best = max(set(taps), key=list(taps).count)
    if list(taps).count(best) * 2 <= len(taps) or first.count(best[0]) * 2 <= len(first):
        return None
    return best


def _word(stream: Stream, bits: Sequence[int], rows: slice | NDArray[np.bool_]) -> I64:
    return stream.number(bits[::-1], rows)


def _rest(walked: Walked, stream: Stream, bits: Sequence[int], control: Control) -> int:
    alone = ~np.isin(stream.step, walked.steps_of(control.id))
    rows = alone if alone.any() else np.ones(len(stream), bool)
    values, where = np.unique(_word(stream, bits, rows), return_inverse=True)
    return int(values[np.bincount(where, weights=stream.held_ns[rows] + 1.0).argmax()])


def _course(walked: Walked, stream: Stream, bits: Sequence[int], step: int) -> tuple[I64, I64, I64]:
    """State, begin and end of every stretch in one step in which the bits stay the same."""
    rows = stream.runs(step)
    rows = slice(max(rows.start - 1, 0), rows.stop)
    state = _word(stream, bits, rows)
    t = np.maximum(stream.t_ns[rows], walked.steps[step].begin_ns)
    if not len(state):
        return state, t, t
    at = np.append(0, np.flatnonzero(state[1:] != state[:-1]) + 1)
    return state[at], t[at], np.append(t[at[1:]], walked.steps[step].end_ns)


def _taps(walked: Walked, stream: Stream, bits: Sequence[int], step: int) -> tuple[int, ...]:
    """The longest state of each excursion from rest."""
    state, begin, end = _course(walked, stream, bits, step)
    control = walked.steps[step].step.control
    assert control is not None
    rest = _rest(walked, stream, bits, control)
    away = state != rest
    found: list[dict[int, int]] = []
    last_end = -(1 << 62)
    for s, a, b, out in zip(state.tolist(), begin.tolist(), end.tolist(), away.tolist(), strict=True):
        if out:
            if a - last_end > BOUNCE_NS:
                found.append({})
            found[-1][s] = found[-1].get(s, 0) + b - a
            last_end = b
    return tuple(max(f, key=lambda s: f[s]) for f in found if sum(f.values()) > SHORT_NS)


def _states(walked: Walked, stream: Stream, bits: Sequence[int], step: int) -> list[int]:
    """The states of a ring, in order, rest left out and short ones too."""
    state, begin, end = _course(walked, stream, bits, step)
    control = walked.steps[step].step.control
    assert control is not None
    rest = _rest(walked, stream, bits, control)
    return [int(s) for s, a, b in zip(state, begin, end, strict=True) if s != rest and b - a > SHORT_NS]


def _four_bits(
    control: Control, index: int, bits: Sequence[int], rest: int, changed: Sequence[int], seen: set[int]
) -> Hat:
    """Each direction has bits of its own. Those that change with nothing else: the lowest of each."""
    sides, spoken = [], []
    for mask in changed:
        mine = [bit for k, bit in enumerate(bits) if mask >> k & 1]
        sides.append((mine[0], rest >> bits.index(mine[0]) & 1))
        spoken += mine
    known = {0}
    for i in range(4):
        known |= {changed[i], changed[i] | changed[(i + 1) % 4]}
    odd = [s for s in seen if s ^ rest not in known]
    return Hat(control, index, tuple(sides), bits=tuple(spoken), doubt="states" if odd else "")


def _code(
    walked: Walked,
    index: int,
    control: Control,
    bits: Sequence[int],
    agreed: Sequence[int],
    rest: int,
    seen: set[int],
    corners: int,
) -> Hat:
    """One number for all directions, counting clockwise from up."""
    stream, taken = walked.streams[index], walked.taken[index]
    low, high = min(bits), max(bits)
    if high - low >= 16:
        return Hat(control, index, doubt="states")
    span = _nibble(stream, low, high, taken)
    fixed = int(stream.number(span[::-1], slice(0, 1))[0]) & ~sum(1 << span.index(b) for b in bits)

    def code(state: int) -> int:
        return fixed | sum((state >> k & 1) << span.index(b) for k, b in enumerate(bits))

    up, right, down, left = (code(s) for s in agreed)
    quarter = right - up
    field = stream.field(span[0], len(span), False, up, up + 4 * quarter - 1)
    if quarter < 1 or (down, left) != (up + 2 * quarter, up + 3 * quarter) or field.max >= 1 << len(span):
        return Hat(control, index, bits=tuple(bits), doubt="codes")
    codes = {code(s) for s in seen}
    if field.min <= code(rest) <= field.max or any(not field.min <= c <= field.max for c in codes):
        return Hat(control, index, bits=tuple(bits), doubt="codes")
    few = len(codes) < ENOUGH_STATES if quarter > 1 else corners < ENOUGH_STATES
    return Hat(control, index, code=field, bits=tuple(span), doubt="few" if few else "")


def _nibble(stream: Stream, low: int, high: int, taken: set[int]) -> list[int]:
    """The bits of the code, ascending: those that move and, where these are fewer than four, still ones above them."""
    moving = set(stream.varying()) | taken
    last = high
    while last - low < 3 and stream.inside(last + 1) and last + 1 not in moving:
        last += 1
    return list(range(low, last + 1))


def _corners_passed(ring: Sequence[int], agreed: Sequence[int]) -> int:
    """How often a ring went from one of the four sides straight to the next: past a corner without a code for it."""
    place = {state: k for k, state in enumerate(agreed)}
    sides = [place.get(s, -9) for s in ring]
    return sum((b - a) % 4 in (1, 3) for a, b in pairwise(sides) if a >= 0 and b >= 0)


def _parts(bits: Sequence[int]) -> list[list[int]]:
    """All bits; then each lot of neighbours by itself (a direction pad may be told twice in one report)."""
    lots: list[list[int]] = []
    for bit in bits:
        if lots and bit - lots[-1][-1] <= 4:
            lots[-1].append(bit)
        else:
            lots.append([bit])
    return ([list(bits)] if bits else []) + (lots if len(lots) > 1 else [])
