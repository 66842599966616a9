"""Whether a check came out better or worse than before."""

from __future__ import annotations

import math
from typing import Literal

from station.checks.types import Outcome, Reading
from station.judgement.tries import gave_verdict
from station.records.types import Result

Change = Literal["better", "worse", ""]
_FROM_BAD_TO_GOOD = (Outcome.FAIL, Outcome.BORDERLINE, Outcome.PASS)


def change(before: Result | None, after: Result | None, reading: str = "") -> Change:
    """What changed between two tries at one check; "" where nothing did, or where one of them has no verdict.

    Another outcome is a change. With the same one, short of a pass, it is one where the reading of that name moved by
    more than the uncertainty of the difference, √(U₁² + U₂²) (JCGM 100:2008, 5.1.2, two values that are not
    correlated); a count has no uncertainty and says nothing here, since a few presses more or less mean nothing.
    """
    if before is None or after is None or not (gave_verdict(before) and gave_verdict(after)):
        return ""
    was, now = (_FROM_BAD_TO_GOOD.index(r.assessment.outcome) for r in (before, after))
    if was != now:
        return "better" if now > was else "worse"
    if after.assessment.outcome is Outcome.PASS:
        return ""
    first, second = _of(before, reading), _of(after, reading)
    if first is None or second is None or first.value is None or second.value is None:
        return ""
    if first.uncertainty == 0 or second.uncertainty == 0:
        return ""
    moved = second.value - first.value
    if abs(moved) <= math.hypot(first.uncertainty, second.uncertainty):
        return ""
    return "better" if (moved < 0) == (second.rule == "<=") else "worse"


def _of(result: Result, name: str) -> Reading | None:
    return next((r for r in result.assessment.readings if r.name == name), None)
