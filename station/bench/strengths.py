"""Presses of other strengths than the plan has: steps that are made when a light press fails or the person asks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from station.bench.types import Step
from station.checks.light import LightCheck
from station.checks.strengths import CHECK_OF, STRENGTHS, PressStrength, strength_of
from station.records.types import Result


def at_strength(step: Step, strength: PressStrength, mass_g: float | None = None, *, offered: bool = False) -> Step:
    """The press of the same control at another strength."""
    title = LightCheck(strength).title
    return replace(step, check=CHECK_OF[strength], title=title, mass_g=mass_g, offered=offered)


def place_of(steps: Sequence[Step], step: Step) -> int:
    """Where a press belongs: after the lighter ones of its control, else after its last step, else at the end."""
    own = [i for i, s in enumerate(steps) if s.control == step.control]
    presses = [i for i in own if _rank(steps[i]) >= 0]
    lighter = [i for i in presses if _rank(steps[i]) < _rank(step)]
    if lighter:
        return lighter[-1] + 1
    return presses[0] if presses else own[-1] + 1 if own else len(steps)


def _rank(step: Step) -> int:
    """0 light, 1 normal, 2 firm; −1 for a step that presses nothing on beats."""
    return STRENGTHS.index(step.strength) if step.strength is not None else -1


def with_strengths(steps: Iterable[Step], results: Iterable[Result]) -> tuple[Step, ...]:
    """The steps of a plan with those of other strengths that were done, in their places."""
    listed = list(steps)
    there = {(s.check, s.control) for s in listed}
    for result in results:
        strength = strength_of(result.check)
        if strength is None or (result.check, result.control) in there:
            continue
        like = next((s for s in listed if s.control == result.control), None)
        if like is not None:
            step = at_strength(like, strength, offered=True)
            listed.insert(place_of(listed, step), step)
            there.add((step.check, step.control))
    return tuple(listed)
