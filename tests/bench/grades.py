"""What sound simulated units are graded by the grades that ship: how many are as new, good or better, and so on.

    python tests/bench/grades.py --units 300 [--seed S]

Each is worked through as at the bench (both sticks, a trigger, a button, the hat and the link) and graded as the record
does it, as if no second test were due. A unit that asked for a try more than a person gives it has no grade, and is
counted apart. Prints what keeps units from the best grade for people, then one JSON line.
"""

from __future__ import annotations

import argparse
import json
import secrets
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from truth_kinds import EVERY, drawn_unit
from truth_visit import Bench, Done

from station.checks.house import House
from station.judgement.grade import Grading, grading_of, kept_from
from station.judgement.limits import standard
from station.records.types import Result, Unit, UnitHistory, Visit
from station.sheets.model import Sheet


def graded(done: Sequence[Done], sheet: Sheet, house: House) -> Grading:
    """The grade of a unit of which these checks were done, in one visit."""
    visit = Visit("v", "u", "intake", 1, "2026-03-06T10:00:00Z", "2026-03-06T10:30:00Z")
    results = tuple(
        Result(str(n), "v", one.check, one.control, 1, f"2026-03-06T10:{n:02d}:00Z", one.assessment)
        for n, one in enumerate(done)
    )
    wanted = [(one.check, one.control) for one in done]
    return grading_of(UnitHistory(Unit("u", "SIM", "simulated"), None, (visit,), results), wanted, sheet, house)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--units", type=int, default=300)
    parser.add_argument("--seed", type=int, default=None)
    args = parser.parse_args()
    seed = secrets.randbelow(2**31) if args.seed is None else args.seed
    print(f"seed {seed}, {args.units} units")
    began = time.perf_counter()
    shipped = standard()
    house = replace(shipped, grades=tuple(replace(grade, second_test=False) for grade in shipped.grades))
    names = [grade.name for grade in house.grades]
    given: Counter[str] = Counter()
    for number in range(args.units):
        bench = Bench(drawn_unit(np.random.default_rng([seed, number]), f"{seed}-{number}"))
        found = graded(bench.visit(EVERY), bench.sheet, house)
        given[found.grade.name if found.grade else found.why] += 1
        if found.grade is None or found.grade.name != names[0]:
            print(
                f"  {seed}-{number}: {found.grade.name if found.grade else found.why} {kept_from(found, bench.sheet)}"
            )
    better = {f"{name} or better": sum(given[n] for n in names[: k + 1]) for k, name in enumerate(names)}
    graded_units = better[f"{names[-1]} or better"]
    for name, count in better.items():
        print(f"{name:<28}{count:>6} of {graded_units} graded")
    line = {
        "bench": "grades",
        "seed": seed,
        "units": args.units,
        "seconds": round(time.perf_counter() - began, 1),
        "graded": graded_units,
        **better,
        "not_graded": args.units - graded_units,
        **{f"{name}_pct": round(100.0 * count / max(graded_units, 1), 2) for name, count in better.items()},
    }
    print(json.dumps(line))


if __name__ == "__main__":
    main()
