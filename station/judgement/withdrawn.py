"""What follows from what was withdrawn. That they count nowhere needs no rule here: a history holds them apart
(`station.records.types.UnitHistory.withdrawn`), so that no rule of the trade ever sees one."""

from __future__ import annotations

from station.judgement.tries import gave_verdict
from station.records.types import Result, UnitHistory, Withdrawal


def withdrawn_verdicts(history: UnitHistory) -> tuple[tuple[Result, Withdrawal], ...]:
    """The withdrawn results that had said pass, borderline or fail, in the order in which they were recorded: whoever
    hands out what the unit comes to has to name them."""
    found = [(w.entry, w.by) for w in history.withdrawn if isinstance(w.entry, Result) and gave_verdict(w.entry)]
    return tuple(sorted(found, key=lambda pair: (pair[0].at, pair[0].id)))


def corrected_since_tested(history: UnitHistory, column: str) -> tuple[Withdrawal, ...]:
    """Where a value of the unit was put right after something of it had been tested under the wrong one."""
    first = min((r.at for r in history.results), default="")
    found = (w.by for w in history.withdrawn if w.by.what == "values" and w.by.values.get(column))
    return tuple(sorted((by for by in found if first and by.at >= first), key=lambda by: (by.at, by.id)))


def sheet_was_corrected(history: UnitHistory) -> bool:
    """Whether a person said by which model sheet the unit goes: then not by that which its device matches."""
    return any("sheet" in w.by.values for w in history.withdrawn if w.by.what == "values")
