"""The plan for a lot: as good as every plan gone through, within its hours and parts, and stopped at will."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import islice

import pytest

from station.diagnosis.courses import Piece
from station.diagnosis.guide import Values
from station.lots import plan
from station.lots.plan import Batch, Candidate, LotPlan, Problem, Way, begin, brings, solve, value_of
from tests.lots.plan_kit import SELL, a_lot, every_plan, give_up, hours_of, repair

PRICES = Values(3200, 1100, 700)


def kinds(plan: LotPlan) -> list[str]:
    return [way.kind for _, way in plan.rows()]


@pytest.mark.parametrize("seed", range(60))
def test_it_is_as_good_as_the_best_of_all_plans(seed: int) -> None:
    rng = random.Random(seed)
    problem = a_lot(rng, rng.randrange(1, 7), models=rng.choice((1, 1, 2)))
    hours = rng.choice((None, hours_of(rng, problem), 0.0))
    found = solve(problem, hours, seconds=60)
    assert found.is_best
    assert found.value == pytest.approx(max(every_plan(problem, hours)), abs=1e-6)


@pytest.mark.parametrize("seed", range(12))
def test_its_bound_holds_and_what_it_says_is_what_its_choice_comes_to(seed: int) -> None:
    rng = random.Random(1000 + seed)
    problem = a_lot(rng, 30)
    hours = hours_of(rng, problem)
    found = solve(problem, hours, seconds=60)
    again = value_of(problem, found.ways, hours)
    assert again is not None
    assert (again.value, again.minutes) == (found.value, found.minutes)
    assert found.minutes <= 60 * hours + 1e-3
    assert begin(problem, hours).value <= found.value <= found.bound + 1e-3


@pytest.mark.parametrize("seed", range(12))
def test_every_piece_comes_from_somewhere_and_serves_one_unit(seed: int) -> None:
    rng = random.Random(2000 + seed)
    problem = a_lot(rng, 25, models=1)
    found = solve(problem, None, seconds=60)
    wanted = [(unit.unit_id, piece.part) for unit, way in found.rows() for piece in way.pieces]
    assert sorted((s.unit_id, s.part) for s in found.sources) == sorted(wanted)
    given = [(s.giver, s.part) for s in found.sources if s.giver]
    assert len(given) == len(set(given))
    for giver, part in given:
        unit = next(u for u in problem.units if u.unit_id == giver)
        assert found.way_of(giver).kind == "donor"
        assert part in unit.gives
    for number, batch in enumerate(problem.shelf):
        assert sum(s.batch == number for s in found.sources) <= batch.count


def needs(
    n: int, part: str, gives: tuple[str, ...] = (), new_minor: int | None = None, minutes: float = 30
) -> Candidate:
    """A unit that brings 27.00 with its part and without the work, else 11.00."""
    ways = (SELL, give_up(0.0), Way("repair", 30.0, ready=27 / 32, pieces=(Piece(part, 1.0, new_minor),)))
    return Candidate(f"u{n}", f"T-{n}", "M", PRICES, ways, gives)


def test_one_unit_is_given_up_so_that_two_are_repaired() -> None:
    problem = Problem((needs(1, "a", ("b",)), needs(2, "b", ("a",)), needs(3, "board", ("a", "b"))))
    found = solve(problem, None)
    assert kinds(found) == ["repair", "repair", "donor"]
    assert found.value == 2700 + 2700 + 700
    assert {(s.unit_id, s.part, s.giver) for s in found.sources} == {("u1", "a", "u3"), ("u2", "b", "u3")}


def test_a_donors_part_serves_one_unit() -> None:
    problem = Problem((needs(1, "a"), needs(2, "a"), needs(3, "board", ("a",))))
    assert sorted(kinds(solve(problem, None))) == ["donor", "repair", "sell"]


def test_a_cheap_new_part_is_bought_and_nobody_is_given_up() -> None:
    problem = Problem((needs(1, "a", new_minor=200), needs(2, "board", ("a",))))
    found = solve(problem, None)
    assert kinds(found) == ["repair", "sell"]
    assert [s.is_new for s in found.sources] == [True]
    assert found.value == 2700 - 200 + 1100


def test_the_shelf_comes_first_at_its_price() -> None:
    problem = Problem((needs(1, "a", new_minor=200),), (Batch("a", 1, 50, frozenset({("M", "a")})),))
    found = solve(problem, None)
    assert (found.sources[0].batch, found.value) == (0, 2650)


def test_a_part_of_another_model_does_not_fit() -> None:
    other = replace(needs(2, "board", ("a",)), model="another")
    assert kinds(solve(Problem((needs(1, "a"), other)), None)) == ["sell", "sell"]


def test_what_fits_two_models_is_handed_out_once() -> None:
    either = Batch("a", 1, 0, frozenset({("M", "a"), ("another", "a")}))
    problem = Problem((needs(1, "a"), replace(needs(2, "a"), model="another")), (either,))
    assert sorted(kinds(solve(problem, None))) == ["repair", "sell"]


@pytest.mark.parametrize(("hours", "repaired"), [(0.0, 0), (0.49, 0), (0.5, 1), (1.0, 2), (9.0, 3), (None, 3)])
def test_no_more_is_done_than_the_hours_hold(hours: float | None, repaired: int) -> None:
    problem = Problem(tuple(needs(n, "a", new_minor=100) for n in range(3)))
    assert kinds(solve(problem, hours)).count("repair") == repaired


def test_what_a_way_brings_by_hand() -> None:
    way = repair(40, 0.7, ruined=0.1, materials=40)
    unit = Candidate("u", "T", "M", PRICES, (SELL, way))
    # 0.7 · 32.00 + 0.2 · 11.00 + 0.1 · 7.00 − 0.40 − 40 min at 18.00 an hour
    assert brings(way, unit, 1800) == pytest.approx(2240 + 220 + 70 - 40 - 1200)


def test_an_empty_lot_has_an_empty_plan() -> None:
    found = solve(Problem(()), 8.0)
    assert (found.ways, found.value, found.is_best) == ((), 0.0, True)


def test_a_unit_that_could_not_be_left_alone_is_refused() -> None:
    with pytest.raises(ValueError, match="neither time nor parts"):
        solve(Problem((Candidate("u", "T", "M", PRICES, (repair(30, 0.7),)),)), 8.0)


# --- stopped ------------------------------------------------------------------------------------------------


def test_stopped_at_once_it_has_a_plan_that_can_be_carried_out_and_no_bound() -> None:
    problem = a_lot(random.Random(7), 30)
    found = solve(problem, 5.0, stop=lambda: True)
    assert value_of(problem, found.ways, 5.0) is not None
    assert found.gap == float("inf")
    assert not found.is_best


def test_where_time_is_up_the_solver_has_a_plan_and_a_bound_that_holds() -> None:
    """Units that bring nearly as much as they take minutes are hard to choose from: whether it comes to the end or not,
    what it says must hold."""
    rng = random.Random(3)
    units = []
    for n in range(150):
        minutes = rng.randrange(1000, 100_000)
        ways = (Way("sell"), *(Way("repair", minutes + rng.randrange(-50, 50), 1.0 - 0.01 * k) for k in range(3)))
        units.append(Candidate(f"u{n}", f"T-{n}", "M", Values(minutes + 10_000, 0, 0), ways))
    problem = Problem(tuple(units))
    hours = sum(unit.ways[1].minutes for unit in units) / 120
    plans = list(plan.improving(problem, hours, seconds=1.0))
    assert [p.value for p in plans] == sorted(p.value for p in plans)
    assert [p.bound for p in plans] == sorted((p.bound for p in plans), reverse=True)
    for found in plans:
        assert value_of(problem, found.ways, hours) == replace(found, bound=math.inf)
        assert found.value <= found.bound + 1e-3


def test_without_time_it_has_a_plan_too() -> None:
    problem = a_lot(random.Random(7), 30)
    assert solve(problem, 5.0, seconds=0.0).value == begin(problem, 5.0).value


def test_stopped_between_two_slices_it_keeps_the_best_so_far_and_its_gap(monkeypatch: pytest.MonkeyPatch) -> None:
    problem, hours = a_lot(random.Random(11), 12), 3.0
    best = solve(problem, hours, seconds=60)
    first = begin(problem, hours)
    assert first.value < best.value
    slices = iter([(None, best.value + 900.0), (best.ways, best.value + 400.0), (None, best.value + 600.0)])
    monkeypatch.setattr(plan._Programme, "run", lambda self, seconds: next(slices))
    told = list(islice(plan.improving(problem, hours), 4))
    assert [round(one.gap) for one in told[1:]] == [round(best.value - first.value + 900), 400, 400]
    assert (told[-1].value, told[-1].is_best) == (best.value, False)
