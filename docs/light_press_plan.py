"""What the light press can tell: the table of docs/METHOD.md §5, exact, as Markdown.

    python docs/light_press_plan.py

For each true share of faulty presses: how often the test passes, fails and stays borderline, how many presses it
takes, and how often the upper bound of the miss rate that is printed at its end covers the truth.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np

from station.checks.light import CONFIDENCE, plan_of
from station.checks.limits import load_limits
from station.measure.binomial import clopper_pearson
from station.measure.sequential import Plan, characteristic

SHARES = (0.0, 0.005, 0.01, 0.02, 0.03, 0.05, 0.10, 0.125, 0.15, 0.20, 0.30)
HEAD = (
    "| true share | pass | borderline | fail | presses, mean | median | bound covers |",
    "| ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
)


def endings(plan: Plan, p: float) -> dict[tuple[int, int], float]:
    """Probability of each (presses, faults) at which the test ends."""
    ends: dict[tuple[int, int], float] = {}
    alive = np.array([1.0])
    for n in range(1, plan.stop_at + 1):
        grown = np.zeros(len(alive) + 1)
        grown[:-1] += alive * (1 - p)
        grown[1:] += alive * p
        for m in np.flatnonzero(grown).tolist():
            if m <= plan.accept_at(n) or m >= plan.reject_at(n) or n == plan.stop_at:
                ends[n, m] = float(grown[m])
                grown[m] = 0.0
        alive = grown
    return ends


def coverage(plan: Plan, p: float) -> float:
    """Probability that the upper bound at the end is at least the true share, if every fault is a miss."""
    return sum(w for (n, m), w in endings(plan, p).items() if clopper_pearson(m, n, CONFIDENCE, "upper")[1] >= p)


def table() -> list[str]:
    """The rows of the table."""
    plan = plan_of(load_limits())
    rows = list(HEAD)
    for p in SHARES:
        c = characteristic(plan, p)
        rows.append(
            f"| {100 * p:g} % | {100 * c.accept:.1f} % | {100 * c.undecided:.1f} % | {100 * c.reject:.1f} % "
            f"| {c.mean_presses:.1f} | {c.median_presses} | {100 * coverage(plan, p):.1f} % |"
        )
    return rows


def least_coverage() -> str:
    """The worst case over all true shares from 0.1 to 60 %, in steps of 0.1 %."""
    plan = plan_of(load_limits())
    worst, p = min((coverage(plan, p), p) for p in np.arange(1, 601) / 1000)
    return f"The bound covers the truth in {100 * worst:.1f} % of tests or more, least at a share of {100 * p:.1f} %."


if __name__ == "__main__":
    print("\n".join([*table(), "", least_coverage()]))
