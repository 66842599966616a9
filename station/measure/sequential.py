"""Wald's sequential test of a share of faulty presses, and what it can and cannot tell.

Source: A. Wald, *Sequential Analysis* (1947); the lines in the form of NIST/SEMATECH e-Handbook §6.2.6.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Verdict = Literal["accept", "reject", "undecided"]


@dataclass(frozen=True, slots=True)
class Plan:
    """Good share p0, bad share p1, the risks α (a good one rejected) and β (a bad one accepted), and where to stop.

    After n presses with m faulty ones: accept when m ≤ s·n − h_accept, reject when m ≥ s·n + h_reject.
    At `stop_at` presses without a decision the test ends undecided.
    """

    p0: float = 0.01
    p1: float = 0.10
    alpha: float = 0.05
    beta: float = 0.05
    stop_at: int = 60

    def __post_init__(self) -> None:
        if not (0 < self.p0 < self.p1 < 1 and 0 < self.alpha < 1 and 0 < self.beta < 1 and self.stop_at >= 1):
            raise ValueError(f"a plan needs 0 < p0 < p1 < 1, risks between 0 and 1 and a stop of at least 1: {self}")

    @property
    def _k(self) -> float:
        return math.log(self.p1 * (1 - self.p0) / (self.p0 * (1 - self.p1)))

    @property
    def slope(self) -> float:
        """s = ln[(1 − p0)/(1 − p1)] / k, in faults a press."""
        return math.log((1 - self.p0) / (1 - self.p1)) / self._k

    @property
    def h_accept(self) -> float:
        """ln[(1 − α)/β] / k, in faults."""
        return math.log((1 - self.alpha) / self.beta) / self._k

    @property
    def h_reject(self) -> float:
        """ln[(1 − β)/α] / k, in faults."""
        return math.log((1 - self.beta) / self.alpha) / self._k

    def accept_at(self, n: int) -> int:
        """Greatest number of faults in n presses that accepts; −1 when n is too small to accept any."""
        return max(-1, math.floor(self.slope * n - self.h_accept))

    def reject_at(self, n: int) -> int:
        """Smallest number of faults in n presses that rejects (may exceed n: not yet possible)."""
        return math.ceil(self.slope * n + self.h_reject)

    def presses_to_accept(self, faults: int) -> int:
        """Number of presses after which so many faults are accepted."""
        return math.ceil((faults + self.h_accept) / self.slope)


def run(plan: Plan, faulty: Iterable[bool], begun: tuple[int, int] = (0, 0)) -> tuple[Verdict, int]:
    """The verdict on presses in the order they were made, and after how many it fell.

    `begun`: (presses, faults) of the same test before it was broken off undecided; it goes on from there.

    The test ends at the first line crossed. Presses recorded beyond an acceptance still count against it: whenever
    the reject line is crossed, the verdict is "reject". This keeps the risk α/(1 − β) of rejecting a good one
    (the likelihood ratio of a good one ever exceeds (1 − β)/α with at most that probability: Ville 1939, from
    memory) and lets no evidence of a fault go unused.
    """
    verdict: Verdict = "undecided"
    decided_at = 0
    n, m = begun
    slope, h_reject, h_accept = plan.slope, plan.h_reject, plan.h_accept
    for fault in faulty:
        n += 1
        m += bool(fault)
        if m >= slope * n + h_reject:
            return "reject", n
        if verdict == "undecided" and n <= plan.stop_at and m <= slope * n - h_accept:
            verdict, decided_at = "accept", n
    return verdict, decided_at or n


def run_on(
    plan: Plan, before: tuple[int, int], faulty: Iterable[bool], begun: tuple[int, int] = (0, 0)
) -> tuple[Verdict, int]:
    """The verdict of a try that goes on from (presses, faults) of earlier ones, and after how many of its own, those of
    `begun` among them, it fell. `begun` as for `run`; it is no part of `before`.

    The lines are those of all presses together. A try looks at them from the press on at which it would have been
    decided by itself, so that none ends on what was known before it. Whoever goes on as often as he likes still takes
    a bad unit for a good one with a probability of at most β/(1 − α), and a good one for a bad one of at most
    α/(1 − β): the likelihood ratio of all presses ever passes those lines so seldom (Ville 1939).
    """
    faults = [bool(fault) for fault in faulty]
    own, own_at = run(plan, faults, begun)
    if before == (0, 0):
        return own, own_at
    first = own_at if own != "undecided" else plan.stop_at
    verdict: Verdict = "undecided"
    decided_at = 0
    n, m = before[0] + begun[0], before[1] + begun[1]
    for k, fault in enumerate(faults, start=begun[0] + 1):
        n, m = n + 1, m + fault
        if k < first:
            continue
        if m >= plan.slope * n + plan.h_reject:
            return "reject", k
        if verdict == "undecided" and k <= plan.stop_at and m <= plan.slope * n - plan.h_accept:
            verdict, decided_at = "accept", k
    return verdict, decided_at or begun[0] + len(faults)


def run_fixed(plan: Plan, before: tuple[int, int], faulty: Iterable[bool], presses: int) -> tuple[Verdict, int]:
    """The verdict by the same lines after a number of presses that was fixed beforehand, and after how many it fell.

    It falls earlier only where the remaining presses could no longer change a rejection.
    """
    n, m = before
    least = plan.reject_at(n + presses)
    k = 0
    for k, fault in enumerate(faulty, start=1):
        m += bool(fault)
        if m >= max(least, plan.reject_at(n + k)):
            return "reject", k
    return ("accept" if k >= presses and m <= plan.accept_at(n + k) else "undecided"), k


@dataclass(frozen=True, slots=True)
class Characteristic:
    """What a plan does with a unit whose true share of faulty presses is p."""

    p: float
    accept: float
    reject: float
    undecided: float
    mean_presses: float
    median_presses: int


def characteristic(plan: Plan, p: float, truncated: bool = True) -> Characteristic:
    """Exact operating characteristic where each press fails by itself; no approximation of Wald's.

    `truncated` False lets the test run on until less than 10⁻¹² of the probability is left.
    """
    return _characteristic(plan, p, (p, p), truncated)


def characteristic_in_runs(plan: Plan, p: float, run_length: float) -> Characteristic:
    """The same where the share p of faulty presses comes in runs of `run_length` presses on average (≥ 1).

    Faults follow a Markov chain of two states (Gilbert, Bell Syst. Tech. J. 39, 1960, 1253): a fault is
    followed by another with probability 1 − 1/run_length, a sound press by a fault with p/(run_length·(1 − p)).
    ValueError where no such chain exists.
    """
    return _characteristic(plan, p, _after(p, run_length))


def faults_in_runs(presses: int, p: float, run_length: float) -> NDArray[np.float64]:
    """float[presses + 1]: probability of each number of faulty presses in so many, by the same chain.

    ValueError where no such chain exists.
    """
    after = _after(p, run_length)
    alive = np.zeros((2, presses + 1))
    alive[0, 0], alive[1, 1] = 1 - p, p
    for _ in range(presses - 1):
        faulty = alive[0] * after[0] + alive[1] * after[1]
        alive = np.array([alive[0] * (1 - after[0]) + alive[1] * (1 - after[1]), np.append(0.0, faulty[:-1])])
    return np.asarray(alive.sum(axis=0))


def _after(p: float, run_length: float) -> tuple[float, float]:
    """Probability of a fault after a sound press and after a faulty one."""
    if run_length < 1 or not 0 <= p < 1 or p > run_length * (1 - p):
        raise ValueError(f"a share of {p} cannot come in runs of {run_length} on average")
    return p / (run_length * (1 - p)), 1 - 1 / run_length


def _characteristic(plan: Plan, p: float, after: tuple[float, float], truncated: bool = True) -> Characteristic:
    """Dynamic programming over (presses, faults, was the last press faulty).

    `after`: probability of a fault after a sound press and after a faulty one; the first press fails with p.
    """
    if not 0 <= p <= 1:
        raise ValueError(f"a share lies between 0 and 1, not {p}")
    alive = np.array([[1.0], [0.0]])
    chances = p, p
    accept = reject = mean = ended = 0.0
    median = n = 0
    while alive.sum() > 1e-12 and not (truncated and n >= plan.stop_at):
        n += 1
        grown = np.zeros((2, alive.shape[1] + 1))
        grown[0, :-1] = alive[0] * (1 - chances[0]) + alive[1] * (1 - chances[1])
        grown[1, 1:] = alive[0] * chances[0] + alive[1] * chances[1]
        chances = after
        a, r = plan.accept_at(n) + 1, plan.reject_at(n)
        accepted, rejected = float(grown[:, :a].sum()), float(grown[:, r:].sum())
        grown[:, :a] = 0.0
        alive = grown[:, :r]
        accept, reject, mean = accept + accepted, reject + rejected, mean + n * (accepted + rejected)
        ended += accepted + rejected
        if not median and ended >= 0.5:
            median = n
    left = float(alive.sum())
    return Characteristic(p, accept, reject, left, mean + n * left, median or n)
