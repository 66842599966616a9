"""Is the plan for a lot better than simple rules, as good as every plan gone through, and quick?

    python tests/bench/plan.py --lots 500

Draws lots with hours that are short, and compares the plan with three rules under the same hours, prices and parts:
"repair all" (one unit after the other, as long as hours and parts last), "give up the worst" (the unit whose repair
brings least is given up, the others are repaired), and the order of the picture of a lot (its donors, then by gain).
Small lots are also compared with every plan there is. Then a lot of 50 units out of records: from nothing to the plan
with all that may move, as time of the processor. One JSON line last.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from station.app.lots import LotAdviser  # noqa: E402
from station.app.shelf_of_sheets import SheetShelf  # noqa: E402
from station.diagnosis.guide import load_guide  # noqa: E402
from station.lots.agenda import worked_out  # noqa: E402
from station.lots.plan import LotPlan, Problem, brings, solve, value_of  # noqa: E402
from station.lots.planner import Need, plan_donors  # noqa: E402
from tests.bench.lot import fill  # noqa: E402
from tests.lots.plan_kit import a_lot, every_plan, hours_of  # noqa: E402
from tests.records.records_kit import open_store  # noqa: E402

LIMITS = {"worse": 0, "unlike_enumeration": 0, "fifty_s": 5.0}
CENT = 0.5


class Rule:
    """A plan that is made unit by unit, as long as hours and parts last."""

    def __init__(self, problem: Problem, hours: float) -> None:
        self._problem, self._hours = problem, hours
        left = [[k for k, way in enumerate(u.ways) if not way.minutes and not way.pieces] for u in problem.units]
        self.ways = [max(ks, key=lambda k, i=i: self.worth(i, k)) for i, ks in enumerate(left)]  # type: ignore[misc]

    def worth(self, i: int, k: int) -> float:
        """What a way brings, its parts bought."""
        unit = self._problem.units[i]
        new = sum(p.use * (p.new_minor or 0) for p in unit.ways[k].pieces)
        return brings(unit.ways[k], unit, self._problem.hour_minor) - new

    def repairs(self, i: int) -> list[int]:
        """The repairs of a unit, the one that brings most first."""
        ways = [k for k, way in enumerate(self._problem.units[i].ways) if way.kind == "repair"]
        return sorted(ways, key=lambda k: -self.worth(i, k))

    def gain(self, i: int) -> float:
        """What its best repair brings more than no work."""
        repairs = self.repairs(i)
        return self.worth(i, repairs[0]) - self.worth(i, self.ways[i]) if repairs else 0.0

    def give_up(self, units: Iterable[int]) -> None:
        for i in units:
            ways = [k for k, way in enumerate(self._problem.units[i].ways) if way.kind == "donor"]
            if ways:
                self._try(i, ways[0])

    def repair(self, units: Iterable[int], *, gainful: bool = False) -> LotPlan:
        """Repair these, one after the other. `gainful`: only where it brings more than no work."""
        for i in units:
            if self._problem.units[i].ways[self.ways[i]].kind == "donor":
                continue
            for k in self.repairs(i):
                if (not gainful or self.worth(i, k) > self.worth(i, self.ways[i])) and self._try(i, k):
                    break
        plan = value_of(self._problem, self.ways, self._hours)
        assert plan is not None
        return plan

    def _try(self, i: int, k: int) -> bool:
        ways = [*self.ways[:i], k, *self.ways[i + 1 :]]
        if value_of(self._problem, ways, self._hours) is None:
            return False
        self.ways = ways
        return True


def repair_all(problem: Problem, hours: float) -> LotPlan:
    return Rule(problem, hours).repair(range(len(problem.units)))


def give_up_the_worst(problem: Problem, hours: float) -> LotPlan:
    rule = Rule(problem, hours)
    faulty = [i for i in range(len(problem.units)) if rule.repairs(i)]
    rule.give_up(sorted(faulty, key=rule.gain)[:1])
    return rule.repair(range(len(problem.units)))


def order_of_the_picture(problem: Problem, hours: float) -> LotPlan:
    """The donors as `plan_donors` has them, then what gains most first."""
    rule, needs = Rule(problem, hours), []
    for i, unit in enumerate(problem.units):
        repairs = [unit.ways[k] for k in rule.repairs(i)]
        if repairs:
            most = max(repairs, key=lambda way: len(way.pieces))
            parts = tuple(p.part for p in most.pieces)
            mended = round(max(brings(way, unit, problem.hour_minor) for way in repairs))
            plain = [brings(w, unit, problem.hour_minor) for w in unit.ways if w.kind != "donor" and not w.pieces]
            needs.append(
                Need(
                    str(i), unit.tag, unit.model, parts, unit.gives, mended, round(max(plain)), unit.prices.parts_minor
                )
            )
    stock = {key: batch.count for batch in problem.shelf for key in batch.fits}
    rule.give_up(int(donor) for donor in plan_donors(needs, stock).donors)
    return rule.repair(sorted(range(len(problem.units)), key=lambda i: -rule.gain(i)), gainful=True)


RULES = {"repair_all": repair_all, "give_up_the_worst": give_up_the_worst, "order_of_the_picture": order_of_the_picture}


def compare(lots: int, rng: random.Random) -> dict[str, object]:
    """The plan beside the rules."""
    worse = proved = 0
    sums = {"plan": 0.0, **dict.fromkeys(RULES, 0.0)}
    better, longest = dict.fromkeys(RULES, 0), 0.0
    for _ in range(lots):
        problem = a_lot(rng, rng.randrange(4, 31), models=rng.choice((1, 2, 3)))
        hours = hours_of(rng, problem)
        began = time.process_time()
        plan = solve(problem, hours)
        longest = max(longest, time.process_time() - began)
        proved += plan.is_best
        sums["plan"] += plan.value
        for name, rule in RULES.items():
            value = rule(problem, hours).value
            sums[name] += value
            worse += plan.value < value - CENT
            better[name] += plan.value > value + CENT
    said: dict[str, object] = {"lots": lots, "proved": proved, "worse": worse, "longest_s": longest}
    for name in RULES:
        said[f"better_than_{name}"] = better[name]
        said[f"more_than_{name}_percent"] = 100 * (sums["plan"] / sums[name] - 1)
    return said


def against_every_plan(lots: int, rng: random.Random) -> dict[str, object]:
    unlike = 0
    for _ in range(lots):
        problem = a_lot(rng, rng.randrange(1, 7), models=1)
        hours = hours_of(rng, problem)
        unlike += abs(solve(problem, hours).value - max(every_plan(problem, hours))) > 1e-6
    return {"enumerated": lots, "unlike_enumeration": unlike}


def fifty() -> dict[str, object]:
    """A lot of 50 units, out of records that were just opened."""
    guide = load_guide()
    with tempfile.TemporaryDirectory() as folder, open_store(Path(folder)) as store:
        sheets = SheetShelf(Path(folder) / "sheets")
        lot_id = fill(store, sheets, 50, random.Random(7))
        adviser = LotAdviser(store, sheets, lambda: guide, lambda: "2026-11-26", lambda event: None)
        began = time.process_time()
        problem = adviser.problem(lot_id)
        known = time.process_time()
        plans = list(worked_out(problem, 8.0))
        over = time.process_time()
        adviser.close()
    ways = sum(len(unit.ways) for unit in problem.problem.units)
    return {
        "fifty_s": over - began, "fifty_diagnosis_s": known - began, "fifty_solving_s": over - known,
        "fifty_ways": ways, "fifty_proved": plans[-1].plan.is_best, "fifty_moves": len(plans[-1].moves),
    }  # fmt: skip


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--lots", type=int, default=500)
    parser.add_argument("--small", type=int, default=100)
    parser.add_argument("--seed", type=int, default=16)
    args = parser.parse_args()
    rng = random.Random(args.seed)
    found = {"bench": "plan", **compare(args.lots, rng), **against_every_plan(args.small, rng), **fifty()}
    found["ok"] = all(found[k] <= limit for k, limit in LIMITS.items())  # type: ignore[operator]
    for name in RULES:
        print(
            f"better than {name}: {found[f'better_than_{name}']} of {args.lots} lots, never worse: {not found['worse']}"
        )
    print(json.dumps({k: round(v, 3) if isinstance(v, float) else v for k, v in found.items()}))
    return 0 if found["ok"] else 1


if __name__ == "__main__":
    sys.exit(main())
