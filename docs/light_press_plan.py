"""What the light press can tell: the table of docs/METHOD.md §5, exact, as Markdown.

    python docs/light_press_plan.py

For each true share of faulty presses: how often the test passes, fails and stays borderline, how many presses it
takes, and how often the upper bound of the miss rate that is printed at its end covers the truth. Then what a twin
that misses too makes of it, and misses in runs, with the long form beside it.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np

from station.checks.light import CONFIDENCE, LONG_PRESSES, LightCheck, plan_of
from station.checks.limits import load_limits
from station.measure.binomial import clopper_pearson
from station.measure.sequential import Plan, characteristic, characteristic_in_runs, faults_in_runs

SHARES = (0.0, 0.005, 0.01, 0.02, 0.03, 0.05, 0.10, 0.125, 0.15, 0.20, 0.30)
HEAD = (
    "| true share | pass | borderline | fail | presses, mean | median | bound covers |",
    "| ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
)


RUNS = (1.0, 2.0, 4.0, 8.0)
"""mean lengths of runs; 1: by chance alone"""
RUNS_HEAD = (
    "| 10 % missed, in runs of | light press: passes | fails | long form: passes | fails |",
    "| ---: | ---: | ---: | ---: | ---: |",
)
TWINS = (0.0, 0.2, 0.4, 0.6)
"""shares of its presses that the twin misses, each by itself"""
TWINS_HEAD = (
    "| its twin misses | 10 % missed: passes | 1 % missed: fails | pressed alone after that |",
    "| ---: | ---: | ---: | ---: |",
)
ONCE_IN = 50
OTHER_PRESSES = 4
"""three of the contact check and the one that is held"""


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


def runs_table() -> list[str]:
    """What the test and the long form do with misses that come in runs."""
    plan = plan_of(load_limits())
    rows = list(RUNS_HEAD)
    for length in RUNS:
        mean = max(length, 1 / (1 - plan.p1))
        quick, faults = characteristic_in_runs(plan, plan.p1, mean), faults_in_runs(LONG_PRESSES, plan.p1, mean)
        passes = faults[: plan.accept_at(LONG_PRESSES) + 1].sum()
        fails = faults[plan.reject_at(LONG_PRESSES) :].sum()
        name = f"{length:g}" if length > 1 else "1 (by chance)"
        rows.append(
            f"| {name} | {100 * quick.accept:.1f} % | {100 * quick.reject:.1f} % "
            f"| {100 * passes:.1f} % | {100 * fails:.1f} % |"
        )
    return rows


def beside_twin(p: float, twin: float) -> tuple[float, float, float]:
    """Probability that a button that misses p passes and fails, and that it has to be pressed alone, where its twin
    misses that share of its presses by itself; of a hand that never slips.

    Dynamic programming over presses, misses that the twin registered, beats that neither did, and whether the beats
    that were surely pressed would have passed by themselves; the second look is at the button alone.
    """
    limits = load_limits()
    plan, size = plan_of(limits), plan_of(limits).stop_at + 1
    alive = np.zeros((2, size, size))
    alive[0, 0, 0] = 1.0
    faulty, neither = np.indices((size, size))
    accept = reject = alone = 0.0
    for n in range(1, plan.stop_at + 1):
        grown = (1.0 - p) * alive
        grown[:, 1:] += p * (1.0 - twin) * alive[:, :-1]
        grown[:, :, 1:] += p * twin * alive[:, :, :-1]
        surely = faulty <= plan.slope * (n - neither) - plan.h_accept
        grown = np.stack((np.where(surely, 0.0, grown[0]), np.where(surely, grown[0], 0.0) + grown[1]))
        fails = faulty >= plan.slope * (n - neither) + plan.h_reject
        passes = ~fails & (faulty + neither <= plan.slope * n - plan.h_accept)
        again = ~fails & ~passes & (neither >= plan.slope * n + plan.h_reject)
        accept, reject = accept + grown[:, passes].sum(), reject + grown[:, fails].sum()
        alone += grown[:, again].sum()
        alive = np.where(fails | passes | again, 0.0, grown)
    alone += alive[1].sum()
    second = characteristic(LightCheck(alone=True)._plan(limits), p)
    return float(accept + alone * second.accept), float(reject + alone * second.reject), float(alone)


def twins_table() -> list[str]:
    """What twins that miss by themselves make of the two risks."""
    plan = plan_of(load_limits())
    rows = list(TWINS_HEAD)
    for twin in TWINS:
        bad, good = beside_twin(plan.p1, twin), beside_twin(plan.p0, twin)
        rows.append(f"| {100 * twin:g} % | {100 * bad[0]:.1f} % | {100 * good[1]:.1f} % | {100 * bad[2]:.0f} % |")
    return rows


def seen_of_runs() -> str:
    """What the shortest test sees of misses in runs of four."""
    plan = plan_of(load_limits())
    fewest = plan.presses_to_accept(0)
    missed = 1.0 - characteristic_in_runs(plan, plan.p1, 4.0).accept
    return f"In runs of four, a test of {fewest} presses and more sees them in {100 * missed:.0f} %."


def seen_once_in() -> str:
    """How often something that comes once in so many presses comes in a test at all."""
    fewest = plan_of(load_limits()).presses_to_accept(0)
    shares = [100 * (1 - (1 - 1 / ONCE_IN) ** n) for n in (fewest, LONG_PRESSES)]
    return (
        f"What comes once in {ONCE_IN} presses comes in {fewest} of them in {shares[0]:.0f} % of tries, "
        f"in {LONG_PRESSES} in {shares[1]:.0f} %."
    )


def with_other_presses() -> str:
    """How little the presses of the other checks of a button would add to that."""
    presses = plan_of(load_limits()).presses_to_accept(0) + OTHER_PRESSES
    return f"With those of the contact check and the hold it would be {100 * (1 - (1 - 1 / ONCE_IN) ** presses):.0f} %."


if __name__ == "__main__":
    print(
        "\n".join(
            [
                *table(),
                "",
                least_coverage(),
                "",
                *twins_table(),
                "",
                *runs_table(),
                "",
                seen_of_runs(),
                seen_once_in(),
                with_other_presses(),
            ]
        )
    )
