"""Contacts that are held at once: which were seen closed together, where one hides another, where a third appears.

In a matrix of contacts without diodes, or over a shared line, a closed contact can hide another one or make a third one
appear (phantom closures: common knowledge of the trade, no source). What the wiring does comes within a scan or two of
the cause at both ends; a hand lets go when it likes. Times are int64 ns.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from station.measure.contacts import Closures

WITH_NS = 40_000_000
"""what the wiring does follows its cause within scan, debouncing and polling (common practice, no source)"""
SEEN_NS = 60_000_000
"""closed together for so long is more than two edges that cross"""
MOSTLY = 0.8
"""a phantom comes with at least this share of the times at which its causes are all held"""

Pair = frozenset[str]


@dataclass(frozen=True, slots=True)
class Hiding:
    """What a closure of `hider` did to `hidden`, counted.

    `full`: it opened as the other closed and closed again as the other opened; `half`: one of the two only; `beside`:
    it stayed closed. `lasted_ns`: the median length of the full ones: of two that come by turns, the one that is held
    all the while is hidden, and the other is tapped.
    """

    hidden: str
    hider: str
    full: int
    half: int
    beside: int
    lasted_ns: int = 0


@dataclass(frozen=True, slots=True)
class Phantom:
    """`who` closed `times` times as the last of `held` closed, and opened as the first of them opened.

    `chances`: those, and how often it stayed open as all of `held` were closed. `near`: those that closed with it.
    `without`: it was seen open while one of `near` was held and not all of `held`.
    """

    who: str
    held: tuple[str, ...]
    near: tuple[str, ...]
    times: int
    chances: int
    without: bool


def seen_together(contacts: Mapping[str, Closures]) -> set[Pair]:
    """The pairs that were closed at the same time for `SEEN_NS`."""
    return {
        frozenset((a, b)) for a, b in combinations(contacts, 2) if _longest_overlap(contacts[a], contacts[b]) >= SEEN_NS
    }


def _longest_overlap(a: Closures, b: Closures) -> int:
    if not len(a) or not len(b):
        return 0
    begin = np.maximum(a.start_ns[:, None], b.start_ns[None, :])
    end = np.minimum(a.end_ns[:, None], b.end_ns[None, :])
    return int((end - begin).max())


def taps(tapped: Closures, held: Closures) -> int:
    """How often one closed and opened again while the other was held: since `SEEN_NS` before, and still after."""
    inside = (tapped.start_ns[:, None] >= held.start_ns[None, :] + SEEN_NS) & (
        tapped.end_ns[:, None] <= held.end_ns[None, :]
    )
    return int(inside.any(axis=1).sum())


def hidings(contacts: Mapping[str, Closures], left_out: Collection[Pair] = ()) -> tuple[Hiding, ...]:
    """Every ordered pair of contacts of which one may hide the other, save those left out; n is counts of closures."""
    found = []
    for hidden, own in contacts.items():
        for hider, other in contacts.items():
            if hidden == hider or frozenset((hidden, hider)) in left_out or not len(own) or not len(other):
                continue
            one = _hiding(hidden, own, hider, other)
            if one.full or one.half:
                found.append(one)
    return tuple(found)


def _hiding(hidden: str, own: Closures, hider: str, other: Closures) -> Hiding:
    long = other.end_ns - other.start_ns >= SEEN_NS
    begin, end = other.start_ns[:, None], other.end_ns[:, None]
    start, stop = own.start_ns[None, :], own.end_ns[None, :]
    inside = (start < end - WITH_NS) & (stop > begin + WITH_NS)
    beside = (inside & (np.minimum(stop, end) - np.maximum(start, begin) >= SEEN_NS)).any(axis=1)
    lasts = stop - start >= SEEN_NS
    goes = (lasts & (np.abs(stop - begin) <= WITH_NS)).any(axis=1)
    comes = (lasts & (np.abs(start - end) <= WITH_NS)).any(axis=1)
    goes[0] &= not other.held_before
    comes[-1] &= not other.held_after
    alone = long & ~beside
    full = alone & goes & comes & ~inside.any(axis=1)
    half = alone & (goes != comes)
    lasted_ns = int(np.median((other.end_ns - other.start_ns)[full])) if full.any() else 0
    return Hiding(hidden, hider, int(full.sum()), int(half.sum()), int((long & beside).sum()), lasted_ns)


def phantoms(contacts: Mapping[str, Closures], left_out: Collection[Pair] = ()) -> tuple[Phantom, ...]:
    """Contacts that come and go with others, two or more of which are held all the while."""
    found = []
    for who, own in contacts.items():
        others = {n: c for n, c in contacts.items() if n != who and frozenset((n, who)) not in left_out}
        episodes = [e for e in (_episode(own, k, others) for k in range(len(own))) if e is not None]
        if not episodes:
            continue
        held = frozenset.intersection(*(e[0] for e in episodes))
        near = frozenset.union(*(e[1] for e in episodes)) & held
        if len(held) < 2 or not near:
            continue
        if any(_follows(own, others[n], [others[m] for m in held if m != n]) for n in near):
            continue  # a short, which shows with that one alone
        stayed = sum(_stays_open(own, begin) for begin, _ in _joint([others[n] for n in held]))
        without = any(_alone(others[n], own, [others[m] for m in held if m != n]) for n in near)
        chances = len(episodes) + stayed
        found.append(Phantom(who, tuple(sorted(held)), tuple(sorted(near)), len(episodes), chances, without))
    return tuple(one for one in found if not any(_mirrored(one, other, contacts) for other in found))


def _mirrored(one: Phantom, other: Phantom, contacts: Mapping[str, Closures]) -> bool:
    """Two that close and open at once look like each other's phantom; the one that does so less surely, or less often,
    was pressed: what appears does so with each of its causes, and each of them only when it is pressed itself."""
    if one.who not in other.near or other.who not in one.near:
        return False

    def surely(p: Phantom) -> tuple[float, int, bool, float]:
        return p.times / max(p.chances, 1), p.times, p.without, p.times / len(contacts[p.who])

    return surely(one) < surely(other)


def _episode(own: Closures, k: int, others: Mapping[str, Closures]) -> tuple[Pair, Pair] | None:
    """Closure k as a phantom of others: those held all the while, and those of them that closed with it; None if it
    began or ended without any of them, or if two others began with it: a flat hand, of which nothing can be told."""
    if (k == 0 and own.held_before) or (k == len(own) - 1 and own.held_after):
        return None
    begin, end = int(own.start_ns[k]), int(own.end_ns[k])
    if end - begin < SEEN_NS:
        return None
    if sum(bool((np.abs(c.start_ns - begin) <= 2 * WITH_NS).any()) for c in others.values()) > 1:
        return None
    held, began, ended = set(), set(), set()
    for name, c in others.items():
        through = (c.start_ns <= begin + WITH_NS) & (c.end_ns >= end - WITH_NS)
        if not through.any():
            continue
        at = int(np.flatnonzero(through)[0])
        held.add(name)
        if abs(int(c.start_ns[at]) - begin) <= WITH_NS and (at or not c.held_before):
            began.add(name)
        if abs(int(c.end_ns[at]) - end) <= WITH_NS and (at < len(c) - 1 or not c.held_after):
            ended.add(name)
    return (frozenset(held), frozenset(began)) if began and ended else None


def _follows(own: Closures, near: Closures, rest: list[Closures]) -> bool:
    """Did it close and open with `near` mostly, also while not all of the rest were closed?"""
    joint = _joint([near, *rest])
    alone = [
        (begin, end)
        for begin, end in zip(near.start_ns.tolist(), near.end_ns.tolist(), strict=True)
        if end - begin >= SEEN_NS and not any(a < end and b > begin for a, b in joint)
    ]
    along = [
        bool(((np.abs(own.start_ns - begin) <= WITH_NS) & (np.abs(own.end_ns - end) <= WITH_NS)).any())
        for begin, end in alone
    ]
    return bool(along) and sum(along) >= MOSTLY * len(along)


def _stays_open(own: Closures, begin: int) -> bool:
    """Was it open after a stretch began? One that closed then came with it, even where a finger was on it too before it
    ended; one that was closed before was held by a finger, so that nothing can be told."""
    return not bool(((own.start_ns <= begin + WITH_NS) & (own.end_ns > begin + WITH_NS)).any())


def _joint(held: list[Closures]) -> list[tuple[int, int]]:
    """The stretches of at least `SEEN_NS` over which all of them were closed."""
    spans = [(int(a), int(b)) for a, b in zip(held[0].start_ns, held[0].end_ns, strict=True)]
    for c in held[1:]:
        pairs = [(int(a), int(b)) for a, b in zip(c.start_ns, c.end_ns, strict=True)]
        spans = [(max(a, x), min(b, y)) for a, b in spans for x, y in pairs if min(b, y) - max(a, x) >= SEEN_NS]
    return spans


def _alone(near: Closures, own: Closures, rest: list[Closures]) -> bool:
    """Was `near` closed for `SEEN_NS` while not all of the rest were, and `own` open all that time?"""
    joint = _joint([near, *rest])
    for begin, end in zip(near.start_ns.tolist(), near.end_ns.tolist(), strict=True):
        if end - begin < SEEN_NS or any(a < end and b > begin for a, b in joint):
            continue
        if not ((own.start_ns < end - WITH_NS) & (own.end_ns > begin + WITH_NS)).any():
            return True
    return False
