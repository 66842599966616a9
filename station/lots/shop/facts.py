"""What the shop's figures need to know of one unit. Pure: the rules are those of `judgement` and `diagnosis`."""

from __future__ import annotations

from dataclasses import dataclass

from station.checks.decide import worst
from station.checks.types import Outcome
from station.diagnosis.guide import Guide
from station.diagnosis.learn import all_repairs_in
from station.judgement.claimed import state_of
from station.judgement.tries import Key, tested_beyond_a_look, verdicts
from station.records.types import UnitHistory
from station.sheets.model import Sheet

RULE = 2
"""one more whenever what is told of a unit changes: what was kept by another rule is read anew"""
ReadingKey = tuple[str, str, str]
"""check, control, name of the reading"""


@dataclass(frozen=True, slots=True)
class Cure:
    """A first try of a treatment on a fault, and whether what had failed passed then. `check`: one that had failed."""

    check: str
    kind: str
    cured: bool


@dataclass(frozen=True, slots=True)
class UnitFacts:
    """`came_as`: the worst verdict before anything was done to it, of which a first look alone passes nothing;
    `faults`: the checks that failed then, with their controls; `claim`: a state of claims, "" without a claim;
    `readings`: of what stands for it now, those with a limit."""

    came_as: Outcome
    claim: str = ""
    faults: tuple[Key, ...] = ()
    cures: tuple[Cure, ...] = ()
    readings: tuple[tuple[ReadingKey, float], ...] = ()


def facts_of(history: UnitHistory, sheet: Sheet, guide: Guide) -> UnitFacts:
    """What counts of a unit. A treatment that went for several failed checks counts once under each of them; tries
    that tell nothing are left out as the diagnosis leaves them out (`diagnosis.learn.all_repairs_in`)."""
    until = min((t.at for t in history.treatments), default="9")
    before = tuple(r for r in history.results if r.at <= until)
    found = verdicts(before)
    came_as = worst(r.assessment.outcome for r in found.values())
    if came_as is Outcome.PASS and not tested_beyond_a_look(history, before):
        came_as = Outcome.NOT_DONE
    stands = verdicts(history.results)
    cures = (
        Cure(check, tried.kind, tried.cured)
        for repair in (all_repairs_in(history, guide, sheet) if history.treatments else ())
        for tried in repair.tried
        if tried.attempt == 1
        for check in sorted(repair.checks)
    )
    return UnitFacts(
        came_as,
        state_of(history, sheet) if history.unit.claim.strip() else "",
        tuple(key for key, r in found.items() if r.assessment.outcome is Outcome.FAIL),
        tuple(cures),
        tuple(
            ((*key, reading.name), float(reading.value))
            for key, r in stands.items()
            for reading in r.assessment.readings
            if reading.limit is not None and reading.value is not None
        ),
    )
