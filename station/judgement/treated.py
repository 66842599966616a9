"""Whether a result still holds after what was treated since, what a treatment makes due again, and whether anybody
knows yet what it did: one rule for all.

A treatment went for the checks of the control whose part was treated (of the whole unit, where the part belongs to no
control); where nobody can tell which that was, for every check. Once the housing was opened it bears on the quick
checks of all other controls too (`Description.due_after`), which show a plug left off or a part put in crooked, and
on what a person looked at of the whole unit: a motor or a cell may have no plug, a housing may not be closed well.
What it did is known once everything that had failed on what it went for was repeated.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal

from station.checks.types import Outcome
from station.judgement.tries import Key, gave_verdict, verdicts
from station.records.types import Result, Treatment, UnitHistory
from station.sheets.model import Sheet

FROM_OUTSIDE = ("clean from outside", "calibrate")
"""kinds of treatment for which nothing is opened; a shop's own kind counts as one that opens the housing"""
Place = Literal["failed", "treated", "besides"]
"""of a check in the visit after a treatment: it had not passed on what was treated; it looks at what was treated; or it
shows what the treatment could have changed besides"""
PLACES: tuple[Place, ...] = ("failed", "treated", "besides")
"""in the order of that visit"""
OF_THE_WHOLE_UNIT = ("replace battery", "replace cable", "replace motor")
"""kinds of treatment whose part belongs to no control"""


def opens_housing(kind: str) -> bool:
    """Whether the housing is opened for a treatment of this kind."""
    return kind not in FROM_OUTSIDE


def controls_of_part(part: str, sheet: Sheet) -> frozenset[str]:
    """The controls that a treated part belongs to; empty: nobody can tell, or the whole unit.

    A part is written as the model sheet calls it (name or id), or as a control (name or id) with a word after it, such
    as "Left stick sensor, horizontal".
    """
    wanted = part.strip().casefold()
    for listed in sheet.parts:
        if wanted in (listed.id.casefold(), listed.name.casefold()):
            return frozenset(served.partition(".")[0] for served in listed.serves)
    names = {name.casefold(): c.id for c in sheet.controls for name in (c.name, c.id)}
    begins = [name for name in names if re.match(rf"{re.escape(name)}(?![^\W_])", wanted)]
    return frozenset({names[max(begins, key=len)]}) if begins else frozenset()


def went_for(treatment: Treatment, key: Key, sheet: Sheet) -> bool:
    """Whether a check looks at what was treated."""
    touched = controls_of_part(treatment.part, sheet)
    if not touched and treatment.kind in OF_THE_WHOLE_UNIT:
        return not key[1]
    return not touched or key[1] in touched


def makes_due(treatment: Treatment, key: Key, sheet: Sheet) -> bool:
    """Whether a treatment makes a check due again, so that what was measured before no longer holds."""
    if went_for(treatment, key, sheet):
        return True
    return opens_housing(treatment.kind) and _due_after_opening(key[0], sheet)


def _due_after_opening(name: str, sheet: Sheet) -> bool:
    from station.checks.registry import check_named  # with the measures: a window that is starting can do without

    check = check_named(name, sheet)
    return check is not None and check.about.due_after == "any opening"


def treated_since(result: Result, treatments: Iterable[Treatment], sheet: Sheet) -> Treatment | None:
    """The last treatment after the result that made its check due again; None: the result still holds."""
    key = (result.check, result.control)
    return next((t for t in reversed(tuple(treatments)) if t.order >= result.order and makes_due(t, key, sheet)), None)


def older(history: UnitHistory, sheet: Sheet) -> dict[Key, Treatment]:
    """The checks whose verdict is older than a treatment that may have changed it, each with that treatment."""
    found = {key: treated_since(r, history.treatments, sheet) for key, r in verdicts(history.results).items()}
    return {key: treatment for key, treatment in found.items() if treatment is not None}


def unrepeated(history: UnitHistory, sheet: Sheet) -> dict[Key, Treatment]:
    """What had not passed on what was treated and was not repeated since, each with the last such treatment."""
    there = {"", *(c.id for c in sheet.controls)}
    found: dict[Key, Treatment] = {}
    for key, result in verdicts(history.results).items():
        if result.assessment.outcome is Outcome.PASS or key[1] not in there:
            continue
        since = (t for t in reversed(history.treatments) if t.order >= result.order and went_for(t, key, sheet))
        if (treatment := next(since, None)) is not None:
            found[key] = treatment
    return found


def untested(history: UnitHistory, sheet: Sheet) -> Treatment | None:
    """The last treatment of which nobody knows yet what it did; None: there is none such.

    Where nothing had failed on what it went for, any verdict on what it made due tells that it did no harm.
    """
    if not history.treatments:
        return None
    if owed := unrepeated(history, sheet):
        return max(owed.values(), key=lambda treatment: treatment.order)
    last = history.treatments[-1]
    since = (r for r in history.results if gave_verdict(r) and r.order > last.order)
    return None if any(makes_due(last, (r.check, r.control), sheet) for r in since) else last


def due_again(history: UnitHistory, treatments: Iterable[Treatment], sheet: Sheet) -> dict[Key, Place]:
    """What to test again after treatments, each with its place in that visit: every check done before that they make
    due, and after an opening the quick checks of all controls, done before or not."""
    from station.checks.registry import checks_of

    quick = [(check.name, c.id) for check, c in checks_of(sheet) if c and check.about.due_after == "any opening"]
    found: dict[Key, Place] = {}
    for treatment in treatments:
        before = verdicts(r for r in history.results if r.order <= treatment.order)
        wanted = [key for key in before if makes_due(treatment, key, sheet)]
        for key in (*wanted, *(quick if opens_housing(treatment.kind) else ())):
            failed = key in before and before[key].assessment.outcome is not Outcome.PASS
            place: Place = "besides"
            if went_for(treatment, key, sheet):
                place = "failed" if failed else "treated"
            found[key] = min(found.get(key, place), place, key=PLACES.index)
    return found
