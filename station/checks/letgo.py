"""Let go: flick the stick in eight directions and let the spring bring it back."""

from __future__ import annotations

import math

import numpy as np

from station.checks.axes import (
    WAITING,
    again,
    counted,
    dead_axis,
    dead_axis_assessment,
    nearest_eighth,
    never_reported,
    place,
    stick_signal,
)
from station.checks.decide import judged, outcome_of, reading_outcome
from station.checks.types import Assessment, DueAfter, Finding, Limits, Outcome, Progress, Prompt, Reading, Take
from station.measure.centre import bearing_deg, distance_uncertainty
from station.measure.means import effective_step
from station.measure.repeatability import pose_repeatability, repeatability_uncertainty
from station.measure.settle import Release, directions_covered, releases
from station.measure.states import PROGRESS_POINTS, thin
from station.measure.uncertainty import combined, expanded, resolution
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal

FLICKS = 8
GREATEST_OF_8 = 2.7
"""in place of k = 2 for the slowest of eight directions: the greatest of eight alike values lies no farther than this
many standard deviations above their mean in 97.5 of 100 cases (computed for normal values)"""


class LetGo:
    """Where the stick settles after each flick, how far apart, and how soon."""

    name = "letgo"
    title = "Let go"
    due_after: DueAfter = "its control"

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "stick"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(
            self.title,
            "Flick to each of the eight directions and let go.",
            "Push to the edge, let it snap back, wait half a second.",
        )

    def progress(self, take: Take, limits: Limits) -> Progress:
        signal = stick_signal(take)
        if signal is None:
            return WAITING
        keep = thin(len(signal.t_ns), PROGRESS_POINTS)
        found, _ = releases(signal.t_ns[keep], signal.x_pct[keep], signal.y_pct[keep], take.end_ns, precise=False)
        free = [r for r in found if not r.guided]
        missing = _missing(free)
        points = np.array([(r.x, r.y) for r in free], dtype=np.float64).reshape(-1, 2)
        text = f"{counted(missing, 'direction', 'directions')} to go" if missing else ""
        return Progress(missing == 0, text, 1.0 - missing / FLICKS, marks={"settle_points": points})

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = stick_signal(take)
        if signal is None:
            return never_reported(take.control)
        axis = dead_axis(signal)
        if axis is not None:
            return dead_axis_assessment(take.control, axis)
        found, too_short = releases(signal.t_ns, signal.x_pct, signal.y_pct, take.end_ns)
        free = [r for r in found if not r.guided]
        missing = _missing(free)
        if missing:
            return again(_advice(missing, len(found) - len(free), too_short))
        readings = judged(self.name, _readings(free, signal), limits)
        return Assessment(outcome_of(readings), readings, _findings(readings, free, take.control))


def _missing(free: list[Release]) -> int:
    covered = directions_covered(np.array([r.from_deg for r in free], dtype=np.float64))
    return max(FLICKS - int(covered.sum()), FLICKS - len(free), 0)


def _advice(missing: int, guided: int, too_short: int) -> str:
    if guided >= max(too_short, 1):
        return "let the stick snap back by itself, do not lead it"
    if too_short:
        return "wait half a second after letting go, then flick again"
    return f"flick to all eight directions, {counted(missing, 'direction', 'directions')} to go"


def _readings(free: list[Release], signal: StickSignal) -> tuple[Reading, ...]:
    points = np.array([(r.x, r.y) for r in free], dtype=np.float64)
    u_x = resolution(effective_step(signal.x_code, signal.x_step_pct))
    u_y = resolution(effective_step(signal.y_code, signal.y_step_pct))
    worst = max(free, key=_distance)
    offset_u = distance_uncertainty(worst.x, worst.y, combined(u_x, worst.u_x), combined(u_y, worst.u_y))
    slowest = _slowest(free)
    spread_u = expanded(repeatability_uncertainty(points, max(u_x, u_y)))
    return (
        Reading("settle_offset", _distance(worst), "%", offset_u, n=len(free)),
        Reading("repeatability", pose_repeatability(points), "%", spread_u, n=len(free)),
        Reading(
            "settle_time",
            slowest.settle_ms,
            "ms",
            GREATEST_OF_8 * slowest.u_settle_ms,
            n=len(free),
        ),
    )


def _distance(one: Release) -> float:
    return math.hypot(one.x, one.y)


def _slowest(free: list[Release]) -> Release:
    """The slowest direction. Of several releases from about the same direction the quickest counts: a hand can only
    hold a stick up."""
    quickest: dict[int, Release] = {}
    for one in free:
        direction = round(one.from_deg / 45.0) % FLICKS
        if direction not in quickest or one.settle_ms < quickest[direction].settle_ms:
            quickest[direction] = one
    return max(quickest.values(), key=lambda one: one.settle_ms)


def _findings(readings: tuple[Reading, ...], free: list[Release], control: Control | None) -> tuple[Finding, ...]:
    bad = {r.name for r in readings if reading_outcome(r) in (Outcome.FAIL, Outcome.BORDERLINE)}
    found = []
    if "settle_offset" in bad:
        worst = max(free, key=_distance)
        stays = f"{_distance(worst):.1f} % off centre towards {bearing_deg(worst.x, worst.y):.0f}°"
        text = f"{place(control)}: let go from {nearest_eighth(worst.from_deg)}, it stays {stays}"
        found.append(Finding("no_return", text, direction=round(worst.from_deg, 1)))
    if "repeatability" in bad:
        value = next(r.value for r in readings if r.name == "repeatability")
        found.append(Finding("scatter", f"{place(control)}: comes back to a different place each time ({value:.1f} %)"))
    if "settle_time" in bad:
        slow = _slowest(free)
        text = f"{place(control)}: takes {slow.settle_ms:.0f} ms to settle, let go from {nearest_eighth(slow.from_deg)}"
        found.append(Finding("slow_settle", text, direction=round(slow.from_deg, 1)))
    return tuple(found)
