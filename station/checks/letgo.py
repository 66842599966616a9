"""Let go: flick the stick in eight directions and let the spring bring it back."""

from __future__ import annotations

import math

import numpy as np

from station.checks.axes import (
    DEAD_AXIS,
    dead_axis,
    dead_axis_assessment,
    never_reported,
    stick_signal,
    waiting,
)
from station.checks.base import again, decimals, eighth, finding
from station.checks.decide import judged, outcome_of, reading_outcome
from station.checks.types import (
    Assessment,
    Description,
    Dial,
    Finding,
    FindingKind,
    Given,
    Limits,
    LimitTable,
    Outcome,
    Plot,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.measure.centre import bearing_deg, distance_uncertainty
from station.measure.means import effective_step
from station.measure.repeatability import pose_repeatability, repeatability_uncertainty
from station.measure.settle import Release, directions_covered, releases
from station.measure.states import PROGRESS_POINTS, thin
from station.measure.uncertainty import combined, expanded, resolution
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal
from station.words import checks as words
from station.words.grammar import some

FLICKS = 8
GREATEST_OF_8 = 2.7
"""in place of k = 2 for the slowest of eight directions: the greatest of eight alike values lies no farther than this
many standard deviations above their mean in 97.5 of 100 cases (computed for normal values)"""


def _ring(limits: LimitTable) -> tuple[float, ...]:
    return (-limits["settle_offset"][0], limits["settle_offset"][0])


def _span(limits: LimitTable) -> tuple[float, float]:
    fail = limits["settle_offset"][1]
    return -2 * fail, 2 * fail


class LetGo:
    """Where the stick settles after each flick, how far apart, and how soon."""

    name = "letgo"
    title = words.LETGO
    about = Description(
        kinds=("stick",),
        readings=(
            ReadingKind("settle_offset", words.LETGO_SETTLE_OFFSET, "%", 1, limit="settle_offset"),
            ReadingKind("repeatability", words.LETGO_REPEATABILITY, "%", 1, limit="repeatability"),
            ReadingKind("settle_time", words.LETGO_SETTLE_TIME, "ms", 0, limit="settle_time"),
        ),
        findings=(
            FindingKind(
                "no_return", words.NO_RETURN, {"start": eighth, "offset": "settle_offset", "towards": decimals(0)}
            ),
            FindingKind("scatter", words.SCATTER, {"spread": "repeatability"}),
            FindingKind("slow_settle", words.SLOW_SETTLE, {"settle": "settle_time", "start": eighth}),
            DEAD_AXIS,
        ),
        plot=Plot(_ring, _span),
        dial=Dial("settled"),
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "stick"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.LETGO_DO, words.LETGO_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        signal = stick_signal(take)
        if signal is None:
            return waiting()
        keep = thin(len(signal.t_ns), PROGRESS_POINTS)
        found, _ = releases(signal.t_ns[keep], signal.x_pct[keep], signal.y_pct[keep], take.end_ns, precise=False)
        free = [r for r in found if not r.guided]
        missing = _missing(free)
        points = np.array([(r.x, r.y) for r in free], dtype=np.float64).reshape(-1, 2)
        text = words.TO_GO.format(what=some(missing, words.DIRECTION)) if missing else ""
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
        return words.LETGO_GUIDED
    if too_short:
        return words.LETGO_TOO_SHORT
    return words.LETGO_MISSING.format(directions=some(missing, words.DIRECTION))


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
    bad = {r.name: r for r in readings if reading_outcome(r) in (Outcome.FAIL, Outcome.BORDERLINE)}
    found = []
    if "settle_offset" in bad:
        worst = max(free, key=_distance)
        towards = bearing_deg(worst.x, worst.y)
        stays: Given = {"offset": bad["settle_offset"], "towards": towards, "start": worst.from_deg}
        found.append(finding("no_return", control, stays, direction=round(worst.from_deg, 1)))
    if "repeatability" in bad:
        found.append(finding("scatter", control, {"spread": bad["repeatability"]}))
    if "settle_time" in bad:
        slow = _slowest(free)
        how: Given = {"settle": bad["settle_time"], "start": slow.from_deg}
        found.append(finding("slow_settle", control, how, direction=round(slow.from_deg, 1)))
    return tuple(found)
