"""Isolation by swaps against brute-force enumeration with exact fractions, and against plain elimination."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import combinations, product

import numpy as np
import pytest

from station.diagnosis.swaps import SwapPart, SwapSearch


def brute_force(
    weights: list[Fraction],
    donor_bad: list[Fraction],
    sees: Fraction,
    alarm: Fraction,
    tests: list[tuple[set[int], bool]],
) -> list[Fraction]:
    """P(part j is the bad one | tests), every world written out: which part, and which donor parts, are bad."""
    out = [Fraction(0)] * len(weights)
    for bad in range(len(weights)):
        for donors in product((False, True), repeat=len(weights)):
            p = weights[bad]
            for is_bad, q in zip(donors, donor_bad, strict=True):
                p *= q if is_bad else 1 - q
            for swapped, fault in tests:
                inside = [donors[i] if i in swapped else i == bad for i in range(len(weights))]
                shows = sees if any(inside) else alarm
                p *= shows if fault else 1 - shows
            out[bad] += p
    total = sum(out)
    return [p / total for p in out]


def parts_of(weights: list[Fraction], donor_bad: list[Fraction]) -> tuple[SwapPart, ...]:
    pairs = enumerate(zip(weights, donor_bad, strict=True))
    return tuple(SwapPart(str(i), f"part {i}", float(w), 5, float(d)) for i, (w, d) in pairs)


@pytest.mark.parametrize("seed", range(40))
def test_posteriors_are_those_of_the_enumeration(seed: int):
    rng = np.random.default_rng(seed)
    n = int(rng.integers(1, 6))
    weights = [Fraction(int(w), 64) for w in rng.integers(1, 20, n)]
    donor_bad = [Fraction(int(d), 32) for d in rng.integers(0, 8, n)]
    sees, alarm = Fraction(int(rng.integers(8, 16)), 16), Fraction(int(rng.integers(0, 3)), 32)
    tests = [({int(i) for i in range(n) if rng.random() < 0.5}, bool(rng.random() < 0.5)) for _ in range(4)]
    search = SwapSearch(parts_of(weights, donor_bad), float(sees), float(alarm))
    for swapped, fault in tests:
        search = search.after(frozenset(map(str, swapped)), fault)
    expected = brute_force(weights, donor_bad, sees, alarm, tests)
    assert [search.weights()[str(i)] for i in range(n)] == pytest.approx([float(p) for p in expected], abs=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_sure_tests_and_good_donors_are_plain_elimination_by_sets(seed: int):
    """Fault gone: the bad part is among those swapped. Fault still there: it is among the others."""
    rng = np.random.default_rng(50 + seed)
    n = int(rng.integers(2, 7))
    truth = int(rng.integers(n))
    search = SwapSearch(tuple(SwapPart(str(i), str(i), 1.0, 5, 0.0) for i in range(n)), sees=1.0)
    left = set(range(n))
    for _ in range(3):
        swapped = {i for i in range(n) if rng.random() < 0.5}
        fault = truth not in swapped
        left &= set(range(n)) - swapped if fault else swapped
        search = search.after(frozenset(map(str, swapped)), fault)
    expected = [1 / len(left) if i in left else 0.0 for i in range(n)]
    assert [search.weights()[str(i)] for i in range(n)] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("seed", range(15))
def test_the_information_of_a_swap_is_the_mean_fall_in_entropy(seed: int):
    """Shannon's mutual information, from the enumeration's posteriors after either outcome."""
    rng = np.random.default_rng(80 + seed)
    n = int(rng.integers(2, 5))
    weights = [Fraction(int(w), 32) for w in rng.integers(1, 12, n)]
    donor_bad = [Fraction(int(d), 32) for d in rng.integers(0, 6, n)]
    sees = Fraction(int(rng.integers(20, 33)), 32)
    search = SwapSearch(parts_of(weights, donor_bad), float(sees))
    total = sum(weights)
    prior = [w / total for w in weights]

    def entropy(ps: list[Fraction]) -> float:
        return -sum(float(p) * math.log2(p) for p in ps if p)

    for size in range(n + 1):
        for swapped in combinations(range(n), size):
            shows = Fraction(0)
            for bad in range(n):
                for donors in product((False, True), repeat=n):
                    p = prior[bad]
                    for is_bad, q in zip(donors, donor_bad, strict=True):
                        p *= q if is_bad else 1 - q
                    if bad not in swapped or any(donors[i] for i in swapped):
                        shows += p * sees
            after = 0.0
            for outcome, p in ((True, shows), (False, 1 - shows)):
                if p:
                    posterior = brute_force(weights, donor_bad, sees, Fraction(0), [(set(swapped), outcome)])
                    after += float(p) * entropy(posterior)
            assert search.bits_of(frozenset(map(str, swapped))) == pytest.approx(entropy(prior) - after, abs=1e-9)


@pytest.mark.recomputed
def test_a_clean_run_after_a_swap_by_luck():
    """Intermittent fault that shows in a press with q = .2: 20 clean presses by luck .8²⁰ = .0115292 [computed].

    As one test of 20 presses the fault is seen with 1 − .8²⁰; a part of weight ½ that was swapped without cure then
    keeps ½ · .0115292 / (½ + ½ · .0115292).
    """
    missed = 0.8**20
    assert missed == pytest.approx(0.0115292, abs=5e-8)
    parts = (SwapPart("a", "a", 1, 5, 0.0), SwapPart("b", "b", 1, 5, 0.0))
    search = SwapSearch(parts, sees=1 - missed).after(frozenset({"a"}), False)
    assert search.weights()["b"] == pytest.approx(missed / (1 + missed), rel=1e-9)
