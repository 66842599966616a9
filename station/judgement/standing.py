"""What a unit may be sold as: passed, with declared faults, or not tested to the end.

The one rule behind the headline of a certificate. A verdict by hand, a skip or an unfinished visit is no way around it:
every check that the plan of the model asks for has to have one that holds. Nor is a sheet that leaves controls out:
what the unit itself says it has is tested, or the sheet says once for its model that it is no control.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from station.checks.light import ON_REQUEST
from station.checks.registry import describe
from station.checks.types import Outcome
from station.judgement.claims import Claim, claim_of
from station.judgement.treated import treated_since
from station.judgement.tries import Key, gave_verdict
from station.records.types import Result, UnitHistory
from station.sheets.beyond import Extra
from station.sheets.model import Sheet

Kind = Literal["passed", "faults", "incomplete"]


@dataclass(frozen=True, slots=True)
class Standing:
    """`kind`; of `required` checks those without a verdict that holds are `missing`, those that failed `failed`.

    `left_out`: checks that only a person could answer and that were skipped with a reason; they do not stand in the
    way, and have to be told in the headline. `by_hand`: checks that were measured, and whose outcome a person set; they
    have to be told there too. `unmeasured`: of the missing ones those that have a word of approval, of a person or of
    whoever recorded it, and no measurement behind it. `rest_due`: it was treated, and its second test is to come.
    """

    kind: Kind
    required: tuple[Key, ...]
    missing: tuple[Key, ...] = ()
    failed: tuple[Key, ...] = ()
    left_out: tuple[Key, ...] = ()
    by_hand: tuple[Key, ...] = ()
    unmeasured: tuple[Key, ...] = ()
    borderline: tuple[Key, ...] = ()
    rest_due: bool = False
    early: bool = False
    """its second test is due, and a reason was given for calling it ready without; to be told in the headline"""
    unnamed: tuple[Extra, ...] = ()
    """what the unit says it has and its sheet does not name: nobody tested it"""


def standing_of(history: UnitHistory, wanted: Iterable[Key], sheet: Sheet, unnamed: Sequence[Extra] = ()) -> Standing:
    """How the unit stands by the checks `wanted` (the checklist of its model). Presses on request are not asked for;
    where they were done and failed, they count. `unnamed`: what it says it has and the sheet does not name."""
    required = tuple(key for key in dict.fromkeys(wanted) if key[0] not in ON_REQUEST)
    return stands_as(claim_of(history, tuple(dict.fromkeys(wanted)), sheet), required, history, sheet, unnamed)


def stands_as(
    claim: Claim, required: tuple[Key, ...], history: UnitHistory, sheet: Sheet, unnamed: Sequence[Extra] = ()
) -> Standing:
    """The same, of what may be claimed already. A reason that was given for being called ready before the second
    test stands in its place; a check that is older than a treatment is missing all the same."""
    excused = claim.override is not None and claim.override.of == "rest"
    left_out = tuple(key for key in required if _excused(key, claim, history.results))
    told = {key: claim.verdicts[key] for key in required if key in claim.verdicts}
    asks_more = {key: r for key, r in told.items() if not _only_a_word(key, sheet)}
    by_hand = tuple(key for key, r in asks_more.items() if r.by_hand)
    unmeasured = tuple(
        key
        for key, r in asks_more.items()
        if (not _was_measured(r, history, sheet) if r.by_hand else approves_unread(r))
    )
    missing = tuple(
        key
        for key in required
        if key in unmeasured or (key not in left_out and (key not in told or key in claim.older))
    )
    every = {**claim.verdicts, **claim.unlisted}
    failed = tuple(key for key, result in every.items() if result.assessment.outcome is Outcome.FAIL)
    borderline = tuple(key for key, result in every.items() if result.assessment.outcome is Outcome.BORDERLINE)
    rest_due = claim.rest.still_due and not excused
    is_open = bool(missing or rest_due or not required or unnamed)
    kind: Kind = "incomplete" if is_open else "faults" if failed else "passed"
    early = excused and claim.rest.still_due
    return Standing(
        kind, required, missing, failed, left_out, by_hand, unmeasured, borderline, rest_due, early, tuple(unnamed)
    )


def approves_unread(result: Result) -> bool:
    """Whether it calls something good without a single value that was read: that is no measurement, whoever recorded
    it. What it finds wrong stands all the same."""
    approves = result.assessment.outcome in (Outcome.PASS, Outcome.BORDERLINE)
    return approves and all(reading.value is None for reading in result.assessment.readings)


def _only_a_word(key: Key, sheet: Sheet) -> bool:
    """Whether a person's word is all that is asked; where a meter is asked for, too, a word alone measured nothing."""
    metered = any(ask.id == key[0] and ask.meter for ask in sheet.asks)
    return describe(key[0]).person_answers and not metered


def _excused(key: Key, claim: Claim, results: Sequence[Result]) -> bool:
    """Whether a skip stands in the way of nothing: a person gave a reason, and had not said before that it fails."""
    skip = claim.skipped.get(key)
    if skip is None or not skip.reason or not describe(key[0]).person_answers:
        return False
    before = [r for r in results if (r.check, r.control) == key and gave_verdict(r)]
    return not before or before[-1].assessment.outcome is not Outcome.FAIL


def _was_measured(marked: Result, history: UnitHistory, sheet: Sheet) -> bool:
    """Whether the last measurement before a mark by hand did not fail, and still tells of the unit: a person may decide
    what is borderline, not what nobody measured since it was treated, nor what failed. Before is as it was recorded: a
    clock that was set back hides no fault."""
    key = (marked.check, marked.control)
    if marked.assessment.outcome is Outcome.FAIL:
        return True
    before = history.results[: history.results.index(marked)]
    own = (r for r in before if (r.check, r.control) == key and not r.by_hand)
    measured = [r for r in own if gave_verdict(r) and not approves_unread(r)]
    if not measured or measured[-1].assessment.outcome is Outcome.FAIL:
        return False
    return treated_since(measured[-1], history.treatments, sheet) is None
