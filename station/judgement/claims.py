"""What may be claimed of a unit, as a certificate does: what stands of the checklist, and what does not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from station.checks.types import Outcome
from station.judgement.rest import RestFacts, rest_facts
from station.judgement.totals import Totals, totals
from station.judgement.treated import older
from station.judgement.tries import Key, gave_verdict, standing
from station.records.types import Result, Treatment, UnitHistory
from station.sheets.model import Sheet


@dataclass(frozen=True, slots=True)
class Claim:
    """What a unit's records allow to say of a checklist.

    `verdicts`: what stands for the checks with a verdict, in the order of the list. `skipped`: those that a person left
    out since, with that try. `unlisted`: verdicts of checks that are not on the list. `older`: those whose verdict is
    older than a treatment that may have changed it.
    """

    verdicts: dict[Key, Result]
    skipped: dict[Key, Result]
    unlisted: dict[Key, Result]
    older: dict[Key, Treatment]
    rest: RestFacts
    totals: Totals
    """passes that are older than a treatment are left out: nobody knows whether they would pass again"""


def claim_of(history: UnitHistory, wanted: Sequence[Key], sheet: Sheet) -> Claim:
    """What may be claimed of the checks `wanted` (the checklist of the model, in its order)."""
    stands = standing(history.results)
    here = {key: stands[key] for key in dict.fromkeys(wanted) if key in stands}
    verdicts = {key: r for key, r in here.items() if gave_verdict(r)}
    unlisted = {key: r for key, r in stands.items() if key not in here and gave_verdict(r)}
    every = {**verdicts, **unlisted}
    stale = {key: t for key, t in older(history, sheet).items() if key in every}
    held = [r for key, r in every.items() if key not in stale or r.assessment.outcome is not Outcome.PASS]
    return Claim(
        verdicts,
        {key: r for key, r in here.items() if key not in verdicts},
        unlisted,
        stale,
        rest_facts(history),
        totals(held),
    )
