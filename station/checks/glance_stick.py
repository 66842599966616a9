"""A stick moved freely, cut up by what the hand did with it: pushes, rolls, slow crossings, and hands off."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from station.checks.rest import ENOUGH_NS, FULL_NS
from station.checks.takes import take_between, where
from station.checks.types import Take
from station.measure.arrays import NS_PER_MS
from station.measure.states import runs, two_state
from station.measure.transition import AWAY_PCT, BACK_PCT
from station.sheets.signals import StickSignal

ROLL_DEG = 200.0
"""the bearing goes round by so much within one deflection of a roll, and of nothing else"""
LEVEL_SHARE = 0.8
LED_NS = 120 * NS_PER_MS
"""from this share of a deflection to the middle a stick that is led takes longer, and so it does out to the other side;
one that is let go snaps back, one that is pushed fast is there sooner (common practice, no source)"""
MIDDLE_NS = 700 * NS_PER_MS
"""a crossing does not stay in the middle for so long"""
AFTER_NS, BEFORE_NS = 400 * NS_PER_MS, 200 * NS_PER_MS
"""hands are off from so long after a deflection to so long before the next"""


@dataclass(frozen=True, slots=True)
class Freely:
    """What each full check is shown of a free movement; `rests`: every stretch of hands off, each with all before.

    `led`: stretches (begin, end) in ns at whose end the hand led the stick on across the middle: no return from there;
    `across`: those over which it was led, to and fro.
    """

    pushes: Take
    rolls: Take
    crossings: Take
    returns: Take
    rests: tuple[Take, ...]
    led: tuple[tuple[int, int], ...]
    across: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Deflections:
    """Deflections of a stick as entries first…stop−1, int[k]; `rolled`, `crossed`, `led`: bool[k].

    `led`: the stick was led on from it across the middle into the next one.
    """

    first: NDArray[np.int64]
    stop: NDArray[np.int64]
    rolled: NDArray[np.bool_]
    crossed: NDArray[np.bool_]
    led: NDArray[np.bool_]


def freely(take: Take, signal: StickSignal) -> Freely:
    """The take as each of the full checks would have asked for it."""
    found = deflections(signal)
    n = len(signal.t_ns)
    return Freely(
        pushes=_shown(take, signal, ~_inside(found, found.rolled | found.crossed, n)),
        rolls=_shown(take, signal, ~_inside(found, ~found.rolled, n)),
        crossings=_shown(take, signal, ~_inside(found, ~found.crossed, n)),
        returns=take,
        rests=tuple(_until(take, end) for _, end in hands_off(take, signal, found)),
        led=tuple((int(signal.t_ns[found.first[k]]), int(signal.t_ns[found.first[k + 1]])) for k in _at(found.led)),
        across=_across(signal, found),
    )


def _across(signal: StickSignal, found: Deflections) -> tuple[tuple[int, int], ...]:
    """From the first deflection that was led on to the last one of those that follow each other so."""
    first, last = runs(found.led)
    last_entry = np.minimum(found.stop - 1, len(signal.t_ns) - 1)
    return tuple(
        (int(signal.t_ns[found.first[a]]), int(signal.t_ns[last_entry[b]])) for a, b in zip(first, last, strict=True)
    )


def deflections(signal: StickSignal) -> Deflections:
    """Every deflection of the stick, and what it was part of."""
    x, y = signal.x_pct, signal.y_pct
    away = two_state(np.hypot(x, y), BACK_PCT, AWAY_PCT)
    first, stop = runs(away)
    rolled = np.array([_goes_round(x[a:b], y[a:b]) for a, b in zip(first, stop, strict=True)], dtype=np.bool_)
    led = np.zeros(len(first), dtype=np.bool_)
    for k in range(len(first) - 1):
        one, other = slice(first[k], stop[k]), slice(first[k + 1], stop[k + 1])
        led[k] = not rolled[k : k + 2].any() and _led_across(signal, one, other)
    return Deflections(first, stop, rolled, led | np.append(False, led[:-1])[: len(led)], led)


def _at(flag: NDArray[np.bool_]) -> list[int]:
    return [int(k) for k in np.flatnonzero(flag)]


def hands_off(take: Take, signal: StickSignal, found: Deflections) -> list[tuple[int, int]]:
    """(begin, end) in ns of every stretch between deflections that is long enough to see where the stick rests."""
    t_ns = signal.t_ns
    begins = [take.begin_ns - AFTER_NS, *t_ns[np.minimum(found.stop, len(t_ns) - 1)].tolist()]
    ends = [*t_ns[found.first].tolist(), take.end_ns + BEFORE_NS]
    if len(found.stop) and found.stop[-1] >= len(t_ns):  # still deflected
        begins, ends = begins[:-1], ends[:-1]
    spans = [(a + AFTER_NS, b - BEFORE_NS) for a, b in zip(begins, ends, strict=True)]
    return [(a, min(b, a + FULL_NS)) for a, b in spans if b - a >= ENOUGH_NS]


def _led_across(signal: StickSignal, one: slice, other: slice) -> bool:
    """Whether the stick was led from one deflection through the middle into the other, evenly and slowly."""
    t_ns, (r, r_other) = signal.t_ns, (np.hypot(signal.x_pct[s], signal.y_pct[s]) for s in (one, other))
    if t_ns[other.start] - t_ns[one.stop] > MIDDLE_NS:
        return False
    leaves = t_ns[one.start + int(np.flatnonzero(r >= LEVEL_SHARE * r.max())[-1])]
    arrives = t_ns[other.start + int(np.argmax(r_other >= LEVEL_SHARE * r_other.max()))]
    return bool(t_ns[one.stop] - leaves >= LED_NS and arrives - t_ns[other.start] >= LED_NS)


def _goes_round(x: NDArray[np.float64], y: NDArray[np.float64]) -> bool:
    far = np.hypot(x, y) >= AWAY_PCT
    if not far.any():
        return False
    return bool(np.degrees(np.ptp(np.unwrap(np.arctan2(x[far], y[far])))) >= ROLL_DEG)


def _inside(found: Deflections, which: NDArray[np.bool_], n: int) -> NDArray[np.bool_]:
    """bool[entry]: whether it belongs to one of those deflections."""
    change = np.zeros(n + 1, dtype=np.int64)
    np.add.at(change, found.first[which], 1)
    np.add.at(change, found.stop[which], -1)
    return np.asarray(np.cumsum(change)[:-1] > 0)


def _shown(take: Take, signal: StickSignal, kept: NDArray[np.bool_]) -> Take:
    if take.control is None or kept.all():
        return take
    return replace(take, signals={**take.signals, take.control.id: where(signal, kept)})


def _until(take: Take, end_ns: int) -> Take:
    """The take as it stood then."""
    own = {} if take.control is None else {take.control.id: take.signals[take.control.id]}
    return take_between(take.sheet, own, take.begin_ns, end_ns, take.report_t_ns, control=take.control)
