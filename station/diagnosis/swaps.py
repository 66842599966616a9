"""Finding the bad part by swaps: put a part from a donor in, test again, and let Bayes' rule do the elimination.

Exactly one of the unit's parts is bad. A donor's part may be bad too, each with a probability of its own. A test of
a unit that holds a bad part shows the fault with probability `sees` (an intermittent fault hides now and then), a test
of a sound one with probability `false_alarm`. All worlds (which part is bad, which donor parts are) are gone through,
so the probabilities are exact; plain elimination is the case sees = 1, donors never bad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

from station.words import diagnosis as words
from station.words import grammar

MAX_PARTS = 8
"""2⁸ · 8 worlds"""
ENOUGH = 0.95
"""a part this likely is the bad one for all purposes of the bench"""
_FEW = 5
"""up to so many parts every set of them is considered for the next swap; beyond, single parts and pairs"""


@dataclass(frozen=True, slots=True)
class SwapPart:
    """A suspect: how likely it is the bad one (any scale), minutes to swap it, how likely its donor part is bad."""

    part_id: str
    name: str
    weight: float
    minutes: float
    donor_bad: float = 0.05


@dataclass(frozen=True, slots=True)
class Tested:
    """One test: the parts that were a donor's at that time, and whether the fault showed."""

    swapped: frozenset[str]
    fault: bool


@dataclass(frozen=True, slots=True)
class SwapAdvice:
    """The next swap: the set of parts to have from the donor, what it tells (bits) and takes (minutes)."""

    swapped: frozenset[str]
    bits: float
    minutes: float
    text: str


@dataclass(frozen=True)
class SwapSearch:
    """The state of a search by swaps. Immutable: `after` gives the next one."""

    parts: tuple[SwapPart, ...]
    sees: float = 0.95
    false_alarm: float = 0.0
    test_minutes: float = 4.0
    tests: tuple[Tested, ...] = ()

    def __post_init__(self) -> None:
        if not 1 <= len(self.parts) <= MAX_PARTS:
            raise ValueError(f"one to {MAX_PARTS} parts")

    def after(self, swapped: Sequence[str] | frozenset[str], fault: bool) -> SwapSearch:
        """With one more test result."""
        tests = (*self.tests, Tested(frozenset(swapped), fault))
        return SwapSearch(self.parts, self.sees, self.false_alarm, self.test_minutes, tests)

    @cached_property
    def _worlds(self) -> dict[tuple[int, int], float]:
        """(index of the bad part, bit set of the bad donor parts) → probability given all tests."""
        worlds = {}
        for bad, part in enumerate(self.parts):
            for donors in range(1 << len(self.parts)):
                p = part.weight
                for i, other in enumerate(self.parts):
                    p *= other.donor_bad if donors >> i & 1 else 1.0 - other.donor_bad
                for test in self.tests:
                    shows = self._shows(bad, donors, self._bits(test.swapped))
                    p *= shows if test.fault else 1.0 - shows
                worlds[bad, donors] = p
        total = sum(worlds.values())
        return {w: p / total for w, p in worlds.items()} if total > 0 else {}

    def _bits(self, swapped: frozenset[str]) -> int:
        return sum(1 << i for i, p in enumerate(self.parts) if p.part_id in swapped)

    def _shows(self, bad: int, donors: int, swapped: int) -> float:
        """Probability that a test shows the fault in this world."""
        holds_bad = bool(not swapped >> bad & 1 or donors & swapped)
        return self.sees if holds_bad else self.false_alarm

    @property
    def contradictory(self) -> bool:
        """True when no world explains all tests (a sure test said both; then more than one part is bad)."""
        return not self._worlds

    def weights(self) -> dict[str, float]:
        """How likely each part is the bad one."""
        weights = dict.fromkeys((p.part_id for p in self.parts), 0.0)
        for (bad, _), p in self._worlds.items():
            weights[self.parts[bad].part_id] += p
        return weights

    def verdict(self) -> SwapPart | None:
        """The part that is bad with at least 95 %, if there is one."""
        weights = self.weights()
        return next((p for p in self.parts if weights[p.part_id] >= ENOUGH), None)

    def bits_of(self, swapped: frozenset[str]) -> float:
        """Expected information of a test about which part is bad: the entropy now less the expected one after."""
        chosen = self._bits(swapped)
        faulty = [0.0] * len(self.parts)
        sound = [0.0] * len(self.parts)
        for (bad, donors), p in self._worlds.items():
            shows = self._shows(bad, donors, chosen)
            faulty[bad] += p * shows
            sound[bad] += p * (1.0 - shows)
        now = _entropy([f + s for f, s in zip(faulty, sound, strict=True)])
        return max(now - _entropy(faulty) - _entropy(sound), 0.0)

    def next_swap(self) -> SwapAdvice | None:
        """The swap that tells most per minute; None when there is a verdict or nothing to be learned."""
        if self.verdict() is not None:
            return None
        last = self.tests[-1].swapped if self.tests else frozenset()
        best: SwapAdvice | None = None
        for swapped in self._sets():
            minutes = self._minutes(last, swapped) + self.test_minutes
            bits = self.bits_of(swapped)
            if bits > 1e-9 and (best is None or bits / minutes > best.bits / best.minutes + 1e-12):
                best = SwapAdvice(swapped, bits, minutes, self._text(swapped, last))
        return best

    def _sets(self) -> list[frozenset[str]]:
        ids = [p.part_id for p in self.parts]
        most = len(ids) if len(ids) <= _FEW else 2
        return [frozenset(c) for n in range(most + 1) for c in combinations(ids, n)]

    def _minutes(self, now: frozenset[str], then: frozenset[str]) -> float:
        """Minutes to get from what is in the unit now to `then`: every part that goes in or comes out again."""
        return sum(p.minutes for p in self.parts if (p.part_id in now) != (p.part_id in then))

    def _text(self, swapped: frozenset[str], last: frozenset[str]) -> str:
        names = {p.part_id: p.name for p in self.parts}
        put_in = [names[p.part_id] for p in self.parts if p.part_id in swapped - last]
        take_out = [names[p.part_id] for p in self.parts if p.part_id in last - swapped]
        donors, own = grammar.listed(put_in), grammar.listed(take_out)
        if donors and own:
            return words.SWAP_IN_AND_BACK.format(donors=donors, own=own)
        if donors:
            return words.SWAP_IN.format(parts=donors)
        return words.SWAP_BACK.format(parts=own) if own else words.SWAP_NOTHING


def _entropy(weights: Sequence[float]) -> float:
    """−Σ p log₂ p of weights of total t, times t: in bits, additive over outcomes."""
    total = sum(weights)
    if total <= 0:
        return 0.0
    return -sum(w * math.log2(w / total) for w in weights if w > 0)
