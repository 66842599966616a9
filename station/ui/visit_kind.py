"""Which kind of visit lies nearest for a unit; only a suggestion, the person can choose another."""

from __future__ import annotations

from datetime import date

from station.judgement.rest import rest_over
from station.records.types import FIRST_LOOK, UnitHistory


def proposed_kind(history: UnitHistory, today: date) -> str:
    """First look at first, then intake; after a treatment that no visit has looked at; after the rest once it is over;
    else final."""
    if not history.visits:
        return FIRST_LOOK
    if all(v.kind == FIRST_LOOK for v in history.visits) and not history.treatments:
        return "intake"
    last_visit = max(v.started_at for v in history.visits)
    if any(t.at > last_visit for t in history.treatments):
        return "after treatment"
    if history.unit.rest_until and rest_over(history.unit, today.isoformat()):
        return "after rest"
    return "final"
