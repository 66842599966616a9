"""Round the rim: roll the stick around its gate, twice each way."""

from __future__ import annotations

import math

import numpy as np

from station.checks.axes import (
    AXES,
    DEAD_AXIS,
    dead_axis,
    dead_axis_assessment,
    never_reported,
    stick_signal,
    waiting,
)
from station.checks.base import again, finding
from station.checks.decide import judged, outcome_of, reading_outcome
from station.checks.types import (
    Assessment,
    Description,
    Dial,
    Finding,
    FindingKind,
    Limits,
    Outcome,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.measure.arrays import F64
from station.measure.circle import least_squares
from station.measure.gate import reach
from station.measure.means import effective_step
from station.measure.sectors import SECTORS, Roll, centre_deg, centres_deg, least_reach, roll, two_way_difference
from station.measure.states import PROGRESS_POINTS, thin
from station.measure.uncertainty import combined, expanded, resolution
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal
from station.words import checks as words
from station.words.figures import number
from station.words.grammar import listed, some

TURNS = 1.75
"""two turns each way, less the part that a hand spends on turning round"""
SELECTED = 3.4
"""the least (or greatest) of 72 alike values lies no farther than this many standard deviations from their mean in 97.5
of 100 cases (computed for normal values)"""
INDEPENDENT = 12
"""sectors near each other share what is slow in the noise: of 72 a sixth count as independent (simulated)"""
BEARING_TOLD_DEG = 45.0


class Rim:
    """Reach all around, the circle through it, and the difference between the two ways."""

    name = "rim"
    title = words.RIM
    about = Description(
        kinds=("stick",),
        readings=(
            ReadingKind("sectors", words.RIM_SECTORS, limit="sectors"),
            ReadingKind("least_reach", words.RIM_LEAST_REACH, "%", 1, limit="least_reach"),
            ReadingKind("least_reach_bearing", words.RIM_LEAST_REACH_BEARING, "°", 0),
            ReadingKind("circle", words.RIM_CIRCLE, "%", 1, parts=AXES),
            ReadingKind("circle_radius", words.RIM_CIRCLE_RADIUS, "%", 1),
            ReadingKind("roundness", words.RIM_ROUNDNESS, "%", 1),
            ReadingKind("two_way_difference", words.RIM_TWO_WAY_DIFFERENCE, "%", 1, limit="two_way_difference"),
        ),
        findings=(
            FindingKind("flat_rim", words.FLAT_RIM, {"reach": "least_reach"}),
            FindingKind("two_way_lag", words.TWO_WAY_LAG, {"difference": "two_way_difference"}),
            DEAD_AXIS,
        ),
        short=words.RIM_SHORT,
        dial=Dial("sectors", ring="least_reach", reading="least_reach"),
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "stick"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.RIM_DO, words.RIM_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        signal = stick_signal(take)
        if signal is None:
            return waiting()
        one = _roll(signal, take.control, thin(len(signal.t_ns), PROGRESS_POINTS))
        missing = _missing(one)
        turned = min(one.turns_clockwise, TURNS) + min(one.turns_anticlockwise, TURNS)
        share = 0.5 * one.covered.mean() + 0.25 * turned / TURNS
        marks = {"sectors": one.covered, "sector_reach": one.reach}
        return Progress(not missing, missing, float(min(share, 1.0)), marks=marks)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = stick_signal(take)
        if signal is None:
            return never_reported(take.control)
        axis = dead_axis(signal)
        if axis is not None:
            return dead_axis_assessment(take.control, axis)
        one = _roll(signal, take.control, slice(None))
        missing = _missing(one)
        if missing:
            return again(words.RIM_MISSING.format(what=missing))
        readings = judged(self.name, _readings(one, signal), limits)
        problem = _hand(readings, one)
        if problem:
            return again(problem, readings)
        return Assessment(outcome_of(readings), readings, _findings(readings, one, take.control))


def _roll(signal: StickSignal, control: Control | None, keep: slice) -> Roll:
    x, y = signal.x_pct[keep], signal.y_pct[keep]
    return roll(signal.t_ns[keep], x, y, reach(x, y, control.gate if control else "round"))


def _missing(one: Roll) -> str:
    left = SECTORS - int(one.covered.sum())
    if left:
        return words.TO_GO.format(what=some(left, words.SECTOR))
    turned = {"clockwise": one.turns_clockwise, "anticlockwise": one.turns_anticlockwise}
    ways = [words.RIM_WAYS[way] for way, turns in turned.items() if turns < TURNS]
    return words.RIM_MORE_TURNS.format(ways=listed(ways)) if ways else ""


def _rim_points(one: Roll) -> F64:
    """The farthest reach of each sector as points, float[72, 2] (a gate that is not round is drawn out to a circle)."""
    angle = np.deg2rad(centres_deg())
    return np.column_stack((one.reach * np.sin(angle), one.reach * np.cos(angle)))


def _readings(one: Roll, signal: StickSignal) -> tuple[Reading, ...]:
    step = max(effective_step(signal.x_code, signal.x_step_pct), effective_step(signal.y_code, signal.y_step_pct))
    u = combined(resolution(step), one.u_reach)
    u_selected = combined(resolution(step), SELECTED / 2.0 * one.u_reach)
    circle = least_squares(_rim_points(one))
    u_mean = u / math.sqrt(INDEPENDENT)
    return (
        Reading("sectors", float(one.covered.sum()), "", n=SECTORS),
        *_least_readings(one, u_selected),
        Reading("circle_x", circle.x, "%", expanded(math.sqrt(2.0) * u_mean), n=SECTORS),
        Reading("circle_y", circle.y, "%", expanded(math.sqrt(2.0) * u_mean), n=SECTORS),
        Reading("circle_radius", circle.radius, "%", expanded(math.sqrt(2.0) * u_mean), n=SECTORS),
        Reading("roundness", circle.roundness, "%", expanded(math.sqrt(2.0) * u_selected), n=SECTORS),
        _two_way_reading(one, u_selected),
    )


def _least_readings(one: Roll, u: float) -> tuple[Reading, Reading]:
    least, bearing, alike_deg = least_reach(one, expanded(u))
    reach = Reading("least_reach", least, "%", expanded(u), n=int(one.agreeing.min()))
    if alike_deg > BEARING_TOLD_DEG:
        return reach, Reading("least_reach_bearing", None, "°", reason=words.RIM_ALIKE)
    return reach, Reading("least_reach_bearing", bearing, "°", alike_deg, n=int(one.agreeing.min()))


def _two_way_reading(one: Roll, u: float) -> Reading:
    differs, _ = two_way_difference(one)
    if math.isnan(differs):
        return Reading("two_way_difference", None, "%", reason=words.RIM_UNEVEN)
    return Reading("two_way_difference", differs, "%", expanded(math.sqrt(2.0) * u), n=SECTORS)


def _hand(readings: tuple[Reading, ...], one: Roll) -> str:
    """Whether the hand left the rim where the reach is short: then no second pass there agrees with the farthest."""
    least = next(r for r in readings if r.name == "least_reach")
    if reading_outcome(least) in (None, Outcome.PASS) or least.limit is None:
        return ""
    unsure = (one.reach < least.limit + least.uncertainty) & (one.agreeing < 2)
    if not unsure.any():
        return ""
    worst = int(np.argmin(np.where(unsure, one.reach, np.inf)))
    return words.RIM_LEFT.format(bearing=number(centre_deg(worst), 0))


def _findings(readings: tuple[Reading, ...], one: Roll, control: Control | None) -> tuple[Finding, ...]:
    bad = {r.name: r for r in readings if reading_outcome(r) in (Outcome.FAIL, Outcome.BORDERLINE)}
    found = []
    if "least_reach" in bad:
        bearing = least_reach(one, 0.0)[1]
        found.append(finding("flat_rim", control, {"reach": bad["least_reach"]}, direction=bearing))
    if "two_way_difference" in bad:
        bearing, differs = two_way_difference(one)[1], bad["two_way_difference"]
        found.append(finding("two_way_lag", control, {"difference": differs}, direction=bearing))
    return tuple(found)
