"""Scoreboard: are the findings right, and do the uncertainties hold, on simulated units that nobody tuned anything to?

    python tests/bench/truth.py --units 2000 [--seed S] [--workers N]
    python tests/bench/truth.py --only "hand: wrong" [--only …] [--cases 200] [--seed S]

Draws units with random faults and hands (fresh seeds each run unless one is given), works through every check as
at the bench, and compares with what is true, which is that of the unit over many placements. For twenty such units
there is one of each harder kind (`truth_kinds`): slight faults, two at once, odd hands, odd firmware, what moves by
itself. Where a test has too few presses for what its bar asks, the table says how many they can show. Prints tables for
people, then one JSON line. "failed" of a clear fault: some check of its control failed, for whatever reason; "named":
the check that should show it named it.
"""

from __future__ import annotations

import argparse
import json
import os
import secrets
import sys
import time
from collections import defaultdict
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import truth_coverage
from truth_kinds import KINDS as HARDER
from truth_kinds import Kind
from truth_score import score, score_case
from truth_sensed import SENSED
from truth_units import CLEAR

Row = dict[str, Any]
Task = tuple[int, int, int]
CASES_OF = 20
"""of each harder kind one unit for so many of the old ones"""
KINDS = (*HARDER, *SENSED)


def tasks_of(seed: int, units: int) -> list[Task]:
    """(seed, number of the kind or −1 for the old ones, number of the unit)."""
    every = range(len(KINDS))
    return [(seed, -1, number) for number in range(units)] + tasks_of_kinds(seed, every, max(2, units // CASES_OF))


def tasks_of_kinds(seed: int, kinds: Iterable[int], cases: int) -> list[Task]:
    """So many units of each of these harder kinds."""
    return [(seed, k, number) for k in kinds for number in range(cases)]


def full_name(kind: Kind) -> str:
    """Group and name, as the table shows it."""
    return f"{kind.group}: {kind.name}"


def rows_of_one(task: Task) -> list[Row]:
    """The score of one unit."""
    seed, kind, number = task
    return score(seed, number) if kind < 0 else score_case(seed, KINDS[kind], number)


def rows_of(tasks: list[Task], workers: int) -> Iterator[list[Row]]:
    """The score of each unit, as they are done."""
    if workers < 2:
        yield from map(rows_of_one, tasks)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(rows_of_one, tasks, chunksize=4)


def share(rows: Iterable[Row], key: str) -> float:
    """Mean of a yes-or-no column in %, NaN for none."""
    values = [bool(r[key]) for r in rows]
    return 100.0 * sum(values) / len(values) if values else float("nan")


def table_of_faults(rows: list[Row]) -> None:
    """Per kind and layout: how many, share failed, share named right."""
    groups: dict[tuple[str, str], list[Row]] = defaultdict(list)
    for r in rows:
        groups[r["kind"], r["kit"]].append(r)
    print(f"\n{'clear fault':<16}{'layout':<8}{'n':>5}{'failed':>9}{'named':>9}{'not done':>10}")
    for (kind, kit), found in sorted(groups.items()):
        shares = [share(found, key) for key in ("failed", "named", "not_done")]
        print(f"{kind:<16}{kit:<8}{len(found):>5}{shares[0]:>8.1f}%{shares[1]:>8.1f}%{shares[2]:>9.1f}%")


def table_of_kinds(rows: list[Row]) -> dict[str, dict[str, Any]]:
    """Per harder kind: how many controls, what became of them, and whether its bar is held."""
    print(f"\n{'harder kind':<42}{'n':>5}{'failed':>9}{'border':>9}{'again':>9}{'passed':>9}{'named':>9}   bar")
    found = {}
    for kind in KINDS:
        some = [r for r in rows if r["group"] == kind.group and r["kind"] == kind.name]
        if not some:
            continue
        shares: dict[str, float | None] = {
            key: round(share(some, key), 2) for key in ("failed", "borderline", "again", "passed")
        }
        faulty = [r for r in some if r["named"] is not None]
        shares["named"] = round(share(faulty, "named"), 2) if faulty else None
        held = _held(kind, some)
        bar = "none" if not kind.bar else f"{kind.bar} {'≤' if kind.bar == 'failed' else '≥'} {kind.bar_pct:g} %"
        if kind.most_pct < kind.bar_pct:
            bar += f", its presses show {kind.most_pct:.0f} %"
        told = "".join(f"{'':>9}" if value is None else f"{value:>8.1f}%" for value in shares.values())
        print(f"{full_name(kind):<42}{len(some):>5}{told}   {bar}{'' if held else '  MISSED'}")
        found[full_name(kind)] = {"n": len(some), **shares, "bar": bar, "most_pct": kind.most_pct, "held": held}
    return found


def _held(kind: Kind, rows: list[Row]) -> bool:
    """Where the presses of a test cannot show as many as are asked for: within two standard errors of what they can."""
    met = share(rows, "met")
    if kind.most_pct < kind.bar_pct:
        return met >= kind.most_pct - 2.0 * (kind.most_pct * (100.0 - kind.most_pct) / len(rows)) ** 0.5
    return not kind.bar or (100.0 - met <= kind.bar_pct if kind.bar == "failed" else met >= kind.bar_pct)


def table_of_tries(rows: list[Row]) -> None:
    """Per check: how often a sound control had to be tried again, and how often it was given up."""
    groups: dict[str, list[Row]] = defaultdict(list)
    for r in rows:
        groups[r["check"]].append(r)
    print(f"\n{'sound: check':<14}{'n':>6}{'again':>9}{'given up':>10}")
    for check, some in groups.items():
        again = 100.0 * sum(r["tries"] > 1 for r in some) / len(some)
        print(f"{check:<14}{len(some):>6}{again:>8.1f}%{share(some, 'given_up'):>9.1f}%")


def worst_cases(rows: list[Row], limit: int = 25) -> None:
    """What went wrong, to look at: seed and number make the unit again."""
    if rows:
        print("\nto look at (unit: what):")
    for r in rows[:limit]:
        print(f"  {r['unit']}: {r['what']}")
    if len(rows) > limit:
        print(f"  … and {len(rows) - limit} more")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--units", type=int, default=200)
    parser.add_argument("--seed", type=int, default=None)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--only", action="append", default=[], help="harder kinds only: part of their name")
    parser.add_argument("--cases", type=int, default=100, help="with --only: units of each kind")
    args = parser.parse_args()
    seed = secrets.randbelow(2**31) if args.seed is None else args.seed
    began = time.perf_counter()
    if args.only:
        wanted = [k for k, kind in enumerate(KINDS) if any(part in full_name(kind) for part in args.only)]
        if not wanted:
            parser.error("no harder kind has such a name; one of: " + ", ".join(map(full_name, KINDS)))
        print(f"seed {seed}, {args.cases} units of each kind")
        report_kinds(collected(tasks_of_kinds(seed, wanted, args.cases), args.workers), seed, args.cases)
        return
    print(f"seed {seed}, {args.units} units")
    rows = collected(tasks_of(seed, args.units), args.workers)
    report(rows, seed, args.units, time.perf_counter() - began)


def collected(tasks: list[Task], workers: int) -> dict[str, list[Row]]:
    """All rows by what they are of."""
    rows: dict[str, list[Row]] = defaultdict(list)
    for found in rows_of(tasks, workers):
        for row in found:
            rows[row["row"]].append(row)
    return rows


def report_kinds(rows: dict[str, list[Row]], seed: int, cases: int) -> None:
    """Of harder kinds alone: their table, every case that missed its bar, and the JSON line."""
    kinds = table_of_kinds(rows["case"])
    worst_cases([r for r in rows["case"] if not r["met"]], len(rows["case"]))
    missed = sorted(name for name, one in kinds.items() if not one["held"])
    print(json.dumps({"bench": "truth", "seed": seed, "cases": cases, "kinds": kinds, "kinds_missed": missed}))


def report(rows: dict[str, list[Row]], seed: int, units: int, seconds: float) -> None:
    """The tables and the JSON line."""
    clear = [r for r in rows["fault"] if r["grade"] == CLEAR]
    table_of_faults(clear)
    kinds = table_of_kinds(rows["case"])
    coverage = truth_coverage.coverage(rows["reading"])
    truth_coverage.table(coverage)
    exact = rows["exact"]
    print(f"without ±, at the end of the range: {len(exact)}, within half a code of it {share(exact, 'right'):.2f} %")
    left = sorted({r["reading"] for r in rows["unscored"]} - set(coverage))
    print(f"with an uncertainty, without a truth to hold it against: {', '.join(left) or 'none'}")
    sound, light = rows["sound"], rows["light"]
    print(f"\nsound controls: {len(sound)}, failed {share(sound, 'failed'):.2f} %, "
          f"borderline {share(sound, 'borderline'):.2f} %, not done {share(sound, 'not_done'):.2f} %")  # fmt: skip
    beats = sorted(r["beats"] for r in light)
    median = beats[len(beats) // 2] if beats else None
    print(f"light press on sound buttons: {len(light)}, rejected {share(light, 'failed'):.2f} %, median beats {median}")
    table_of_tries([r for r in rows["try"] if r["sound"]])
    wrong = [r for r in clear if not (r["failed"] and r["named"])] + [r for r in sound if r["failed"]]
    wrong += [r for r in rows["try"] if r["sound"] and r["given_up"]]
    worst_cases(wrong)
    for kind in KINDS:
        worst_cases([r for r in rows["case"] if (r["group"], r["kind"]) == (kind.group, kind.name) and not r["met"]], 4)
    line = {
        "bench": "truth",
        "seed": seed,
        "units": units,
        "seconds": round(seconds, 1),
        "clear_faults": len(clear),
        "clear_failed_pct": round(share(clear, "failed"), 2),
        "clear_named_pct": round(share(clear, "named"), 2),
        "sound_controls": len(sound),
        "sound_failed_pct": round(share(sound, "failed"), 3),
        "sound_borderline_pct": round(share(sound, "borderline"), 3),
        "sound_not_done_pct": round(share(sound, "not_done"), 3),
        "readings": len(rows["reading"]),
        "covered_pct": round(share(rows["reading"], "covered"), 2),
        "coverage": truth_coverage.as_json(coverage),
        "coverage_missed": truth_coverage.missed(coverage),
        "exact": len(exact),
        "exact_right_pct": round(share(exact, "right"), 2),
        "without_truth": left,
        "kinds": kinds,
        "kinds_missed": sorted(name for name, one in kinds.items() if not one["held"]),
        "light_sound_rejected_pct": round(share(light, "failed"), 2),
        "light_sound_median_beats": median,
        "sound_tries_again_pct": round(100.0 * sum(r["tries"] > 1 for r in rows["try"]) / max(len(rows["try"]), 1), 2),
    }
    print(json.dumps(line))


if __name__ == "__main__":
    main()
