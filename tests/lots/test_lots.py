"""Money of a lot and the choice of donors."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import product

import pytest

from station.diagnosis.guide import load_guide
from station.lots.money import lot_money
from station.lots.planner import EXACT, Need, plan_donors
from station.records.types import Lot, Treatment, Unit

GUIDE = load_guide()
LOT = Lot("l", "SM-07", "2026-03-02", cost_minor=9600)


def a_unit(n: int, becomes: str, sold: int = 0) -> Unit:
    return Unit(str(n), f"SM-07-{n:02d}", "Plover T2", "l", becomes=becomes, sold_minor=sold)


def test_what_a_lot_cost_and_brought_adds_up():
    units = [a_unit(1, "sold", 3100), a_unit(2, "ready"), a_unit(3, "donor"), a_unit(4, "scrap"), a_unit(5, "open")]
    treatments = [
        Treatment("a", "1", "clean the sensor", "2026-03-06", minutes=20, cost_minor=40),
        Treatment("b", "2", "replace sensor", "2026-03-06", minutes=40, cost_minor=210),
        Treatment("c", "2", "adjust", "2026-03-06", minutes=0, cost_minor=999, currency="CHF"),
    ]
    found = lot_money(LOT, units, treatments, GUIDE)
    assert (found.units, found.paid, found.materials, found.minutes) == (5, 9600, 250, 60)
    assert (found.labour, found.sold, found.sold_units) == (1800, 3100, 1)
    assert found.expected == 3200 + 700 + 1100
    assert found.result == 3100 - 9600 - 250 - 1800
    assert found.outlook == found.result + found.expected
    assert found.other_currencies == ("CHF",)


def test_a_lot_in_another_currency_is_not_mixed_with_the_guides():
    found = lot_money(replace(LOT, currency="CHF"), [a_unit(1, "ready")], [], GUIDE)
    assert (found.labour, found.expected) == (0, 0)


def need(
    n: int, parts: tuple[str, ...], has: tuple[str, ...], mended: int, as_is: int = 1100, donor: int = 700
) -> Need:
    return Need(str(n), f"SM-07-{n:02d}", "Plover T2", parts, has, mended, as_is, donor)


def test_one_unit_is_given_up_so_that_two_can_be_mended():
    needs = [
        need(1, ("left sensor",), ("right sensor", "board"), 2600),
        need(2, ("right sensor",), ("left sensor", "board"), 2600),
        need(3, ("board",), ("left sensor", "right sensor"), 1500),
    ]
    plan = plan_donors(needs)
    assert (plan.donors, plan.mend, plan.sell_as_is) == (("3",), ("1", "2"), ())
    assert (plan.value, plan.plain) == (700 + 2600 + 2600, 3300)


def test_nobody_is_given_up_when_the_shelf_has_the_part():
    needs = [need(1, ("left sensor",), ("board",), 2600), need(2, ("board",), ("left sensor",), 2600)]
    plan = plan_donors(needs, {("Plover T2", "left sensor"): 1, ("Plover T2", "board"): 1})
    assert (plan.donors, plan.mend, plan.value) == ((), ("1", "2"), 5200)


def test_a_part_of_another_model_does_not_fit():
    other = replace(need(2, ("board",), ("left sensor",), 1200), model="Heron 4")
    assert plan_donors([need(1, ("left sensor",), (), 2600), other]).mend == ()


def brute_force(needs: list[Need]) -> int:
    """Best value over every assignment of give / mend / as it is, each mended unit supplied by the donors."""
    best = 0
    for states in product(("give", "mend", "as is"), repeat=len(needs)):
        pool: dict[tuple[str, str], int] = {}
        for n, state in zip(needs, states, strict=True):
            for part in n.has if state == "give" else ():
                pool[n.model, part] = pool.get((n.model, part), 0) + 1
        for n, state in zip(needs, states, strict=True):
            for part in n.parts if state == "mend" else ():
                pool[n.model, part] = pool.get((n.model, part), 0) - 1
        if all(count >= 0 for count in pool.values()):
            value = {"give": lambda n: n.as_donor, "mend": lambda n: n.mended, "as is": lambda n: n.as_is}
            best = max(best, sum(value[s](n) for n, s in zip(needs, states, strict=True)))
    return best


@pytest.mark.parametrize("seed", range(25))
def test_the_plan_is_the_best_of_all_where_units_need_one_part_each(seed: int):
    rng = random.Random(seed)
    kinds = ("a", "b", "c")
    needs = [
        need(n, (rng.choice(kinds),), tuple(k for k in kinds if rng.random() < 0.6), rng.randrange(900, 3000))
        for n in range(6)
    ]
    assert plan_donors(needs).value == brute_force(needs)


def test_a_large_lot_is_planned_too_and_never_worse_than_without_donors():
    rng = random.Random(5)
    kinds = ("a", "b", "c", "d")
    needs = [need(n, (rng.choice(kinds),), tuple(rng.sample(kinds, 2)), 2600) for n in range(EXACT + 30)]
    plan = plan_donors(needs)
    assert plan.value > plan.plain
    assert len(plan.donors) + len(plan.mend) + len(plan.sell_as_is) == len(needs)


def test_an_empty_lot_has_an_empty_plan():
    assert plan_donors([]).value == 0
