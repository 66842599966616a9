"""Round the rim: roll the stick around its gate, twice each way."""

from __future__ import annotations

import math

import numpy as np

from station.checks.axes import (
    AXES,
    DEAD_AXIS,
    RANGE_ALIKE_PCT,
    dead_axis,
    dead_axis_assessment,
    never_reported,
    range_short,
    stick_signal,
    waiting,
)
from station.checks.base import again, finding
from station.checks.decide import judged, out_of_limit, outcome_of, reading_outcome
from station.checks.looked import NOTHING, Looked, Part, Spot
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
from station.measure.circle import Circle, least_squares
from station.measure.gate import reach
from station.measure.means import effective_step
from station.measure.rail import on_rail
from station.measure.sectors import (
    ON_RIM_PCT,
    PIECE_DEG,
    SECTORS,
    Roll,
    centre_deg,
    centres_deg,
    least_reach,
    median_of_neighbours,
    noise_draws,
    roll,
    sector_of,
    selected,
    steepness,
    two_way_difference,
    wandered,
)
from station.measure.states import PROGRESS_POINTS, runs, thin
from station.measure.uncertainty import combined, difference_resolution, expanded, half_width, resolution
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal
from station.words import checks as words
from station.words import looked as seen
from station.words import unseen
from station.words.figures import number
from station.words.grammar import listed, some

TURNS = 1.75
"""two turns each way, less the part that a hand spends on turning round"""
WANDERED_SHARE = 0.12
"""passes of one way that differ by more than this share of what is found were not pressed against the gate: a stick
that lags or is cut off makes 0.07 at most, a lazy roll 0.26 and more (19 of 20; simulated, 360 and 159 rolls)"""
BEARING_TOLD_DEG = 45.0
CLOSE_BY_PCT = 1.0
"""a pass that came as near as this to a place on the rim came by there"""
ALIKE_CENTRE, ALIKE_RADIUS = (math.sqrt(0.5), math.sqrt(0.5)), 0.5
"""along a straight side of a gate all sectors share one code, so that its error does not average out: four sides make
the radius, two of them each coordinate of the centre"""


class Rim:
    """Reach all around, the circle through it, and the difference between the two ways."""

    name = "rim"
    title = words.RIM
    about = Description(
        kinds=("stick",),
        together="all",
        followed_by=("link",),
        unseen=unseen.RIM,
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
        pictures=("path", "time"),
        looked=lambda take, limits: _looked(take),
    )

    def __init__(self, turns: float = TURNS) -> None:
        """`turns`: how many each way; a first look asks for fewer."""
        self._turns = turns

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "stick"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.RIM_DO, words.RIM_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        signal = stick_signal(take)
        if signal is None:
            return waiting()
        one = _roll(signal, take.control, thin(len(signal.t_ns), PROGRESS_POINTS))
        missing = _missing(one, self._turns)
        turned = min(one.turns_clockwise, self._turns) + min(one.turns_anticlockwise, self._turns)
        share = 0.5 * one.covered.mean() + 0.25 * turned / self._turns
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
        missing = _missing(one, self._turns)
        if missing:
            return again(words.RIM_MISSING.format(what=missing))
        readings = judged(self.name, _readings(one, signal), limits)
        problem = _range(readings, signal, take.end_ns) or _hand(readings, one)
        if problem:
            return again(problem, readings)
        return Assessment(outcome_of(readings), readings, _findings(readings, one, take.control))


def _roll(signal: StickSignal, control: Control | None, keep: slice) -> Roll:
    x, y = (on_rail(signal.t_ns[keep], values[keep]) for values in (signal.x_pct, signal.y_pct))
    return roll(signal.t_ns[keep], x, y, reach(x, y, control.gate if control else "round"))


def _looked(take: Take) -> Looked:
    signal = stick_signal(take)
    if signal is None or dead_axis(signal) is not None:
        return NOTHING
    one = _roll(signal, take.control, slice(None))
    if not one.covered.any():
        return NOTHING
    on_rim = np.hypot(signal.x_pct, signal.y_pct) >= ON_RIM_PCT
    first, stop = runs(on_rim)
    ends = np.append(signal.t_ns, take.end_ns)
    parts = tuple(Part(int(signal.t_ns[a]), int(ends[b])) for a, b in zip(first, stop, strict=True))
    circle = least_squares(_rim_points(one)) if one.covered.all() else None
    drawn = None if circle is None else (circle.x, circle.y, circle.radius)
    least = int(np.nanargmin(one.reach))
    spots = [_at_bearing("flat_rim", seen.FLAT_HERE, signal, centre_deg(least), float(one.reach[least]))]
    differs, bearing = two_way_difference(one)
    if not math.isnan(differs):
        at = float(one.reach[int(sector_of(np.array([bearing]))[0])])
        spots.append(_at_bearing("two_way_lag", seen.LAGS_HERE, signal, bearing, at))
    return Looked(parts, tuple(spots), one.reach, circle=drawn)


def _at_bearing(code: str, text: str, signal: StickSignal, bearing_deg: float, reach_pct: float) -> Spot:
    """The place on the rim, and the first time that the stick came by there."""
    angle = math.radians(bearing_deg)
    point = reach_pct * math.sin(angle), reach_pct * math.cos(angle)
    near = np.hypot(signal.x_pct - point[0], signal.y_pct - point[1])
    at = int(signal.t_ns[int(np.argmax(near <= near.min() + CLOSE_BY_PCT))])
    return Spot(code, text, at, at, point=point, faulty=False)


def _missing(one: Roll, asked: float) -> str:
    left = SECTORS - int(one.covered.sum())
    if left:
        return words.TO_GO.format(what=some(left, words.SECTOR))
    turned = {"clockwise": one.turns_clockwise, "anticlockwise": one.turns_anticlockwise}
    ways = [words.RIM_WAYS[way] for way, turns in turned.items() if turns < asked]
    return words.RIM_MORE_TURNS.format(ways=listed(ways)) if ways else ""


def _rim_points(one: Roll) -> F64:
    """The farthest reach of each sector as points, float[72, 2] (a gate that is not round is drawn out to a circle)."""
    angle = np.deg2rad(centres_deg())
    return np.column_stack((one.reach * np.sin(angle), one.reach * np.cos(angle)))


def _readings(one: Roll, signal: StickSignal) -> tuple[Reading, ...]:
    """What was picked as the least or greatest of 72 is corrected for what noise does to such a pick, and so is its
    uncertainty."""
    step = max(effective_step(signal.x_code, signal.x_step_pct), effective_step(signal.y_code, signal.y_step_pct))
    draws = noise_draws(one)
    circle = least_squares(_rim_points(one))
    least = selected(one.reach, draws, lambda reach: reach.min(axis=-1))
    off_circle = one.reach - _on_circle(circle)
    spread = selected(off_circle, draws, lambda off: np.ptp(off, axis=-1))
    ends = (int(np.nanargmin(off_circle)), int(np.nanargmax(off_circle)))
    angle = np.deg2rad(centres_deg())
    moved = (2.0 * draws * np.sin(angle), 2.0 * draws * np.cos(angle), draws)
    return (
        Reading("sectors", float(one.covered.sum()), "", n=SECTORS),
        *_least_readings(one, least.shift, combined(least.u, _seen(one.reach, int(np.nanargmin(one.reach)))), step),
        *(
            Reading(f"circle_{name}", value, "%", expanded(combined(coarse * resolution(step), _spread(by))), n=SECTORS)
            for name, value, by, coarse in zip(
                ("x", "y", "radius"),
                (circle.x, circle.y, circle.radius),
                moved,
                (*ALIKE_CENTRE, ALIKE_RADIUS),
                strict=True,
            )
        ),
        Reading(
            "roundness",
            max(circle.roundness - spread.shift, 0.0),
            "%",
            half_width(combined(resolution(step), spread.u, *(_seen(one.reach, k) for k in ends)), step / 2.0),
            n=SECTORS,
        ),
        _two_way_reading(one, draws, step),
    )


def _seen(reach: F64, sector: int) -> float:
    """Standard uncertainty, %, of a sector's reach from where in a piece of it the stick was seen: anywhere."""
    return steepness(reach, sector) * PIECE_DEG / math.sqrt(12.0)


def _spread(moved: F64) -> float:
    """Standard deviation of the mean over the sectors, from the draws float[draws, 72]."""
    return float(moved.mean(axis=-1).std())


def _on_circle(circle: Circle) -> F64:
    """Distance of the circle from the centre of the range in the middle of each sector (to first order), float[72]."""
    angle = np.deg2rad(centres_deg())
    return np.asarray(circle.radius + circle.x * np.sin(angle) + circle.y * np.cos(angle))


def _least_readings(one: Roll, shift: float, u: float, step: float) -> tuple[Reading, Reading]:
    uncertainty = half_width(u, step / 2.0)
    least, bearing, alike_deg = least_reach(one, uncertainty)
    reach = Reading("least_reach", least - shift, "%", uncertainty, n=int(one.agreeing.min()))
    if alike_deg > BEARING_TOLD_DEG:
        return reach, Reading("least_reach_bearing", None, "°", reason=words.RIM_ALIKE)
    return reach, Reading("least_reach_bearing", bearing, "°", alike_deg, n=int(one.agreeing.min()))


def _two_way_reading(one: Roll, draws: F64, step: float) -> Reading:
    """Each way has half of the passes, so √2 of the scatter of both together."""
    differs, _ = two_way_difference(one)
    if math.isnan(differs):
        return Reading("two_way_difference", None, "%", reason=words.RIM_UNEVEN)
    between = np.where(np.isfinite(one.clockwise - one.anticlockwise), one.clockwise - one.anticlockwise, 0.0)
    noise = selected(
        between,
        math.sqrt(2.0) * (draws - np.roll(draws, 1, axis=0)),
        lambda difference: np.abs(median_of_neighbours(difference)).max(axis=-1),
    )
    u = expanded(combined(difference_resolution(step), noise.u))
    return Reading("two_way_difference", max(differs - noise.shift, 0.0), "%", u, n=SECTORS)


def _range(readings: tuple[Reading, ...], signal: StickSignal, end_ns: int) -> str:
    """What to say where the reach falls short because the model's range does, and nowhere more than that."""
    least = next(r for r in readings if r.name == "least_reach")
    if reading_outcome(least) in (None, Outcome.PASS):
        return ""
    end, problem = range_short(signal, end_ns)
    return problem if (least.value or 0.0) >= end - least.uncertainty - RANGE_ALIKE_PCT else ""


def _hand(readings: tuple[Reading, ...], one: Roll) -> str:
    """Whether the hand left the rim: where the reach is short no second pass (of four: no third) agrees with the
    farthest, or the passes of one way wander as far apart as a good part of what is found."""
    named = {r.name: r for r in readings if reading_outcome(r) not in (None, Outcome.PASS)}
    least, differs = named.get("least_reach"), named.get("two_way_difference")
    if least is not None and least.limit is not None:
        unsure = (one.reach < least.limit + least.uncertainty) & (one.agreeing < (3 if one.number > 3 else 2))
        if unsure.any():
            worst = int(np.argmin(np.where(unsure, one.reach, np.inf)))
            return words.RIM_LEFT.format(bearing=number(centre_deg(worst), 0))
    if least is not None and wandered(one) > WANDERED_SHARE * (100.0 - (least.value or 0.0)):
        return words.RIM_LOOSE
    if differs is not None and wandered(one, two_way_difference(one)[1]) > WANDERED_SHARE * (differs.value or 0.0):
        return words.RIM_LOOSE
    return ""


def _findings(readings: tuple[Reading, ...], one: Roll, control: Control | None) -> tuple[Finding, ...]:
    bad = {r.name: r for r in readings if out_of_limit(r)}
    found = []
    if "least_reach" in bad:
        bearing = least_reach(one, 0.0)[1]
        found.append(finding("flat_rim", control, {"reach": bad["least_reach"]}, direction=bearing))
    if "two_way_difference" in bad:
        bearing, differs = two_way_difference(one)[1], bad["two_way_difference"]
        found.append(finding("two_way_lag", control, {"difference": differs}, direction=bearing))
    return tuple(found)
