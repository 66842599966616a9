"""Which tries at a check are taken together with the next one (docs/decisions/which-try-counts.md)."""

from __future__ import annotations

from collections.abc import Iterable

from station.checks.types import Assessment, Outcome
from station.judgement.treated import treated_since
from station.records.types import Result, Treatment
from station.sheets.model import Sheet


def measured(assessment: Assessment) -> bool:
    """Whether a try measured anything that a later one can be taken together with; an interrupted one did not."""
    return assessment.outcome is not Outcome.INTERRUPTED and bool(assessment.readings)


def pooled(tries: Iterable[Result], treatments: Iterable[Treatment], sheet: Sheet) -> tuple[Assessment, ...]:
    """What the next try at a check goes on from: the tries of the same visit, oldest first.

    Those that a person set by hand, those that were interrupted, and those from before a treatment that may have
    changed the control are left out.
    """
    done = tuple(treatments)
    return tuple(
        r.assessment
        for r in tries
        if not r.by_hand and measured(r.assessment) and treated_since(r, done, sheet) is None
    )
