"""Is a value inside its limit? The decision rule with a guard band as wide as the uncertainty.

Source: JCGM 106:2012 and ILAC-G8:09/2019 §4.2 (guard band w = U, non-binary statement). With w = U and k = 2 the
risk that a value called "pass" truly lies outside is at most 2.3 % (Φ(−2), ILAC-G8 Table 1).
"""

from __future__ import annotations

from typing import Literal

Rule = Literal["<=", ">="]
Decision = Literal["pass", "borderline", "fail"]


def decide(value: float, uncertainty: float, limit: float, fail_beyond: float, rule: Rule) -> Decision:
    """Pass, borderline or fail (docs/METHOD.md §2).

    A measured value (`uncertainty` U > 0, expanded, k = 2) passes when it is inside `limit` by at least U, fails
    when it is outside by more than U or lies beyond `fail_beyond`, and is borderline between. A count (U = 0) has
    no band around its limit: it passes inside the limit, fails beyond `fail_beyond`, and what lies between the
    two limits is borderline. All numbers in one unit; ValueError for a number that is not finite or U < 0.
    """
    numbers = (value, uncertainty, limit, fail_beyond)
    if any(x != x or x in (float("inf"), float("-inf")) for x in numbers) or uncertainty < 0:
        raise ValueError(f"a decision needs finite numbers and an uncertainty that is not negative: {numbers}")
    sign = 1.0 if rule == "<=" else -1.0
    outside = sign * (value - limit)
    beyond = sign * (value - fail_beyond)
    if beyond > 0 or (uncertainty > 0 and outside > uncertainty):
        return "fail"
    return "pass" if outside <= -uncertainty else "borderline"


def rule_of(limit: float, fail_beyond: float) -> Rule:
    """On which side of the limit a value should be: "<=" where the fail limit is the greater one, else ">="."""
    return "<=" if fail_beyond >= limit else ">="
