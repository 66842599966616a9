"""From a unit's records to evidence: the last count of every check, wherever in its visits that was."""

from __future__ import annotations

import math

from station.checks import registry
from station.checks.strengths import CHECK_OF, strength_of
from station.checks.types import Outcome
from station.diagnosis.types import Axis, Evidence, Seen
from station.judgement.tries import verdicts
from station.records.types import Result, UnitHistory

FIRM_MISSES = "firm_misses"
"""This layer's own word: firm presses fail as light ones did. A firm press that passes makes the parts less likely that
show it (a broken trace misses however hard the finger presses)."""


def codes_of(check: str) -> tuple[str, ...]:
    """What this layer can come to know from a check: the findings that it makes; of a harder press whether firm ones
    fail too, since how often they do says no more than the light press did. A check of the sheet's own makes one with
    its own name."""
    strength = registry.describe(check).strength
    if strength in (None, "light"):
        return registry.codes_of(check)
    return (FIRM_MISSES,) if strength == "firm" else ()


def last_counts(history: UnitHistory) -> dict[tuple[str, str], Result]:
    """(check, control) → what stands for it, where that is a verdict; a check that was skipped since says nothing."""
    return verdicts(history.results)


def evidence_of(history: UnitHistory) -> Evidence:
    """Findings of the last counts, and the checks that passed. A verdict without a finding is seen as its check."""
    seen: list[Seen] = []
    clear: list[tuple[str, str]] = []
    for (check, control), result in last_counts(history).items():
        done = result.assessment
        if done.outcome is Outcome.PASS:
            clear.append((check, control))
            continue
        if strength_of(check) == "firm":
            if done.outcome is Outcome.FAIL:
                seen.append(Seen(control, CHECK_OF["light"], FIRM_MISSES))
            continue
        found = [Seen(control, check, f.code, f.axis, f.direction) for f in done.findings]
        found = found or [Seen(control, check, check)]
        seen += found
    return Evidence(tuple(seen), tuple(clear))


def failed_checks(history: UnitHistory) -> tuple[tuple[str, str], ...]:
    """(check, control) of what stands as failed."""
    return tuple(k for k, r in last_counts(history).items() if r.assessment.outcome is Outcome.FAIL)


def borderline_without_finding(history: UnitHistory) -> tuple[tuple[str, str], ...]:
    """(check, control) of what stands as borderline and names nothing that was found: a person's word, mostly."""
    stands = last_counts(history).items()
    return tuple(k for k, r in stands if r.assessment.outcome is Outcome.BORDERLINE and not r.assessment.findings)


def axes_of(seen: Seen) -> dict[Axis, float]:
    """How much a finding speaks of each axis of a stick, 0…1; a bearing counts by its projection.

    Bearings: 0 = up, clockwise in degrees. A finding without any place speaks of both.
    """
    if seen.axis is not None:
        return {seen.axis: 1.0}
    match seen.direction:
        case "left" | "right":
            return {"x": 1.0}
        case "up" | "down":
            return {"y": 1.0}
        case int() | float() as bearing:
            across, along = abs(math.sin(math.radians(bearing))), abs(math.cos(math.radians(bearing)))
            return {"x": across, "y": along}
    return {"x": 1.0, "y": 1.0}
