"""Does ±U hold the true value? One check on many simulated units, cheaply, reading by reading.

    python tests/bench/cover.py CHECK [CHECK…] [--units 400] [--seed S] [--faults KIND,KIND…] [--workers N]

The units, hands and truths are those of `truth.py`, but each does the named checks only (`rest`, `letgo`, `travel`,
`rim`, `sweep`, `trigger`, `link`, `hold`, `light`), on every control that they are of. `--faults` draws faults of these
kinds alone, for readings that sound units do not have (`truth_units.KINDS`). Prints per reading the share of cases
within ±U with its 95 % interval, for all controls, sound ones and faulty ones; one JSON line last. Status 1 where a
reading is outside of what is asked for by more than chance.
"""

from __future__ import annotations

import argparse
import json
import os
import secrets
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import truth_coverage
from truth_score import reading_rows
from truth_units import BUTTONS, KINDS, STICKS, TRIGGERS, draw
from truth_visit import Bench

from station.checks.registry import CHECKS

Row = dict[str, Any]
Task = tuple[int, int, tuple[str, ...], tuple[str, ...]]
CONTROLS = {"stick": STICKS, "trigger": TRIGGERS, "button": BUTTONS}


def rows_of_one(task: Task) -> list[Row]:
    """The readings of one unit, float uncertainty above 0, that have a truth."""
    seed, number, checks, kinds = task
    drawn = draw(seed, number, kinds)
    faulty = {f.control for f in drawn.spec.faults}
    rows = []
    for done in Bench(drawn).visit(_controls(checks), checks):
        found = [row for row in reading_rows(drawn, done) if row["row"] == "reading"]
        rows += [row | {"sound": done.control not in faulty} for row in found]
    return rows


def _controls(checks: tuple[str, ...]) -> tuple[str, ...]:
    kinds = dict.fromkeys(kind for check in checks for kind in CHECKS[check].about.kinds)
    of_unit = ("",) if any(not CHECKS[check].about.kinds for check in checks) else ()
    return tuple(control for kind in kinds for control in CONTROLS.get(kind, ())) + of_unit


def rows_of(tasks: list[Task], workers: int) -> Iterator[list[Row]]:
    """The rows of each unit, as they are done."""
    if workers < 2:
        yield from map(rows_of_one, tasks)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(rows_of_one, tasks, chunksize=4)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("checks", nargs="+", choices=sorted(CHECKS), metavar="CHECK")
    parser.add_argument("--units", type=int, default=400)
    parser.add_argument("--seed", type=int, default=None)
    parser.add_argument("--faults", default="", help="kinds of faults, with commas between")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    args = parser.parse_args()
    seed = secrets.randbelow(2**31) if args.seed is None else args.seed
    kinds = tuple(args.faults.split(",")) if args.faults else KINDS
    print(f"seed {seed}, {args.units} units: {', '.join(args.checks)}")
    began = time.perf_counter()
    tasks = [(seed, number, tuple(args.checks), kinds) for number in range(args.units)]
    rows = [row for found in rows_of(tasks, args.workers) for row in found]
    found = truth_coverage.coverage(rows)
    truth_coverage.table(found)
    for title, keep in (("sound controls", True), ("faulty controls", False)):
        print(f"\n{title}")
        truth_coverage.table(truth_coverage.coverage(r for r in rows if r["sound"] is keep))
    missed = truth_coverage.missed(found)
    line = {
        "bench": "cover",
        "checks": args.checks,
        "faults": args.faults,
        "seed": seed,
        "units": args.units,
        "seconds": round(time.perf_counter() - began, 1),
        "coverage": truth_coverage.as_json(found),
        "coverage_missed": missed,
    }
    print(json.dumps(line))
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
