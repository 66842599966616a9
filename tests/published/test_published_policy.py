"""The order of treatments against exhaustive search and the published rule."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from station.diagnosis.plan import Option, Stakes, best_plan, expected_cost, pc_order

# Worked case p = .5 .3 .2, c = 10 3 1; costs of all six orders, brute force [computed].
# Rule: Heckerman, Breese, Rommelse, CACM 38(3) 1995, 49-57 [rule read in abstracts]; Kadane and Simon 1977.
_P, _C = (0.5, 0.3, 0.2), (10.0, 3.0, 1.0)
_ORDERS = {
    (0, 1, 2): 11.7,
    (0, 2, 1): 11.4,
    (1, 0, 2): 10.2,
    (1, 2, 0): 8.7,
    (2, 0, 1): 9.9,
    (2, 1, 0): 8.4,
}


@pytest.mark.recomputed
@pytest.mark.parametrize(("order", "cost"), _ORDERS.items(), ids=lambda v: str(v))
def test_expected_costs_of_the_six_orders_of_the_worked_case(order: tuple[int, ...], cost: float):
    assert expected_cost(order, _P, _C) == pytest.approx(cost, abs=1e-12)


def test_falling_p_over_c_is_the_cheapest_order_of_the_worked_case():
    assert pc_order(_P, _C) == (2, 1, 0)


@pytest.mark.parametrize("seed", range(40))
def test_falling_p_over_c_is_never_beaten_by_any_permutation(seed: int):
    """The published rule, held against every order of up to seven treatments (5,040). No published table of
    numbers was found."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 8 if seed % 10 == 0 else 7))
    p = rng.dirichlet(np.ones(n))
    c = rng.uniform(0.2, 30, n)
    cheapest = min(expected_cost(order, p, c) for order in permutations(range(n)))
    assert expected_cost(pc_order(p, c), p, c) == pytest.approx(cheapest, rel=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_the_rule_is_smiths_rule_for_weighted_completion_times(seed: int):
    """Smith 1956 (from memory): Σ w·C is least in the order of falling w/t; here w = p, t = c. Same sum, other form."""
    rng = np.random.default_rng(100 + seed)
    p, c = rng.dirichlet(np.ones(5)), rng.uniform(1, 9, 5)
    order = list(pc_order(p, c))
    weighted = sum(p[i] * sum(c[k] for k in order[: order.index(i) + 1]) for i in order)
    assert expected_cost(order, p, c) == pytest.approx(weighted, rel=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_the_search_finds_the_p_over_c_order_where_the_rules_conditions_hold(seed: int):
    """One fault, perfect independent treatments, no opening, free tests, no stopping: the search must agree."""
    rng = np.random.default_rng(200 + seed)
    n = int(rng.integers(2, 7))
    p, c = rng.dirichlet(np.ones(n)), rng.uniform(0.5, 9, n)
    options = [Option(tuple(float(i == j) for j in range(n)), float(c[i])) for i in range(n)]
    stakes = Stakes(cured=1e6, stop=-1e6, ruined=0.0, open_cost=0.0, test_cost=0.0)
    plan = best_plan(p, options, stakes)
    order = pc_order(p, c)
    assert 1e6 - plan.value == pytest.approx(expected_cost(order, p, c), rel=1e-9)
    assert plan.round[0] == order[0]


def test_a_shared_opening_breaks_the_rule_and_the_search_knows_it():
    """Cost clusters (Ottosen and Jensen, arXiv 1203.3502 [abstract read]): p/c with the opening in c is not optimal.

    Hand-worked: A outside, p .4, c 5. B and C inside, p .35 and .25, c 1 each, opening 6, tests free.
    p/c with the opening counted: A .08, B .05, C .036 → A first: 5 + .6·(6 + 1) + .25·1 = 9.45.
    Inside first: 6 + 1 + .65·1 + .4·5 = 9.65. With opening 4: 5 + .6·5 + .25 = 8.25 against 4 + 1 + .65 + 2 = 7.65.
    """
    p = (0.4, 0.35, 0.25)
    cures = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]
    for opening, first, cost in ((6.0, 0, 9.45), (4.0, 1, 7.65)):
        options = [
            Option(cures[0], 5.0),
            Option(cures[1], 1.0, needs_open=True),
            Option(cures[2], 1.0, needs_open=True),
        ]
        plan = best_plan(p, options, Stakes(1e6, -1e6, 0.0, opening, 0.0, test_closes=False))
        assert plan.round[0] == first
        assert 1e6 - plan.value == pytest.approx(cost, abs=1e-6)


# --- the search against enumeration of all policies over explicit worlds ------------------------------------------

_Worlds = dict[tuple[int, bool], float]
"""(bad part, cured) → probability"""


def _act(worlds: _Worlds, option: Option) -> _Worlds:
    out: _Worlds = {}
    for (bad, cured), p in worlds.items():
        q = 1.0 if cured else option.cures[bad]
        out[bad, True] = out.get((bad, True), 0.0) + p * q
        out[bad, False] = out.get((bad, False), 0.0) + p * (1.0 - q)
    return out


def _enumerated(worlds: _Worlds, left: frozenset[int], opened: bool, untested: bool, options, stakes: Stakes) -> float:
    """Best expected value, unnormalised: worlds carry their probability; every decision is tried."""
    mass = sum(worlds.values())
    values = [mass * stakes.stop]
    if untested:
        sound = sum(p for (_, cured), p in worlds.items() if cured)
        still = {w: p for w, p in worlds.items() if not w[1]}
        on = _enumerated(still, left, opened and not stakes.test_closes, False, options, stakes)
        values.append(-mass * stakes.test_cost + sound * stakes.cured + on)
    for i in left:
        option = options[i]
        if any(k not in left for k in option.pointless_after) or (option.after is not None and option.after in left):
            continue
        cost = option.cost + (stakes.open_cost if option.needs_open and not opened else 0.0)
        survive = {w: p * (1.0 - option.harm) for w, p in worlds.items()}
        on = _enumerated(_act(survive, option), left - {i}, opened or option.needs_open, True, options, stakes)
        values.append(-mass * cost + mass * option.harm * stakes.ruined + on)
    return max(values)


@pytest.mark.parametrize("seed", range(60))
def test_the_search_is_exact_with_openings_postponed_tests_harm_and_stopping(seed: int):
    """When to test (Ottosen and Jensen 2010 [abstract read]) and clusters together, against all policies."""
    rng = np.random.default_rng(300 + seed)
    n, parts = int(rng.integers(1, 5)), int(rng.integers(1, 4))
    weights = rng.dirichlet(np.ones(parts))
    options = [
        Option(
            tuple(float(q) for q in rng.uniform(0, 1, parts) * (rng.random(parts) < 0.7)),
            float(rng.uniform(0, 300)),
            float(rng.choice([0.0, 0.02, 0.2])),
            bool(rng.random() < 0.6),
            pointless_after=(0,) if i == 1 and rng.random() < 0.5 else (),
            after=2 if i == 3 and rng.random() < 0.5 else None,
        )
        for i in range(n)
    ]
    stakes = Stakes(3000.0, 1000.0, 600.0, 180.0, 120.0, bool(rng.random() < 0.5))
    worlds = {(j, False): float(w) for j, w in enumerate(weights)}
    best = _enumerated(worlds, frozenset(range(n)), False, False, options, stakes)
    assert best_plan(weights, options, stakes).value == pytest.approx(best, rel=1e-9)
