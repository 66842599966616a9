"""Which try counts (docs/decisions/which-try-counts.md): asked by everyone who reads results."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from station.checks.looks import LOOKS
from station.checks.types import Assessment, Outcome
from station.records.types import FIRST_LOOK, Result, UnitHistory

VERDICTS = (Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL)
_Tried = TypeVar("_Tried", Result, Assessment)
Key = tuple[str, str]
"""(check, control); control "" is the whole unit"""


def tells(assessment: Assessment) -> bool:
    """Whether what was measured led to a verdict; a sloppy try ("again, please") and an interrupted one did not."""
    return assessment.outcome in VERDICTS and not assessment.again


def counts(result: Result) -> bool:
    """A try counts if it led to a verdict, or if a person set its outcome by hand (a skip: not done)."""
    return result.by_hand or tells(result.assessment)


def unmeasured(assessment: Assessment) -> bool:
    """Whether a person called it good and read no meter, where one was asked for: its readings stand there without a
    value. A skip has none."""
    return assessment.outcome is Outcome.NOT_DONE and not assessment.again and bool(assessment.readings)


def gave_verdict(result: Result) -> bool:
    """Whether the try counts and says pass, borderline or fail; a skip says neither, and a look is no test."""
    return counts(result) and result.assessment.outcome in VERDICTS and not only_a_look(result)


def only_a_look(result: Result) -> bool:
    """Whether it was done in a first look: it may raise a suspicion, and shows of nothing that it is sound."""
    return result.check in LOOKS


def tests(results: Iterable[Result]) -> tuple[Result, ...]:
    """The results without those that are only looks."""
    return tuple(r for r in results if not only_a_look(r))


def tested_beyond_a_look(history: UnitHistory, results: Iterable[Result]) -> bool:
    """Whether any of these results of the unit says pass, borderline or fail in another visit than a first look: what
    that asks besides its looks (the look over, rumble, charge, link) speaks of those alone, not of the unit."""
    first = {v.id for v in history.visits if v.kind == FIRST_LOOK}
    return any(gave_verdict(r) and r.visit_id not in first for r in results)


def suspicions(results: Iterable[Result]) -> dict[Key, Result]:
    """What the last look at each control found, for as long as no check has tested that control since."""
    results = tuple(results)
    tested = {r.control: r.order for r in results if gave_verdict(r)}
    looks = counted(r for r in results if only_a_look(r))
    return {
        key: r
        for key, r in looks.items()
        if r.assessment.outcome in (Outcome.FAIL, Outcome.BORDERLINE) and tested.get(r.control, "") <= r.order
    }


def last_that_counts(tries: Sequence[Result]) -> Result | None:
    """Of the tries at one check of one control, oldest first, the one that counts; None while there is none."""
    return next((r for r in reversed(tries) if counts(r)), None)


def shown(tries: Sequence[_Tried], counts: Callable[[_Tried], bool]) -> _Tried:
    """The try that a check is shown by: the last one that counts, else the last one. `tries`: at least one, oldest
    first; `counts`: `counts` of results, `tells` of what a recording gave."""
    return next((one for one in reversed(tries) if counts(one)), tries[-1])


def shown_by_key(results: Iterable[Result]) -> dict[Key, Result]:
    """The try that each check is shown by, in the order in which the checks were first tried."""
    return {key: shown(tries, counts) for key, tries in by_key(results).items()}


def by_key(results: Iterable[Result]) -> dict[Key, tuple[Result, ...]]:
    """All tries at each check, in the order in which the checks were first tried."""
    found: dict[Key, list[Result]] = {}
    for result in results:
        found.setdefault((result.check, result.control), []).append(result)
    return {key: tuple(tries) for key, tries in found.items()}


def counted(results: Iterable[Result]) -> dict[Key, Result]:
    """The try that counts at each check that has one; `results` oldest first."""
    last = {key: last_that_counts(tries) for key, tries in by_key(results).items()}
    return {key: result for key, result in last.items() if result is not None}


def up_to_date(results: Iterable[Result]) -> tuple[Result, ...]:
    """The results, oldest first, without those of harder presses from before the visit of the newest light press.

    Once a control was pressed lightly again, what harder presses did in earlier visits no longer speaks of it.
    """
    results = tuple(results)
    newest = {r.control: r.visit_id for r in results if r.strength == "light" and gave_verdict(r)}
    order = {visit: i for i, visit in enumerate(dict.fromkeys(r.visit_id for r in results))}

    def speaks(r: Result) -> bool:
        if r.strength in (None, "light") or r.control not in newest:
            return True
        return order[r.visit_id] >= order[newest[r.control]]

    return tuple(r for r in results if speaks(r))


def standing(results: Iterable[Result]) -> dict[Key, Result]:
    """What stands for a unit: the try that counts at each check over all its visits, looks apart; oldest first."""
    return counted(up_to_date(tests(results)))


def verdicts(results: Iterable[Result]) -> dict[Key, Result]:
    """Of what stands for a unit, the passes, borderlines and fails; `results` oldest first."""
    return {key: r for key, r in standing(results).items() if gave_verdict(r)}


def was_tested(results: Iterable[Result], after: str, until: str = "") -> bool:
    """Whether anything was tested with a verdict later than `after` and (unless empty) not later than `until`."""
    return any(after < r.order and (not until or r.order <= until) for r in results if gave_verdict(r))
