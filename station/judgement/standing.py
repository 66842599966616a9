"""What a unit may be sold as: passed, with declared faults, or not tested to the end.

The one rule behind the headline of a certificate. A verdict by hand, a skip or an unfinished visit is no way around it:
every check that the plan of the model asks for has to have one that holds.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from station.checks.light import ON_REQUEST
from station.checks.registry import describe
from station.checks.types import Outcome
from station.judgement.claims import Claim, claim_of
from station.judgement.tries import Key
from station.records.types import UnitHistory
from station.sheets.model import Sheet

Kind = Literal["passed", "faults", "incomplete"]


@dataclass(frozen=True, slots=True)
class Standing:
    """`kind`; of `required` checks those without a verdict that holds are `missing`, those that failed `failed`.

    `left_out`: checks that only a person could answer and that were skipped with a reason; they do not stand in the
    way, and their reason has to be told beside the headline. `rest_due`: it was treated, and its second test is to
    come.
    """

    kind: Kind
    required: tuple[Key, ...]
    missing: tuple[Key, ...] = ()
    failed: tuple[Key, ...] = ()
    left_out: tuple[Key, ...] = ()
    rest_due: bool = False


def standing_of(history: UnitHistory, wanted: Iterable[Key], sheet: Sheet) -> Standing:
    """How the unit stands by the checks `wanted` (the checklist of its model). Presses on request are not asked for;
    where they were done and failed, they count."""
    required = tuple(key for key in dict.fromkeys(wanted) if key[0] not in ON_REQUEST)
    return stands_as(claim_of(history, tuple(dict.fromkeys(wanted)), sheet), required)


def stands_as(claim: Claim, required: tuple[Key, ...]) -> Standing:
    """The same, of what may be claimed already. A reason that was given for being called ready early stands in the
    place of what it was given for."""
    excused = claim.override.of if claim.override is not None else ""
    left_out = tuple(key for key in required if _excused(key, claim))
    missing = tuple(
        key
        for key in required
        if key not in left_out and (key not in claim.verdicts or (key in claim.older and excused != "older"))
    )
    every = {**claim.verdicts, **claim.unlisted}
    failed = tuple(key for key, result in every.items() if result.assessment.outcome is Outcome.FAIL)
    rest_due = claim.rest.still_due and excused != "rest"
    kind: Kind = "incomplete" if missing or rest_due or not required else "faults" if failed else "passed"
    return Standing(kind, required, missing, failed, left_out, rest_due)


def _excused(key: Key, claim: Claim) -> bool:
    skip = claim.skipped.get(key)
    return skip is not None and bool(skip.reason) and describe(key[0]).person_answers
