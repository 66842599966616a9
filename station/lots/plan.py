"""The plan for a lot: what becomes of each unit, within the hours at hand, so that the expected profit is greatest.

A mixed-integer programme, solved by HiGHS through `scipy.optimize.milp` (Huangfu and Hall, Mathematical Programming
Computation 10, 2018, as SciPy's documentation cites it).

Given
    W(i)    the ways of unit i: sell it as it is, call it ready, give it up for parts, or one of the courses of its
            repair (`diagnosis.courses`); exactly one is taken, and one at least takes no time
    v(i,w)  what the way is expected to bring, after materials and after its minutes at the price of an hour, without
            the parts of `P(i,w)` [minor units]
    m(i,w)  its expected minutes
    P(i,w)  the pieces that it must have at hand; piece p is of a key k(p) = (model, part) and is put in with the
            probability u(p)
    B       batches on the shelf: b holds n(b) pieces at c(b) each, and fits some keys
    g(j,k)  1 if unit j would give a good part of key k once it is given up, else 0
    H       hours at hand; none: as many as it takes

Variables
    x(i,w)    in {0, 1}: unit i goes way w
    z(p,b)    in [0, 1]: piece p comes from batch b of the shelf, at u(p)·c(b)
    z(p,gift) in [0, 1]: … from a unit that is given up, for nothing
    z(p,new)  in [0, 1]: … is bought, at u(p) · its price; only where it can be bought

    maximise  Σ v(i,w)·x(i,w) − Σ u(p)·cost·z(p,·)                                [minor units]
    subject to
    Σ_w x(i,w) = 1                                       each unit i: it goes one way
    Σ_s z(p,s) = x(i,w)                                  each piece p of w: it comes from somewhere if the way is gone
    Σ_p z(p,b) ≤ n(b)                                    each batch b: no more than lie there
    Σ_{p of key k} z(p,gift) ≤ Σ_j g(j,k)·x(j,give up)   each key k: a donor's part serves one unit
    Σ m(i,w)·x(i,w) ≤ 60·H                               the hours, as expected

With x whole the rest is a transport of pieces, so whole z are among the best and need not be asked for. Whatever the
solver says is reckoned again (`value_of`): pieces are handed out by the assignment problem, and the sum is exact.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from station.diagnosis.courses import Deed, Piece
from station.diagnosis.guide import Values

Kind = Literal["repair", "ready", "rest", "sell", "donor"]
Key = tuple[str, str]
"""(model, name of the part)"""
LIMIT_S = 8.0
"""so long the solver may work at most, of the clock on the wall"""
FIRST_SLICE_S = 0.5
"""the solver works in slices, each twice as long as the one before, and can be stopped between two"""
EXACT_MINOR = 0.5
"""a plan is the best when nothing can bring so much more, in minor units"""
_MINUTES = 60
_SLACK_MIN = 1e-4
"""what the solver may be off by in the hours, in minutes"""
Chosen = tuple[int, ...]
"""for each unit, the index of its way"""


@dataclass(frozen=True, slots=True)
class Way:
    """What may become of a unit. `ready`, `as_is`, `as_parts`: probabilities of what it is sold as in the end.

    `minutes` and `materials_minor` are expected; parts stand in `pieces`. `does`: the treatments, in their order.
    """

    kind: Kind
    minutes: float = 0.0
    ready: float = 0.0
    as_is: float = 0.0
    as_parts: float = 0.0
    materials_minor: float = 0.0
    pieces: tuple[Piece, ...] = ()
    does: tuple[Deed, ...] = ()


@dataclass(frozen=True, slots=True)
class Candidate:
    """A unit whose way is open. `gives`: names of the parts it could give. `prices`: what it brings, minor units."""

    unit_id: str
    tag: str
    model: str
    prices: Values
    ways: tuple[Way, ...]
    gives: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Batch:
    """Pieces on the shelf, at `cost_minor` each, and what they fit."""

    name: str
    count: int
    cost_minor: int
    fits: frozenset[Key]


@dataclass(frozen=True, slots=True)
class Problem:
    """All that a plan depends on but the hours. `hour_minor`: the price of an hour."""

    units: tuple[Candidate, ...]
    shelf: tuple[Batch, ...] = ()
    hour_minor: int = 0


@dataclass(frozen=True, slots=True)
class Source:
    """Where a piece of the unit comes from: a batch of the shelf, the unit `giver`, or the shop that sells it new."""

    unit_id: str
    part: str
    use: float
    cost_minor: float
    batch: int | None = None
    giver: str = ""

    @property
    def is_new(self) -> bool:
        return self.batch is None and not self.giver


@dataclass(frozen=True, slots=True)
class LotPlan:
    """What becomes of each unit. `value`: what it is expected to bring, in minor units; no plan brings more than
    `bound`. `sources`: where the parts come from."""

    problem: Problem
    hours: float | None
    ways: Chosen
    value: float
    minutes: float
    bound: float = math.inf
    sources: tuple[Source, ...] = field(default=(), compare=False)

    @property
    def gap(self) -> float:
        """So much more another plan could bring at most, in minor units."""
        return max(self.bound - self.value, 0.0)

    @property
    def is_best(self) -> bool:
        return self.gap < EXACT_MINOR

    def way_of(self, unit_id: str) -> Way:
        k = next(k for k, unit in enumerate(self.problem.units) if unit.unit_id == unit_id)
        return self.problem.units[k].ways[self.ways[k]]

    def rows(self) -> Iterator[tuple[Candidate, Way]]:
        for unit, way in zip(self.problem.units, self.ways, strict=True):
            yield unit, unit.ways[way]


def brings(way: Way, unit: Candidate, hour_minor: int) -> float:
    """v(i,w) of the programme: what a way is expected to bring, in minor units, without its parts."""
    prices = unit.prices
    sold = way.ready * prices.ready_minor + way.as_is * prices.as_is_minor + way.as_parts * prices.parts_minor
    return sold - way.materials_minor - way.minutes * hour_minor / _MINUTES


# --- what a choice of ways comes to -------------------------------------------------------------------------


def value_of(problem: Problem, ways: Sequence[int], hours: float | None = None) -> LotPlan | None:
    """What it comes to when each unit goes this way, with the parts handed out at the least cost; None where that
    cannot be: hours or parts are short."""
    taken = [(unit, unit.ways[way]) for unit, way in zip(problem.units, ways, strict=True)]
    minutes = sum(way.minutes for _, way in taken)
    if hours is not None and minutes > _MINUTES * hours + _SLACK_MIN:
        return None
    sources = _handed_out(problem, taken)
    if sources is None:
        return None
    value = sum(brings(way, unit, problem.hour_minor) for unit, way in taken) - sum(s.cost_minor for s in sources)
    return LotPlan(problem, hours, tuple(ways), value, minutes, sources=sources)


def _handed_out(problem: Problem, taken: Sequence[tuple[Candidate, Way]]) -> tuple[Source, ...] | None:
    """Where each piece comes from, at the least cost; a piece of the shelf before one of a donor for as little."""
    wanted = [((unit.model, piece.part), unit, piece) for unit, way in taken for piece in way.pieces]
    if not wanted:
        return ()
    from scipy.optimize import linear_sum_assignment  # loaded when first used: a cold start needs none of it

    keys = {key for key, *_ in wanted}
    there: list[tuple[frozenset[Key], float, int | None, str]] = []
    for number, batch in enumerate(problem.shelf):
        there += [(batch.fits, batch.cost_minor, number, "")] * min(batch.count, len(wanted))
    for unit, way in taken:
        if way.kind == "donor":
            mine = keys & {(unit.model, part) for part in unit.gives}
            there += [(frozenset({key}), 0.0, None, unit.unit_id) for key in sorted(mine)]
    fitting = {key: np.array([c for c, (fits, *_) in enumerate(there) if key in fits], dtype=int) for key in keys}
    each_of = np.array([each for _, each, _, _ in there])
    later = np.array([1e-6 if number is None else 0.0 for _, _, number, _ in there])
    cost = np.full((len(wanted), len(there) + len(wanted)), np.inf)
    for row, (key, _, piece) in enumerate(wanted):
        if len(columns_of := fitting[key]):
            cost[row, columns_of] = piece.use * each_of[columns_of] + later[columns_of]
        if piece.new_minor is not None:
            cost[row, len(there) + row] = piece.use * piece.new_minor + 2e-6
    try:
        columns = linear_sum_assignment(cost)[1]
    except ValueError:  # a piece that comes from nowhere
        return None
    found = []
    for (_, unit, piece), column in zip(wanted, columns, strict=True):
        if column < len(there):
            _, each, batch_number, giver = there[column]
            found.append(Source(unit.unit_id, piece.part, piece.use, piece.use * each, batch_number, giver))
        else:
            assert piece.new_minor is not None
            found.append(Source(unit.unit_id, piece.part, piece.use, piece.use * piece.new_minor))
    return tuple(found)


# --- without the solver ---------------------------------------------------------------------------------------


def begin(problem: Problem, hours: float | None) -> LotPlan:
    """A plan to begin with, at once: what takes no time, then what brings most for its minutes while there are any."""
    hour = problem.hour_minor
    ways = [
        max((k for k, way in enumerate(unit.ways) if not way.minutes and not way.pieces),
            key=lambda k, unit=unit: brings(unit.ways[k], unit, hour))  # type: ignore[misc]
        for unit in problem.units
    ]  # fmt: skip
    better = []
    for i, unit in enumerate(problem.units):
        now = brings(unit.ways[ways[i]], unit, hour)
        for k, way in enumerate(unit.ways):
            gain = brings(way, unit, hour) - now
            if gain > 0:
                better.append((gain / max(way.minutes, 1e-9), gain, i, k))
    minutes, cost = 0.0, 0.0
    done: set[int] = set()
    holding: list[tuple[Candidate, Way]] = []
    for _, gain, i, k in sorted(better, reverse=True):
        unit, way = problem.units[i], problem.units[i].ways[k]
        if i in done or (hours is not None and minutes + way.minutes > _MINUTES * hours):
            continue
        if way.pieces:
            sources = _handed_out(problem, [*holding, (unit, way)])
            more = math.inf if sources is None else sum(source.cost_minor for source in sources) - cost
            if more >= gain:
                continue
            holding.append((unit, way))
            cost += more
        minutes += way.minutes
        ways[i] = k
        done.add(i)
    best = value_of(problem, ways, hours)
    assert best is not None
    return best


# --- the programme ----------------------------------------------------------------------------------------------


def solve(
    problem: Problem, hours: float | None, *, seconds: float = LIMIT_S, stop: Callable[[], bool] = lambda: False
) -> LotPlan:
    """The plan of the greatest expected profit; the best so far, with its gap, where time is up or `stop` says so.
    As `improving`."""
    plans = improving(problem, hours, seconds)
    best = next(plans)
    for plan in plans if not stop() else ():
        best = plan
        if stop():
            break
    return best


def improving(problem: Problem, hours: float | None, seconds: float = LIMIT_S) -> Iterator[LotPlan]:
    """Better and better plans, the first at once, until none is better or time is up (wall clock, and a little).

    `hours` >= 0, or None for as many as it takes. Every unit has a way without minutes and pieces (else ValueError).
    """
    if any(all(way.minutes or way.pieces for way in unit.ways) for unit in problem.units):
        raise ValueError("a unit without a way that takes neither time nor parts")
    best = begin(problem, hours)
    if not problem.units:
        yield replace(best, bound=best.value)
        return
    yield best
    programme = _Programme(problem, hours)
    until, slice_s = time.monotonic() + seconds, FIRST_SLICE_S
    while not best.is_best and (left := until - time.monotonic()) > 0:
        ways, bound = programme.run(min(slice_s, left))
        found = value_of(problem, ways, hours) if ways is not None else None
        bound = min(best.bound, bound)
        best = replace(found if found is not None and found.value > best.value else best, bound=bound)
        yield best
        slice_s *= 2


class _Programme:
    """The matrices of a problem, made once."""

    def __init__(self, problem: Problem, hours: float | None) -> None:
        self._problem, self._hours = problem, hours
        self._gain: list[float] = []
        self._whole: list[int] = []
        self._rows: list[tuple[dict[int, float], float, float]] = []
        self._x: list[dict[int, int]] = []
        """unit → way → number of its variable; a way whose pieces come from nowhere has none"""
        gifts: dict[Key, dict[int, float]] = {}
        taken: dict[int, dict[int, float]] = {}
        can_give = {(unit.model, part) for unit in problem.units for part in unit.gives if _can_be_given_up(unit)}
        for unit in problem.units:
            self._x.append({})
            for k, way in enumerate(unit.ways):
                supply = [self._sources((unit.model, piece.part), piece, can_give) for piece in way.pieces]
                if all(supply):
                    x = self._x[-1][k] = self._variable(brings(way, unit, problem.hour_minor), whole=1)
                    self._supplied(x, way, unit.model, supply, gifts, taken)
            self._rows.append((dict.fromkeys(self._x[-1].values(), 1.0), 1.0, 1.0))
        for number, uses in taken.items():
            self._rows.append((uses, -np.inf, float(problem.shelf[number].count)))
        self._givers(gifts)
        if hours is not None:
            self._rows.append((self._minutes(), -np.inf, _MINUTES * hours))

    def _variable(self, gain: float, whole: int) -> int:
        self._gain.append(gain)
        self._whole.append(whole)
        return len(self._gain) - 1

    def _sources(self, key: Key, piece: Piece, can_give: set[Key]) -> list[tuple[float, int | None, bool]]:
        """(cost, batch or None, whether it is a gift) of every place that the piece may come from."""
        found: list[tuple[float, int | None, bool]] = [
            (piece.use * batch.cost_minor, number, False)
            for number, batch in enumerate(self._problem.shelf)
            if batch.count > 0 and key in batch.fits
        ]
        if key in can_give:
            found.append((0.0, None, True))
        if piece.new_minor is not None:
            found.append((piece.use * piece.new_minor, None, False))
        return found

    def _supplied(
        self,
        x: int,
        way: Way,
        model: str,
        supply: Sequence[Sequence[tuple[float, int | None, bool]]],
        gifts: dict[Key, dict[int, float]],
        taken: dict[int, dict[int, float]],
    ) -> None:
        """Each piece of the way comes from somewhere if the way is gone."""
        for piece, places in zip(way.pieces, supply, strict=True):
            row = {x: -1.0}
            for cost, batch, is_gift in places:
                z = self._variable(-cost, whole=0)
                row[z] = 1.0
                if is_gift:
                    gifts.setdefault((model, piece.part), {})[z] = 1.0
                elif batch is not None:
                    taken.setdefault(batch, {})[z] = 1.0
            self._rows.append((row, 0.0, 0.0))

    def _givers(self, gifts: dict[Key, dict[int, float]]) -> None:
        """A donor's part serves one unit."""
        for key, row in gifts.items():
            for unit, numbers in zip(self._problem.units, self._x, strict=True):
                if unit.model == key[0] and key[1] in unit.gives:
                    row |= {x: -1.0 for k, x in numbers.items() if unit.ways[k].kind == "donor"}
            self._rows.append((row, -np.inf, 0.0))

    def _minutes(self) -> dict[int, float]:
        return {
            x: unit.ways[k].minutes
            for unit, numbers in zip(self._problem.units, self._x, strict=True)
            for k, x in numbers.items()
            if unit.ways[k].minutes
        }

    def run(self, seconds: float) -> tuple[Chosen | None, float]:
        """(the best ways that were found in the time, a bound on what any can bring)."""
        from scipy.optimize import Bounds, LinearConstraint, milp  # loaded when first used
        from scipy.sparse import csr_array

        entries = [(r, c, value) for r, (row, _, _) in enumerate(self._rows) for c, value in row.items()]
        rows, columns, values = zip(*entries, strict=True)
        matrix = csr_array((values, (rows, columns)), shape=(len(self._rows), len(self._gain)))
        result = milp(
            -np.array(self._gain),
            integrality=np.array(self._whole),
            bounds=Bounds(0, 1),
            constraints=LinearConstraint(
                matrix, [low for _, low, _ in self._rows], [high for _, _, high in self._rows]
            ),
            options={"time_limit": seconds, "mip_rel_gap": 0.0},
        )
        bound = result.get("mip_dual_bound")
        upper = -float(bound) if bound is not None and math.isfinite(bound) else math.inf
        if result.x is None:
            return None, upper
        return tuple(max(numbers, key=lambda k: result.x[numbers[k]]) for numbers in self._x), upper


def _can_be_given_up(unit: Candidate) -> bool:
    return any(way.kind == "donor" for way in unit.ways)
