"""Invented lots for the plan, and every plan of a small one."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from itertools import product

from station.diagnosis.courses import Piece
from station.diagnosis.guide import Values
from station.lots.plan import Batch, Candidate, Problem, Way

PARTS = ("left sensor", "right sensor", "board", "left paddle", "spring")
SELL = Way("sell", as_is=1.0)


def give_up(minutes: float = 6.0) -> Way:
    return Way("donor", minutes, as_parts=1.0)


def repair(minutes: float, cured: float, *pieces: Piece, ruined: float = 0.02, materials: float = 40.0) -> Way:
    return Way("repair", minutes, cured, 1.0 - cured - ruined, ruined, materials, pieces)


def a_lot(rng: random.Random, units: int, models: int = 2) -> Problem:
    """An invented lot: what units need, could give and bring is drawn, with prices like those of the guide."""
    found = []
    for n in range(units):
        ready = rng.randrange(2400, 4200, 50)
        prices = Values(ready, rng.randrange(600, 1500, 50), rng.randrange(300, 900, 50))
        if rng.random() < 0.15:
            ways = (SELL, Way("ready", ready=1.0))
            found.append(Candidate(f"u{n}", f"T-{n:03d}", f"M{rng.randrange(models)}", prices, ways))
            continue
        bad = tuple(rng.sample(PARTS, rng.choice((1, 1, 1, 2))))
        clean = repair(rng.uniform(12, 30), rng.uniform(0.2, 0.75))
        pieces = [Piece(p, rng.uniform(0.4, 1.0), rng.choice((None, 210, 380, 1100))) for p in bad]
        ways = (SELL, give_up(), clean, repair(rng.uniform(25, 60), rng.uniform(0.7, 0.95), *pieces))
        gives = tuple(p for p in PARTS if p not in bad and rng.random() < 0.8)
        found.append(Candidate(f"u{n}", f"T-{n:03d}", f"M{rng.randrange(models)}", prices, ways, gives))
    shelf = tuple(
        Batch(part, rng.randrange(1, 3), rng.choice((0, 150, 210)), frozenset({(f"M{m}", part)}))
        for m in range(models)
        for part in PARTS
        if rng.random() < 0.15
    )
    return Problem(tuple(found), shelf, 1800)


def hours_of(rng: random.Random, problem: Problem) -> float:
    """Hours that are short for such a lot, or just enough."""
    return round(len(problem.units) * rng.uniform(0.1, 0.7), 1)


def every_plan(problem: Problem, hours: float | None) -> Iterator[float]:
    """What each possible plan brings, reckoned by going through all ways and all places that parts come from."""
    for ways in product(*(u.ways for u in problem.units)):
        if hours is not None and sum(w.minutes for w in ways) > 60 * hours:
            continue
        value = 0.0
        for unit, way in zip(problem.units, ways, strict=True):
            prices = unit.prices
            value += way.ready * prices.ready_minor + way.as_is * prices.as_is_minor + way.as_parts * prices.parts_minor
            value -= way.materials_minor + way.minutes * problem.hour_minor / 60
        there: list[tuple[set[tuple[str, str]], float]] = []
        for batch in problem.shelf:
            there += [(set(batch.fits), batch.cost_minor)] * batch.count
        for unit, way in zip(problem.units, ways, strict=True):
            if way.kind == "donor":
                there += [({(unit.model, part)}, 0.0) for part in unit.gives]
        wanted = [((u.model, p.part), p) for u, w in zip(problem.units, ways, strict=True) for p in w.pieces]
        cheapest = _cheapest(wanted, there)
        if cheapest < math.inf:
            yield value - cheapest


def _cheapest(wanted: list[tuple[tuple[str, str], Piece]], there: list[tuple[set[tuple[str, str]], float]]) -> float:
    """The least cost of all the pieces: every way to hand them out is tried."""
    if not wanted:
        return 0.0
    (key, piece), rest = wanted[0], wanted[1:]
    tries = [math.inf]
    if piece.new_minor is not None:
        tries.append(piece.use * piece.new_minor + _cheapest(rest, there))
    for k, (fits, each) in enumerate(there):
        if key in fits:
            tries.append(piece.use * each + _cheapest(rest, there[:k] + there[k + 1 :]))
    return min(tries)
