"""How often treatments cure, learned from the shop's own records: Beta–binomial with a Jeffreys start.

The posterior of a rate after k cures in n tries from Beta(½, ½) is Beta(½ + k, ½ + n − k). The guide's counts are the
first tries; the shop's tries on the same model with a finding in common count in full; its tries of the same treatment
on the same sort of part elsewhere count for at most `FAR_WORTH` tries together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from station.diagnosis.guide import Method
from station.diagnosis.types import Rate

FAR_WORTH = 6.0


@dataclass(frozen=True, slots=True)
class Trial:
    """A treatment that was tried and tested again.

    `weight`: the probability that a part of this role was the bad one, so that the treatment was a try on it at all.
    """

    model: str
    kind: str
    role: str
    codes: frozenset[str]
    cured: bool
    attempt: int = 1
    weight: float = 1.0


def interval(rate: Rate, coverage: float = 0.95) -> tuple[float, float]:
    """Central credible interval of the rate: quantiles of Beta(a, b)."""
    from scipy.special import betaincinv  # loaded when first used: a cold start needs none of it

    tail = (1 - coverage) / 2
    return float(betaincinv(rate.a, rate.b, tail)), float(betaincinv(rate.a, rate.b, 1 - tail))


def rate_of(method: Method, role: str, model: str, codes: frozenset[str], trials: Sequence[Trial]) -> Rate:
    """The rate of first tries of this treatment on this sort of part."""
    cured, tried = method.cures[role]
    like = [t for t in trials if t.kind == method.kind and t.role == role and t.attempt == 1]
    near = [t for t in like if t.model == model and t.codes & codes]
    far = [t for t in like if not (t.model == model and t.codes & codes)]
    far_tried = sum(t.weight for t in far)
    worth = min(FAR_WORTH, far_tried) / far_tried if far_tried else 0.0
    own = sum(t.weight for t in near)
    return Rate(
        cured + sum(t.weight for t in near if t.cured) + worth * sum(t.weight for t in far if t.cured),
        tried + own + worth * far_tried,
        own + far_tried,
    )
