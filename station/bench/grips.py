"""In which grip a hand does what is asked, and the order of a visit that changes it least.

A change of grip costs a second or two and the hand's place on the unit (common practice, no source), and a round of
several controls is only asked for as long as the hand is there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from types import MappingProxyType
from typing import get_args

from station.bench.types import Step
from station.checks.registry import known
from station.checks.types import Check, Grip
from station.checks.watched import goes_along
from station.sheets.model import Control, Kind, Sheet, Zone

GRIPS: tuple[Grip, ...] = get_args(Grip)
"""in the order in which a visit takes them: what shows at once that a control is dead comes first, then from the
fingers over the sticks and the thumbs to the middle; the unit is laid down once nothing is pressed any more"""
OF_KIND: Mapping[Kind, Grip] = MappingProxyType(
    {"stick": "sticks", "trigger": "fingers", "touch": "touch pad", "motion": "laid down"}
)
OF_ZONE: Mapping[Zone, Grip] = MappingProxyType(
    {
        "top": "fingers",
        "back": "fingers",
        "left hand": "left thumb",
        "right hand": "right thumb",
        "centre": "middle",
    }
)


def grip_of(check: Check, control: Control | None, sheet: Sheet) -> Grip:
    """Where the hand is for it: where the check says, else where the control lies; a stick's press is on the stick."""
    if check.about.grip:
        return check.about.grip
    if control is None:
        return "laid down"
    sticks = [] if sheet.drawn_up else [c for c in sheet.controls if c.kind == "stick"]
    if control.kind == "button" and any(goes_along(stick, control, sheet) for stick in sticks):
        return "sticks"
    return OF_KIND.get(control.kind) or OF_ZONE[control.zone]


def grip_of_step(step: Step, sheet: Sheet) -> Grip:
    """That of a step."""
    return grip_of(known(step.check), sheet.control(step.control) if step.control else None, sheet)


def in_turn(steps: Iterable[Step], sheet: Sheet) -> tuple[Step, ...]:
    """The same list, each step with its turn: grip by grip, within one as they are listed."""
    return tuple(replace(step, turn=GRIPS.index(grip_of_step(step, sheet))) for step in steps)


def changes(grips: Sequence[Grip]) -> int:
    """How often the hand changes its grip over these, one after the other."""
    return sum(a != b for a, b in pairwise(grips))
