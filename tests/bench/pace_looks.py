"""What a first look flags of random units: one free run of a hand over all controls, and what it lacks done again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from truth_units import CLEAR, draw
from truth_visit import Bench

from station.checks.registry import CHECKS
from station.checks.types import Outcome

SEED = 12
ELSEWHERE = ("link_gaps", "slow_rate")
"""faults of no control: the link check of the same visit sees them, and no glance does"""


@dataclass(slots=True)
class Looks:
    """Clear faults and sound controls, and how many of each were flagged: did not pass, or did not come out."""

    clear: Counter[str] = field(default_factory=Counter)
    flagged: Counter[str] = field(default_factory=Counter)
    failed: Counter[str] = field(default_factory=Counter)
    sound: int = 0
    false: Counter[str] = field(default_factory=Counter)

    @property
    def flagged_pct(self) -> float:
        return 100.0 * self.flagged.total() / max(self.clear.total(), 1)

    @property
    def false_pct(self) -> float:
        return 100.0 * self.false.total() / max(self.sound, 1)


def looks(units: int) -> Looks:
    """Over so many units."""
    found = Looks()
    for number in range(units):
        for kinds, grades, control_kind, outcome, codes in _look(number):
            flagged = outcome is not Outcome.PASS
            if not kinds:
                found.sound += 1
                if flagged:
                    found.false[f"{control_kind} {outcome.value} {codes}"] += 1
            for kind, grade in zip(kinds, grades, strict=True):
                if grade == CLEAR:
                    found.clear[kind] += 1
                    found.flagged[kind] += flagged
                    found.failed[kind] += outcome is Outcome.FAIL
    return found


def _look(number: int) -> Iterator[tuple[list[str], list[str], str, Outcome, str]]:
    """Of each control (the link: ""): kinds of its faults, how clear, its kind, what the look came to, and why."""
    drawn = draw(SEED, number)
    bench = Bench(drawn)
    controls = [c for c in bench.sheet.controls if CHECKS["glance"].applies(c, bench.sheet) and c.seen_as is None]
    glanced = bench.glance(controls)
    for control in controls:
        here = [
            (f.kind, grade)
            for f, grade in zip(drawn.spec.faults, drawn.grades, strict=True)
            if control.id in (f.control.partition(".")[0], f.other.partition(".")[0])
        ]
        said = glanced[control.id]
        why = " ".join(f.code + str(f.params.get("checks", "")) for f in said.findings) or said.again
        yield [k for k, _ in here], [g for _, g in here], control.kind, said.outcome, why
    unit = [(f.kind, g) for f, g in zip(drawn.spec.faults, drawn.grades, strict=True) if f.kind in ELSEWHERE]
    if unit:
        (link,) = [one for one in bench.visit(("",)) if one.check == "link"]
        yield [k for k, _ in unit], [g for _, g in unit], "link", link.assessment.outcome, ""
