"""Suspects by Bayes' rule.

Model: on every control that shows something, either exactly one of its own parts is bad, or a common part (the board)
is bad and explains it, or both. A bad part shows finding f with the guide's probability s(f); findings are taken as
independent given the part. What a finished check did not find counts too, with 1 − s(f).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from station.checks import registry
from station.diagnosis.evidence import axes_of, codes_of
from station.diagnosis.guide import Guide, Role
from station.diagnosis.types import Axis, Evidence, Seen, Suspect
from station.sheets.model import Part, Sheet
from station.words import common
from station.words import diagnosis as words

LEAK = 0.01
"""chance that a bad part shows a finding which the guide does not name for it"""
SHOWN = 0.02
"""suspects less likely than this are not named"""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part of the unit that the guide knows a role for."""

    role: Role
    control: str
    axis: Axis | None = None


def suspects(evidence: Evidence, sheet: Sheet, guide: Guide) -> tuple[Suspect, ...]:
    """Parts that could cause the findings, likeliest first, with the probability that each is bad."""
    local, common = weigh(evidence, sheet, guide)
    named = [
        Suspect(*part_of(c, sheet), weight, c.role.role, c.control, c.axis)
        for c, weight in [*local.items(), *common.items()]
        if weight >= SHOWN
    ]
    return tuple(sorted(named, key=lambda s: -s.weight))


def weigh(evidence: Evidence, sheet: Sheet, guide: Guide) -> tuple[dict[Candidate, float], dict[Candidate, float]]:
    """Probability of being bad for each part of a control that shows something, and for each common part."""
    controls = sorted({s.control for s in evidence.seen})
    if not controls:
        return {}, {}
    kinds = {c: kind_of(c, evidence, sheet) for c in controls}
    own = {c: {p: p.role.rate * _likelihood(p, evidence) for p in parts_on(c, kinds[c], guide)} for c in controls}
    sums = {c: sum(own[c].values()) for c in controls}
    shared = [r for r in guide.suspects if r.common]
    explains = {
        r.role: {c: _likelihood(Candidate(r, c), evidence) if kinds[c] in r.of else 0.0 for c in controls}
        for r in shared
    }

    joint = {"": _product(sums[c] for c in controls)}
    for r in shared:
        joint[r.role] = r.rate * _product(sums[c] + explains[r.role][c] for c in controls)
    total = sum(joint.values())
    if total <= 0:
        return {}, {}

    local: dict[Candidate, float] = {}
    for c in controls:
        for part, weight in own[c].items():
            share = joint[""] * weight / sums[c] if sums[c] else 0.0
            for r in shared:
                both = sums[c] + explains[r.role][c]
                share += joint[r.role] * weight / both if both else 0.0
            local[part] = share / total
    return local, {Candidate(r, ""): joint[r.role] / total for r in shared}


def kind_of(control: str, evidence: Evidence, sheet: Sheet) -> str:
    """The kind of a control by the sheet, else by the checks done on it; "unit" for the whole unit."""
    if not control:
        return "unit"
    for c in sheet.controls:
        if c.id == control:
            return c.kind
    kinds = (registry.describe(s.check).kinds for s in evidence.seen if s.control == control)
    return next((of[0] for of in kinds if of), "button")


def parts_on(control: str, kind: str, guide: Guide) -> Iterator[Candidate]:
    """The parts that a control of this kind has of its own, by the guide."""
    for role in guide.suspects:
        if kind not in role.of or role.common:
            continue
        if role.per_axis and kind == "stick":
            yield Candidate(role, control, "x")
            yield Candidate(role, control, "y")
        else:
            yield Candidate(role, control)


def _likelihood(part: Candidate, evidence: Evidence) -> float:
    """Probability of what the checks of this control said, if this part is the bad one."""
    here = [s for s in evidence.seen if s.control == part.control]
    spoken: dict[str, float] = {}
    for s in here:
        match = 1.0 if part.axis is None else axes_of(s).get(part.axis, 0.0)
        spoken[s.code] = max(spoken.get(s.code, 0.0), match)
    value = 1.0
    for code, match in spoken.items():
        value *= max(part.role.shows.get(code, 0.0) * match, LEAK)
    for code in _quiet(part.control, here, evidence):
        value *= 1.0 - part.role.shows.get(code, 0.0)
    return value


def _quiet(control: str, here: list[Seen], evidence: Evidence) -> set[str]:
    """Findings that a finished check of this control could have made and did not."""
    passed = {check for check, c in evidence.clear if c == control}
    possible = {code for check in passed for code in codes_of(check)}
    spoken = {s.check for s in here}
    possible |= {code for check in spoken for code in codes_of(check)}
    return possible - {s.code for s in here}


def _product(values: Iterator[float]) -> float:
    out = 1.0
    for v in values:
        out *= v
    return out


def part_of(candidate: Candidate, sheet: Sheet) -> tuple[str, str]:
    """Id and name of the part: the sheet's, if it lists one that fits, else made of control and role."""
    role, control, axis = candidate.role, candidate.control, candidate.axis
    listed = _listed(candidate, sheet.parts)
    if listed:
        return listed.id, listed.name
    part_id = "_".join(p for p in (control, axis or "", role.role) if p)
    if not control:
        return part_id, role.name
    name = next((c.name for c in sheet.controls if c.id == control), control.replace("_", " "))
    if axis:
        return part_id, words.PART_OF_AXIS.format(control=name, part=role.name, axis=common.AXES[axis])
    return part_id, words.PART_OF_CONTROL.format(control=name, part=role.name)


def _listed(candidate: Candidate, parts: tuple[Part, ...]) -> Part | None:
    """The sheet's part that serves this place and is called by a word of the role."""
    control, axis = candidate.control, candidate.axis
    for part in parts:
        called = f"{part.id} {part.name}".lower().replace("_", " ")
        places = {control, f"{control}.{axis}"} if axis else {control}
        serves = bool(places & set(part.serves)) or (not control and not part.serves)
        if serves and any(word in called for word in candidate.role.words):
            return part
    return None
