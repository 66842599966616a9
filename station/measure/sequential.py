"""Wald's sequential test of a share of faulty presses, and what it can and cannot tell.

Source: A. Wald, *Sequential Analysis* (1947); the lines in the form of NIST/SEMATECH e-Handbook §6.2.6.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

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


def run(plan: Plan, faulty: Iterable[bool]) -> tuple[Verdict, int]:
    """The verdict on presses in the order they were made, and after how many it fell.

    The test ends at the first line crossed. Presses recorded beyond an acceptance still count against it: whenever
    the reject line is crossed, the verdict is "reject". This keeps the risk α/(1 − β) of rejecting a good one
    (the likelihood ratio of a good one ever exceeds (1 − β)/α with at most that probability: Ville 1939, from
    memory) and lets no evidence of a fault go unused.
    """
    verdict: Verdict = "undecided"
    decided_at = m = n = 0
    slope, h_reject, h_accept = plan.slope, plan.h_reject, plan.h_accept
    for fault in faulty:
        n += 1
        m += bool(fault)
        if m >= slope * n + h_reject:
            return "reject", n
        if verdict == "undecided" and n <= plan.stop_at and m <= slope * n - h_accept:
            verdict, decided_at = "accept", n
    return verdict, decided_at or n


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
    """Exact operating characteristic by dynamic programming over (presses, faults); no approximation of Wald's.

    `truncated` False lets the test run on until less than 10⁻¹² of the probability is left.
    """
    if not 0 <= p <= 1:
        raise ValueError(f"a share lies between 0 and 1, not {p}")
    alive = np.array([1.0])
    accept = reject = mean = ended = 0.0
    median = n = 0
    while alive.sum() > 1e-12 and not (truncated and n >= plan.stop_at):
        n += 1
        grown = np.zeros(len(alive) + 1)
        grown[:-1] += alive * (1 - p)
        grown[1:] += alive * p
        a, r = plan.accept_at(n) + 1, plan.reject_at(n)
        accepted, rejected = float(grown[:a].sum()), float(grown[r:].sum())
        grown[:a] = 0.0
        alive = grown[:r]
        accept, reject, mean = accept + accepted, reject + rejected, mean + n * (accepted + rejected)
        ended += accepted + rejected
        if not median and ended >= 0.5:
            median = n
    left = float(alive.sum())
    return Characteristic(p, accept, reject, left, mean + n * left, median or n)
