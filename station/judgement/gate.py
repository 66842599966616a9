"""When a unit may be called ready, and the rules of rest: what the records ask.

They are given it when they are opened (`station.records.rules.RestRule`), since they know no rules themselves.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from station.judgement import alone, rest
from station.judgement.treated import older
from station.records.types import Unit, UnitHistory
from station.sheets.model import Sheet
from station.words import common, figures
from station.words import judgement as words

NAMED = 4
"""so many checks are named, the others counted"""


def why_not_ready(history: UnitHistory, sheet: Sheet, today: str) -> str:
    """Why the unit may not be called ready yet, one sentence; empty when it may. `today`: YYYY-MM-DD.

    Its rest has to be over, its second test done, and whatever its treatments made due again tested since.
    """
    return rest.why_not_rested(history, today) or _still_due(history, sheet)


def _still_due(history: UnitHistory, sheet: Sheet) -> str:
    stale = older(history, sheet)
    if not stale:
        return ""
    from station.checks.said import title_on  # with the measures: a window that is starting can do without

    names = [title_on(check, control, sheet) for check, control in stale]
    more = len(names) - NAMED
    if more > 0:
        names[NAMED:] = [words.MORE_CHECKS.format(count=more)]
    last = max(stale.values(), key=lambda treatment: treatment.order)
    return words.STILL_DUE.format(
        tag=history.unit.tag,
        kind=common.TREATMENT_KINDS.get(last.kind, last.kind),
        day=figures.day(last.at),
        checks=words.NEXT_CHECK.join(names),
    )


@dataclass(frozen=True, slots=True)
class Rules:
    """The rules as the records are handed them. `sheet_of`: the model sheet of a unit: what its parts serve."""

    sheet_of: Callable[[Unit], Sheet]

    rest_days = staticmethod(rest.rest_days)
    rest_until = staticmethod(rest.rest_until)
    rest_over = staticmethod(rest.rest_over)
    second_test = staticmethod(rest.second_test)
    becomes_after_treatment = staticmethod(rest.becomes_after_treatment)

    why_not_alone = staticmethod(alone.why_not_alone)

    def why_not_ready(self, history: UnitHistory, today: str) -> str:
        """Why the unit may not be called ready yet; the sheet is looked for only where something was treated."""
        sheet = self.sheet_of(history.unit) if history.treatments else Sheet(history.unit.model)
        return why_not_ready(history, sheet, today)
