"""Does the diagnosis learn to choose well?

    python tests/bench/policy.py

Draws workshops whose true rates (how often each part is bad, what it shows, how often each treatment cures it) nobody
but the simulation knows: cure rates from the distribution that the guide's start means, rates of faults and findings
within a factor of the guide's. In each, units are repaired by the diagnosis' own advice from its real records
(histories, evidence, suspects, learned trials) until 200 treatments were made. Then what it has learned is held fixed
and fresh units are repaired by three policies on the same luck: its own, the best one that knows all true rates (the
same exact search), and a fixed "clean, clean, replace". The cost of a unit is the value of a ready one less what it
brought, after work, materials and ruin. One JSON line last.
"""

from __future__ import annotations

import argparse
import json
import math
import secrets
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from station.checks.light import ON_REQUEST  # noqa: E402
from station.checks.registry import described  # noqa: E402
from station.checks.types import Assessment, Finding, Outcome  # noqa: E402
from station.diagnosis.evidence import codes_of  # noqa: E402
from station.diagnosis.faults import case_of, faults_of  # noqa: E402
from station.diagnosis.guide import Guide, Method, Role, load_guide  # noqa: E402
from station.diagnosis.learn import Repair, learn, repairs_in  # noqa: E402
from station.diagnosis.rates import Trial, interval  # noqa: E402
from station.diagnosis.treatments import first_fault, stakes_of  # noqa: E402
from station.records.types import Result, Treatment, Unit, UnitHistory, Visit  # noqa: E402
from station.sheets.model import Ask, Control, Sheet  # noqa: E402

TREATMENTS = 200
MODEL = "Plover T2"
CONTROLS = (
    ("left_stick", "stick", 0.5),
    ("left_shoulder", "button", 0.25),
    ("left_trigger", "trigger", 0.1),
    ("hat", "hat", 0.05),
    ("", "unit", 0.1),
)
"""(control, kind, how often it is the faulty one); "" is the whole unit"""
SHEET = Sheet(
    MODEL,
    controls=tuple(Control(i, k, i.replace("_", " ").capitalize()) for i, k, _ in CONTROLS if i),  # type: ignore[arg-type]
    asks=tuple(Ask(name, name) for name, about in described().items() if about.person_answers),
)
CHECKS = {
    kind: tuple(
        name
        for name, about in described().items()
        if name not in ON_REQUEST and not about.first_look and kind in (about.kinds or ("unit",))
    )
    for _, kind, _ in CONTROLS
}
"""all that ship, so that every finding is drawn that the guide gives a part"""
LIMITS = {"to_best": 1.10, "to_fixed": 0.85, "coverage": (0.92, 0.98)}
SURE = 1e7
"""counts that leave no doubt about a rate"""


@dataclass(frozen=True)
class World:
    """A workshop: the guide as it is in truth. `truth` is a guide whose counts are beyond doubt."""

    truth: Guide
    cures: dict[tuple[str, str], float]


def draw_world(rng: np.random.Generator, guide: Guide, off: float) -> World:
    """`off`: standard deviation of the logarithm by which rates and shares are off the guide's."""
    cures, methods, roles = {}, [], []
    for m in guide.treatments:
        truth = {}
        for role, (cured, tried) in m.cures.items():
            q = float(rng.beta(cured + 0.5, tried - cured + 0.5))
            cures[m.kind, role] = q
            truth[role] = (q * SURE, SURE)
        methods.append(replace(m, cures=truth))
    for r in guide.suspects:
        shows = {code: float(min(p * math.exp(rng.normal(0, off)), 0.97)) for code, p in r.shows.items()}
        roles.append(replace(r, rate=r.rate * math.exp(rng.normal(0, off)), shows=shows))
    return World(replace(guide, suspects=tuple(roles), treatments=tuple(methods)), cures)


@dataclass(frozen=True)
class Broken:
    """A unit with one bad part. `luck`: for each kind of treatment and try, uniform numbers for cure and ruin."""

    control: str
    kind: str
    role: str
    findings: tuple[tuple[str, str, str | None], ...]
    """(check, code, axis)"""
    luck: dict[tuple[str, int], tuple[float, float]]


def draw_unit(rng: np.random.Generator, world: World) -> Broken:
    """By the true rates; a part that shows nothing is no faulty unit and is drawn again."""
    control, kind, _ = CONTROLS[rng.choice(len(CONTROLS), p=[w for _, _, w in CONTROLS])]
    parts: list[tuple[Role, str | None]] = []
    for role in world.truth.suspects:
        if kind in role.of:
            axes = ("x", "y") if role.per_axis and kind == "stick" else (None,)
            parts += [(role, axis) for axis in axes]
    weights = np.array([r.rate for r, _ in parts])
    check_of = {code: check for check in CHECKS[kind] for code in codes_of(check)}
    while True:
        role, axis = parts[rng.choice(len(parts), p=weights / weights.sum())]
        shown = [c for c, p in role.shows.items() if c in check_of and rng.random() < p]
        if shown:
            break
    luck = {(m.kind, n): (float(rng.random()), float(rng.random())) for m in world.truth.treatments for n in (1, 2, 3)}
    return Broken(control, kind, role.role, tuple((check_of[c], c, axis) for c in shown), luck)


class Bench:
    """One unit at the bench: writes the history that the records would hold, and counts the money."""

    def __init__(self, unit: Broken, world: World, guide: Guide) -> None:
        self._unit, self._world, self._guide = unit, world, guide
        self._minute = 0
        self._open = False
        self.cured = self.ruined = False
        self.spent = 0.0
        self.tries: dict[str, int] = defaultdict(int)
        self.results: list[Result] = []
        self.treatments: list[Treatment] = []
        self._record()

    def _at(self) -> str:
        self._minute += 1
        return f"2026-03-06T{8 + self._minute // 60:02d}:{self._minute % 60:02d}:00.000Z"

    def _record(self) -> None:
        at = self._at()
        for check in CHECKS[self._unit.kind]:
            found = () if self.cured else tuple(
                Finding(code, code, axis) for where, code, axis in self._unit.findings if where == check  # type: ignore[arg-type]
            )  # fmt: skip
            done = Assessment(Outcome.FAIL if found else Outcome.PASS, (), found)
            self.results.append(Result(str(len(self.results)), "v", check, self._unit.control, 1, at, done))

    def treat(self, method: Method, part: str = "") -> None:
        """Do it: money, luck, and the entry. True rates decide."""
        self.tries[method.kind] += 1
        attempt = self.tries[method.kind]
        self.spent += method.minutes * self._guide.hour_minor / 60 + method.cost_minor
        if method.needs_open and not self._open:
            self.spent += self._guide.open_minutes * self._guide.hour_minor / 60
            self._open = True
        cures, ruins = self._unit.luck[method.kind, min(attempt, 3)]
        rate = self._world.cures.get((method.kind, self._unit.role), 0.0) * method.again ** (attempt - 1)
        self.ruined = self.ruined or ruins < method.harm
        self.cured = self.cured or (cures < rate and not self.ruined)
        self.treatments.append(Treatment(str(len(self.treatments)), "u", method.kind, self._at(), part))

    def test(self) -> None:
        self.spent += self._guide.test_minutes * self._guide.hour_minor / 60
        self._open = False
        self._record()

    @property
    def history(self) -> UnitHistory:
        unit, visit = Unit("u", "SM-07-01", MODEL), Visit("v", "u", "intake", 1, "2026-03-06T08:00:00.000Z")
        return UnitHistory(unit, None, (visit,), tuple(self.results), tuple(self.treatments))

    @property
    def over(self) -> bool:
        return self.cured or self.ruined

    def cost(self) -> float:
        """Value of a ready unit less what this one brought."""
        values = self._guide.values
        end = values.parts_minor if self.ruined else values.ready_minor if self.cured else values.as_is_minor
        return values.ready_minor - end + self.spent


Policy = Callable[[Bench], "Sequence[tuple[Method, str]]"]
"""What to do before the next test; nothing: stop"""


class Adviser:
    """The diagnosis, by the guide it is given and what it has learned. Decisions on like evidence are remembered."""

    def __init__(self, guide: Guide) -> None:
        self._guide = guide
        self.trials: tuple[Trial, ...] = ()
        self._known: dict[object, tuple[tuple[Method, str], ...]] = {}
        self.said: list[tuple[str, str, int, tuple[float, float], float]] = []
        """(kind, role, try, interval, shop's own tries) of every proposal made"""
        self._said_for: dict[object, list[tuple[str, str, int, tuple[float, float], float]]] = {}

    def learned(self, trials: tuple[Trial, ...]) -> None:
        self.trials = trials
        self._known.clear()

    def __call__(self, bench: Bench) -> Sequence[tuple[Method, str]]:
        last = bench.results[-len(CHECKS[bench._unit.kind]) :]
        key = (
            bench._unit.control,
            tuple((f.code, f.axis) for r in last for f in r.assessment.findings),
            tuple((t.kind, t.part) for t in bench.treatments),
        )
        if key not in self._known:
            self._known[key] = self._decide(bench, key)
        self.said += self._said_for[key]
        return self._known[key]

    def _decide(self, bench: Bench, key: object) -> tuple[tuple[Method, str], ...]:
        faults = faults_of(case_of(bench.history, SHEET, self._guide, self.trials, ()))
        fault, plan = first_fault(faults, stakes_of(self._guide.values, self._guide))
        chosen = [fault.choices[i] for i in plan.round]
        self._said_for[key] = []
        for choice in chosen:
            rate = choice.rates[fault.suspects.index(choice.suspect)] if choice.suspect in fault.suspects else None
            for s, r in zip(fault.suspects, choice.rates, strict=True):
                if r is not None and (s.part_id == choice.suspect.part_id or rate is r):
                    attempt = bench.tries[choice.method.kind] + 1
                    self._said_for[key].append((choice.method.kind, s.role, attempt, interval(r), r.own))
        return tuple((c.method, c.suspect.name) for c in chosen)


def fixed(guide: Guide) -> Policy:
    """Clean, clean, replace (of the whole unit: a donor's part, the cell, the board); a test after each; then stop."""
    methods = {m.kind: m for m in guide.treatments}

    def policy(bench: Bench) -> Sequence[tuple[Method, str]]:
        clean = "open and clean" if bench._unit.kind in ("button", "hat") else "clean the sensor"
        order = (clean, clean, "replace sensor")
        if bench._unit.kind == "unit":
            order = ("swap with donor part", "other", "replace board")
        n = len(bench.treatments)
        return [(methods[order[n]], "")] if n < len(order) else []

    return policy


def repair(unit: Broken, world: World, guide: Guide, policy: Policy) -> Bench:
    """Until it is cured, ruined or given up."""
    bench = Bench(unit, world, guide)
    while not bench.over:
        todo = policy(bench)
        if not todo:
            break
        for method, part in todo:
            bench.treat(method, part)
            if bench.ruined:
                break
        if not bench.ruined:
            bench.test()
    return bench


def study(rng: np.random.Generator, guide: Guide, fresh: int, off: float) -> dict[str, object]:
    """One workshop."""
    world = draw_world(rng, guide, off)
    own, repairs, made, since = Adviser(guide), list[Repair](), 0, 0
    while made < TREATMENTS:
        bench = repair(draw_unit(rng, world), world, guide, own)
        made += len(bench.treatments)
        since += len(bench.treatments)
        repairs += repairs_in(bench.history, guide, SHEET)
        if since >= 10:
            own.learned(learn(repairs, guide))
            since = 0
        if not bench.treatments and own.trials and len(repairs) == 0:
            break
    own.learned(learn(repairs, guide))
    own.said = []
    best = Adviser(world.truth)
    costs = defaultdict(float)
    for _ in range(fresh):
        unit = draw_unit(rng, world)
        for name, policy in (("own", own), ("best", best), ("fixed", fixed(guide))):
            costs[name] += repair(unit, world, guide, policy).cost() / fresh
    said = {(kind, role): (span, n) for kind, role, attempt, span, n in own.said if attempt == 1}
    inside = [span[0] <= world.cures[key] <= span[1] for key, (span, n) in said.items()]
    tried = [span[0] <= world.cures[key] <= span[1] for key, (span, n) in said.items() if n >= 5]
    return {"costs": dict(costs), "inside": inside, "tried": tried, "treatments": made}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--worlds", type=int, default=150)
    parser.add_argument("--units", type=int, default=150, help="fresh units in each")
    parser.add_argument(
        "--off", type=float, default=0.2, help="how far rates of faults and findings are off the guide's"
    )
    parser.add_argument("--seed", type=int, default=None)
    args = parser.parse_args()
    seed = args.seed if args.seed is not None else secrets.randbits(31)
    guide, began = load_guide(), time.monotonic()
    studies = []
    for n in range(args.worlds):
        studies.append(study(np.random.default_rng([seed, n]), guide, args.units, args.off))
        if n % 25 == 24:
            print(f"{n + 1} workshops after {time.monotonic() - began:.0f} s", flush=True)
    costs = {k: float(np.mean([s["costs"][k] for s in studies])) for k in ("own", "best", "fixed")}
    inside = [x for s in studies for x in s["inside"]]
    tried = [x for s in studies for x in s["tried"]]
    to_best, to_fixed = costs["own"] / costs["best"], costs["own"] / costs["fixed"]
    coverage, coverage_tried = float(np.mean(inside)), float(np.mean(tried))
    low, high = LIMITS["coverage"]
    ok = to_best <= LIMITS["to_best"] and to_fixed <= LIMITS["to_fixed"]
    ok = ok and low <= coverage <= high and low <= coverage_tried <= high
    print(f"mean cost of a unit, cents: own {costs['own']:.0f}, best {costs['best']:.0f}, fixed {costs['fixed']:.0f}")
    print(f"own / best {to_best:.3f} (≤ {LIMITS['to_best']}), own / fixed {to_fixed:.3f} (≤ {LIMITS['to_fixed']})")
    print(f"coverage of 95 % intervals {coverage:.3f} of {len(inside)}")
    print(f"  of those with five own tries or more {coverage_tried:.3f} of {len(tried)}")
    found = {
        "bench": "policy", "seed": seed, "worlds": args.worlds, "units": args.units, "treatments_learned": TREATMENTS,
        "cost_own": costs["own"], "cost_best": costs["best"], "cost_fixed": costs["fixed"], "own_to_best": to_best,
        "own_to_fixed": to_fixed, "coverage": coverage, "intervals": len(inside), "coverage_tried": coverage_tried,
        "intervals_tried": len(tried), "seconds": time.monotonic() - began, "ok": bool(ok),
    }  # fmt: skip
    print(json.dumps({k: round(v, 4) if isinstance(v, float) else v for k, v in found.items()}))
    return 0 if ok else 1


if __name__ == "__main__":
    sys.exit(main())
