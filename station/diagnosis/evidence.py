"""From a unit's records to evidence: the last count of every check, wherever in its visits that was."""

from __future__ import annotations

import math

from station.checks.strengths import strength_of
from station.checks.types import Outcome
from station.diagnosis.types import Axis, Evidence, Seen
from station.judgement.tries import verdicts
from station.records.types import Result, UnitHistory

CODES_OF: dict[str, tuple[str, ...]] = {
    "contact": ("never", "stuck", "crosstalk"),
    "light": ("misses", "splits", "shorts"),
    "firm_press": ("firm_misses",),
    "normal_press": (),
    "hold": ("dropouts",),
    "rest": ("offset", "noise"),
    "letgo": ("no_return", "scatter", "slow_settle"),
    "travel": ("short_reach", "creep"),
    "rim": ("flat_rim", "two_way_lag"),
    "sweep": ("spikes", "gap", "reversal", "dead_axis"),
    "trigger": ("rest_high", "short_pull", "spikes", "gap", "reversal"),
    "hat": ("missing_direction", "no_null"),
    "link": ("gaps", "disconnect", "slow_rate"),
}
"""Which findings a check can make; a check of the sheet makes one with its own name.

`firm_misses` is this layer's own word: firm presses fail as light ones did. A firm press that passes makes the parts
less likely that show it (a broken trace misses however hard the finger presses).
"""


def last_counts(history: UnitHistory) -> dict[tuple[str, str], Result]:
    """(check, control) → what stands for it, where that is a verdict; a check that was skipped since says nothing."""
    return verdicts(history.results)


def evidence_of(history: UnitHistory) -> Evidence:
    """Findings of the last counts, and the checks that passed."""
    seen: list[Seen] = []
    clear: list[tuple[str, str]] = []
    for (check, control), result in last_counts(history).items():
        done = result.assessment
        if done.outcome is Outcome.PASS:
            clear.append((check, control))
            continue
        if strength_of(check) == "firm":
            if done.outcome is Outcome.FAIL:
                seen.append(Seen(control, "light", "firm_misses"))
            continue
        found = [Seen(control, check, f.code, f.axis, f.direction) for f in done.findings]
        if not found and done.outcome is Outcome.FAIL:
            found = [Seen(control, check, check)]
        seen += found
    return Evidence(tuple(seen), tuple(clear))


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
