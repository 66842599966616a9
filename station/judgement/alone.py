"""What being left alone has to say before a second test, where the shop wants it."""

from __future__ import annotations

from station.checks.registry import describe
from station.checks.types import Outcome
from station.judgement.tries import standing
from station.records.types import Result, UnitHistory
from station.words import judgement as words


def done_alone(result: Result) -> bool:
    """Whether it was done away from the front of the bench: no test by a hand."""
    return describe(result.check).left_alone


def why_not_alone(history: UnitHistory) -> str:
    """Why the unit may not be called ready, one sentence; empty when it may, or when no second test is asked for.

    It has to pass since its last treatment.
    """
    if not history.unit.rest_until:
        return ""
    treated_at = max((t.order for t in history.treatments), default="")
    stands = (r for r in standing(history.results).values() if done_alone(r) and r.order > treated_at)
    if any(r.assessment.outcome is Outcome.PASS for r in stands):
        return ""
    return words.NOT_LEFT_ALONE.format(tag=history.unit.tag)
