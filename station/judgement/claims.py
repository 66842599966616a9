"""What may be claimed of a unit, as a certificate does: what stands of the checklist, and what does not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from station.checks.types import Outcome
from station.judgement.rest import RestFacts, rest_facts
from station.judgement.totals import Totals, totals
from station.judgement.treated import older
from station.judgement.tries import Key, gave_verdict, standing, tests, verdicts
from station.records.types import Result, Treatment, UnitHistory
from station.sheets.model import Sheet


@dataclass(frozen=True, slots=True)
class Override:
    """Why less was asked of a unit than the rules ask, for as long as that shows.

    `of`: "rest" – it was called ready without its second test; "older" – with results older than a treatment; "cut" –
    its second test is done, and the rest before it was cut short.
    """

    of: Literal["rest", "older", "cut"]
    reason: str


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
    override: Override | None = None


def claim_of(history: UnitHistory, wanted: Sequence[Key], sheet: Sheet) -> Claim:
    """What may be claimed of the checks `wanted` (the checklist of the model, in its order)."""
    stands = standing(history.results)
    here = {key: stands[key] for key in dict.fromkeys(wanted) if key in stands}
    found = {key: r for key, r in here.items() if gave_verdict(r)}
    unlisted = {key: r for key, r in stands.items() if key not in here and gave_verdict(r)}
    every = {**found, **unlisted}
    stale = {key: t for key, t in older(history, sheet).items() if key in every}
    held = [r for key, r in every.items() if key not in stale or r.assessment.outcome is not Outcome.PASS]
    rest = rest_facts(history)
    return Claim(
        found,
        {key: r for key, r in here.items() if key not in found},
        unlisted,
        stale,
        rest,
        totals(held),
        override_of(history, rest, stale),
    )


def override_of(history: UnitHistory, rest: RestFacts, stale: Mapping[Key, Treatment]) -> Override | None:
    """The reason that was given for being called ready early or cutting the rest short; None once it no longer holds:
    what was left out was done since, or (the records say that) the unit was opened again."""
    reason = history.extra.get("override", "")
    if not reason:
        return None
    if rest.still_due:
        return Override("rest", reason)
    if stale:
        return Override("older", reason)
    return Override("cut", reason) if "rest_asked" in history.extra else None


Lack = Literal["untested", "undecided", "skipped"]
"""untested: no try was made; undecided: none of them counted (interrupted, to be done again) or all were skipped;
skipped: what had a verdict was skipped since"""


def lack_of(results: Sequence[Result]) -> Lack | None:
    """Why nothing stands for a unit; None if something does."""
    if verdicts(results):
        return None
    if any(map(gave_verdict, results)):
        return "skipped"
    return "undecided" if tests(results) else "untested"
