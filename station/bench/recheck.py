"""The visit after a treatment: what had failed on what was treated comes first, then what could have changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from station.bench.plan import plan, plan_alone
from station.bench.strengths import long_form, place_of
from station.bench.types import Step
from station.checks.light import LONG
from station.judgement.treated import PLACES, Place
from station.judgement.tries import Key
from station.sheets.model import Sheet


def plan_after(due: Mapping[Key, Place], sheet: Sheet) -> tuple[Step, ...]:
    """The steps for what is due again (`judgement.treated.due_again`), each place in the order of a visit; empty when
    nothing is.

    A watch of the whole visit that had passed before, or that nobody had done, is judged along and not waited for:
    a short visit costs nobody a minute with idle hands. So is what a person looks at of the whole unit, where only the
    opening made it due: the full test after the rest asks for it. One that had failed is waited for.
    """
    every = [*plan_alone(sheet), *plan(sheet)]
    for check, control in due:
        like = next((step for step in every if step.control == control), None)
        if check == LONG and like is not None:  # no plan has it
            step = replace(long_form(like), offered=False)
            every.insert(place_of(every, step), step)
    steps = [step for step in every if (step.check, step.control) in due]
    steps.sort(key=lambda step: (step.watches, PLACES.index(due[step.check, step.control]), step.turn))
    return tuple(
        replace(step, offered=_may_wait(step, due[step.check, step.control]), turn=turn)
        for turn, step in enumerate(steps)
    )


def _may_wait(step: Step, place: Place) -> bool:
    return place != "failed" if step.watches else not step.control and place == "besides"
