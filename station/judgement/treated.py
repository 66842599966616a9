"""Whether a result still holds after what was treated since, and what a treatment makes due again: one rule for both.

A treatment bears on the checks of the control whose part was treated; where nobody can tell which that was, on every
check. Once the housing was opened it bears on the quick checks of all other controls too (`Description.due_after`),
which show a plug left off or a part put in crooked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from station.judgement.tries import Key, verdicts
from station.records.types import Result, Treatment, UnitHistory
from station.sheets.model import Sheet

FROM_OUTSIDE = ("clean from outside",)
"""kinds of treatment for which nothing is opened"""


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


def makes_due(treatment: Treatment, key: Key, sheet: Sheet) -> bool:
    """Whether a treatment makes a check due again, so that what was measured before no longer holds."""
    check, control = key
    touched = controls_of_part(treatment.part, sheet)
    if not touched or control in touched:
        return True
    return bool(control) and opens_housing(treatment.kind) and _due_after_opening(check, sheet)


def _due_after_opening(name: str, sheet: Sheet) -> bool:
    from station.checks.registry import check_named  # with the measures: a window that is starting can do without

    check = check_named(name, sheet)
    return check is not None and check.about.due_after == "any opening"


def treated_since(result: Result, treatments: Iterable[Treatment], sheet: Sheet) -> Treatment | None:
    """The last treatment after the result that made its check due again; None: the result still holds."""
    key = (result.check, result.control)
    return next((t for t in reversed(tuple(treatments)) if t.at >= result.at and makes_due(t, key, sheet)), None)


def older(history: UnitHistory, sheet: Sheet) -> dict[Key, Treatment]:
    """The checks whose verdict is older than a treatment that may have changed it, each with that treatment."""
    found = {key: treated_since(r, history.treatments, sheet) for key, r in verdicts(history.results).items()}
    return {key: treatment for key, treatment in found.items() if treatment is not None}


def due_again(history: UnitHistory, treatment: Treatment, sheet: Sheet) -> tuple[Key, ...]:
    """What to test again after a treatment, in the order of the sheet: every check done before that it makes due, and
    after an opening the quick checks of all controls, done before or not."""
    from station.checks.registry import checks_of

    done = [key for key, r in verdicts(history.results).items() if r.at <= treatment.at]
    wanted = [key for key in done if makes_due(treatment, key, sheet)]
    if opens_housing(treatment.kind):
        wanted += [(check.name, c.id) for check, c in checks_of(sheet) if c and check.about.due_after == "any opening"]
    order = {c.id: i for i, c in enumerate(sheet.controls)}
    return tuple(sorted(dict.fromkeys(wanted), key=lambda key: order.get(key[1], len(order))))
