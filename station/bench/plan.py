"""Which checks a visit consists of: listed as a hand finds the controls, done so that it changes its grip least."""

from __future__ import annotations

from collections.abc import Mapping

from station.bench.grips import in_turn
from station.bench.types import Step
from station.checks.ask import CHARGE, LOOK, RUMBLE, AskCheck
from station.checks.registry import CHECKS
from station.checks.types import Check
from station.judgement.tries import Key
from station.records.types import FIRST_LOOK
from station.sheets.model import KINDS, ZONES, Ask, Control, Sheet
from station.words import common
from station.words.grammar import sentence_start

ALSO_LOOKED_AT = ("link", LOOK.name, RUMBLE.name, CHARGE.name)
"""what a first look does besides; while a hand may be anywhere nobody can say what moved by itself"""


def plan(sheet: Sheet, kind: str = "intake", checks: Mapping[str, Check] = CHECKS) -> tuple[Step, ...]:
    """Every step of a visit: the look over the unit first of all, then zone by zone, control by control, then the
    checks of the whole unit, the other asks last. They are done grip by grip (`grips`).

    A first look has a glance at each control, the link, and of the questions those on look, vibration and charge;
    all other kinds of visits have the full plan. A control that only repeats another one is checked for contact alone.
    What is done away from the front of the bench is in no plan: the shop asks for it, or a person does.
    """
    looks = kind == FIRST_LOOK
    checks = {
        name: c for name, c in checks.items() if c.about.first_look is looks or (looks and name in ALSO_LOOKED_AT)
    }
    steps = [step for control in hand_order(sheet) for step in _steps_of(control, sheet, checks)]
    asked = {ask.id for ask in sheet.asks}
    here = (c for c in checks.values() if not c.about.left_alone and not c.about.when_seen)
    whole = [c for c in here if c.name not in asked and c.applies(None, sheet)]
    steps += [of_whole(check) for check in whole if not check.about.watches]
    asks = [_ask_step(ask, checks) for ask in sheet.asks if not looks or ask.id in checks]
    steps = [a for a in asks if a.check == LOOK.name] + steps + [a for a in asks if a.check != LOOK.name]
    return in_turn(steps + [of_whole(check) for check in whole if check.about.watches], sheet)


def wanted_of(sheet: Sheet) -> tuple[Key, ...]:
    """(check, control) of every step: what a unit of the model is asked for."""
    return tuple((step.check, step.control) for step in plan(sheet))


def plan_alone(sheet: Sheet, checks: Mapping[str, Check] = CHECKS) -> tuple[Step, ...]:
    """The steps that are done away from the front of the bench."""
    return tuple(of_whole(c) for c in checks.values() if c.about.left_alone and c.applies(None, sheet))


def hand_order(sheet: Sheet) -> tuple[Control, ...]:
    """The controls by zone; within one sticks, triggers, buttons, hats; otherwise as the sheet lists them."""
    return tuple(sorted(sheet.controls, key=lambda c: (ZONES.index(c.zone), KINDS.index(c.kind))))


def _steps_of(control: Control, sheet: Sheet, checks: Mapping[str, Check]) -> list[Step]:
    return [
        Step(check.name, control.id, check.title, control.name, control.zone)
        for check in checks.values()
        if check.applies(control, sheet) and (control.seen_as is None or check.about.copies)
    ]


def of_whole(check: Check, *, offered: bool = False) -> Step:
    """The step of a check of the whole unit."""
    watches = bool(check.about.watches)
    return Step(check.name, "", check.title, _whole(), common.WHOLE_UNIT, offered=offered, watches=watches)


def _ask_step(ask: Ask, checks: Mapping[str, Check]) -> Step:
    check = checks.get(ask.id) or AskCheck(ask.id)
    return Step(ask.id, "", check.title, _whole(), common.WHOLE_UNIT, person_answers=True, meter=ask.meter)


def _whole() -> str:
    """The whole unit as a name, as controls have theirs."""
    return sentence_start(common.WHOLE_UNIT)
