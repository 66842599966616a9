"""Steps that the plan does not have: presses at other strengths or in the long form, made on request or when a light
press fails, and checks that come in where a visit shows something of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from station.bench.plan import of_whole
from station.bench.types import Step
from station.checks.light import LONG, LightCheck
from station.checks.registry import describe, known
from station.checks.strengths import CHECK_OF, STRENGTHS, PressStrength, strength_of
from station.records.types import Result


def at_strength(step: Step, strength: PressStrength, mass_g: float | None = None, *, offered: bool = False) -> Step:
    """The press of the same control at another strength."""
    title = LightCheck(strength).title
    return replace(step, check=CHECK_OF[strength], title=title, mass_g=mass_g, offered=offered)


def long_form(step: Step) -> Step:
    """The long form of the light press of the same control."""
    return replace(step, check=LONG, title=LightCheck(long=True).title, mass_g=None, offered=True)


def place_of(steps: Sequence[Step], step: Step) -> int:
    """Where a press belongs: after the lighter ones of its control, else after its last step, else at the end."""
    own = [i for i, s in enumerate(steps) if s.control == step.control]
    presses = [i for i in own if _rank(steps[i]) >= 0]
    lighter = [i for i in presses if _rank(steps[i]) < _rank(step)]
    if lighter:
        return lighter[-1] + 1
    return presses[0] if presses else own[-1] + 1 if own else len(steps)


_ORDER = (CHECK_OF["light"], LONG, *(CHECK_OF[s] for s in STRENGTHS if s != "light"))


def _rank(step: Step) -> int:
    """Its place among the presses of a control, from 0; −1 for a step that presses nothing on beats."""
    return _ORDER.index(step.check) if step.check in _ORDER else -1


def with_strengths(steps: Iterable[Step], results: Iterable[Result]) -> tuple[Step, ...]:
    """The steps of a plan with those that were done besides, in their places: presses of other strengths, and what a
    visit showed."""
    listed = list(steps)
    there = {(s.check, s.control) for s in listed}
    for result in results:
        strength = strength_of(result.check)
        long = result.check == LONG
        if not result.control and describe(result.check).when_seen and (result.check, "") not in there:
            listed.append(of_whole(known(result.check), offered=True))
            there.add((result.check, ""))
        if (strength is None and not long) or (result.check, result.control) in there:
            continue
        like = next((s for s in listed if s.control == result.control), None)
        if like is not None:
            step = long_form(like) if strength is None else at_strength(like, strength, offered=True)
            listed.insert(place_of(listed, step), step)
            there.add((step.check, step.control))
    return tuple(listed)
