"""Which kind of visit lies nearest for a unit; only a suggestion, the person can choose another."""

from __future__ import annotations

from datetime import date

from station.judgement.rest import rest_over
from station.judgement.treated import untested
from station.records.types import FIRST_LOOK, UnitHistory
from station.sheets.model import Sheet


def proposed_kind(history: UnitHistory, today: date, sheet: Sheet | None = None) -> str:
    """First look at first, then intake; after a treatment that no visit has looked at; after the rest once it is over;
    else final.

    `sheet`: the unit's, where it is known: as long as a treatment is untested by it, the visit after it comes first.
    """
    if not history.visits:
        return FIRST_LOOK
    if all(v.kind == FIRST_LOOK for v in history.visits) and not history.treatments:
        return "intake"
    last_visit = max(v.started_at for v in history.visits)
    owed = sheet is not None and untested(history, sheet) is not None
    if owed or any(t.at > last_visit for t in history.treatments):
        return "after treatment"
    if history.unit.rest_until and rest_over(history.unit, today.isoformat()):
        return "after rest"
    return "final"
