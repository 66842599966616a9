"""Which checks a visit consists of, in the order in which a hand finds the controls."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from station.bench.types import Step
from station.checks.ask import AskCheck
from station.checks.registry import CHECKS
from station.checks.types import Check
from station.records.types import Result
from station.sheets.model import KINDS, ZONES, Ask, Control, Sheet
from station.words import common


def plan(sheet: Sheet, kind: str = "intake", checks: Mapping[str, Check] = CHECKS) -> tuple[Step, ...]:
    """Every step of a visit: zone by zone, control by control, then the checks of the whole unit, the asks last.

    All kinds of visits have the full plan; see `short_plan` for less. A control that only repeats another one is
    checked for contact alone.
    """
    steps = [step for control in hand_order(sheet) for step in _steps_of(control, sheet, checks)]
    asked = {ask.id for ask in sheet.asks}
    whole = [c for c in checks.values() if c.name not in asked and c.applies(None, sheet)]
    steps += [Step(check.name, "", check.title, common.WHOLE_UNIT, common.WHOLE_UNIT) for check in whole]
    return tuple(steps + [_ask_step(ask, checks) for ask in sheet.asks])


def short_plan(
    sheet: Sheet,
    earlier: Iterable[Result],
    parts: Collection[str] = (),
    checks: Mapping[str, Check] = CHECKS,
) -> tuple[Step, ...]:
    """The steps that a treatment makes worth doing again.

    These are the ones that did not pass when they counted last (`earlier`: results, oldest first), or were never
    done, and all steps of the controls that the treated `parts` (ids or names of the sheet) serve.
    """
    passed = {(r.check, r.control): r.assessment.outcome.value == "pass" for r in earlier}
    touched = {
        served.partition(".")[0] for part in sheet.parts if {part.id, part.name} & set(parts) for served in part.serves
    }
    return tuple(
        step
        for step in plan(sheet, checks=checks)
        if step.control in touched or not passed.get((step.check, step.control), False)
    )


def hand_order(sheet: Sheet) -> tuple[Control, ...]:
    """The controls by zone; within one sticks, triggers, buttons, hats; otherwise as the sheet lists them."""
    return tuple(sorted(sheet.controls, key=lambda c: (ZONES.index(c.zone), KINDS.index(c.kind))))


def _steps_of(control: Control, sheet: Sheet, checks: Mapping[str, Check]) -> list[Step]:
    return [
        Step(check.name, control.id, check.title, control.name, control.zone)
        for check in checks.values()
        if check.applies(control, sheet) and (control.seen_as is None or check.about.copies)
    ]


def _ask_step(ask: Ask, checks: Mapping[str, Check]) -> Step:
    check = checks.get(ask.id) or AskCheck(ask.id)
    return Step(ask.id, "", check.title, common.WHOLE_UNIT, common.WHOLE_UNIT, person_answers=True, meter=ask.meter)
