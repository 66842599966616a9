"""What each unit of a lot needs and could give, by the diagnosis: the donor planner's input."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from station.diagnosis.courses import with_free_parts, without_parts
from station.diagnosis.faults import case_of, faults_of
from station.diagnosis.guide import Guide
from station.diagnosis.rates import Trial
from station.diagnosis.suspects import part_of, parts_on, suspects
from station.diagnosis.treatments import first_fault, stakes_of
from station.lots.planner import Need
from station.records.types import UnitHistory
from station.sheets.model import Sheet

NEEDED = 0.3
"""a suspect this likely is a part that the unit needs"""
GOOD = 0.05
"""a part less suspect than this can be given away"""


def need_of(history: UnitHistory, sheet: Sheet, guide: Guide, trials: Sequence[Trial] = ()) -> Need | None:
    """What the unit needs and has; None when nothing is wrong with it.

    `as_is` is the best outcome by treatments that need no part (or by selling it as it is), `mended` the best when
    every part is at hand for nothing; both after work.
    """
    case = case_of(history, sheet, guide, trials, ())
    if not case.evidence.seen:
        return None
    found = suspects(case.evidence, sheet, guide)
    doubtful = {s.name for s in found if s.weight >= GOOD}
    values = guide.values_for(history.unit.model)
    return Need(
        history.unit.id,
        history.unit.tag,
        history.unit.model,
        tuple(s.name for s in found if s.weight >= NEEDED),
        tuple(part.name for part in parts_of(sheet, guide) if part.name not in doubtful),
        round(_outcome(history, sheet, with_free_parts(guide), trials)),
        round(_outcome(history, sheet, without_parts(guide), trials)),
        values.parts_minor,
    )


def _outcome(history: UnitHistory, sheet: Sheet, guide: Guide, trials: Sequence[Trial]) -> float:
    """Expected proceeds of the best plan."""
    stakes = stakes_of(guide.values_for(history.unit.model), guide)
    return first_fault(faults_of(case_of(history, sheet, guide, trials, ())), stakes)[1].value


@dataclass(frozen=True, slots=True)
class OwnPart:
    """A part that every unit of a model has, on one of its controls."""

    part_id: str
    name: str
    control: str


def parts_of(sheet: Sheet, guide: Guide) -> tuple[OwnPart, ...]:
    """The parts of a unit of this model, each once: by the sheet where it lists them, else by the guide."""
    own = (OwnPart(*part_of(p, sheet), c.id) for c in sheet.controls for p in parts_on(c.id, c.kind, guide))
    return tuple({part.name: part for part in own}.values())
