"""Let go: flick the stick in eight directions and let the spring bring it back."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from station.checks.axes import (
    DEAD_AXIS,
    dead_axis,
    dead_axis_assessment,
    never_reported,
    stick_signal,
    waiting,
)
from station.checks.base import again, eighth, finding, lies_towards
from station.checks.decide import judged, out_of_limit, outcome_of, reading_outcome
from station.checks.looked import NOTHING, Looked, Part, Spot
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
from station.measure.arrays import F64
from station.measure.centre import bearing_deg, distance_uncertainty
from station.measure.dead_zone import hidden_zone, quantile_u, still_within
from station.measure.means import effective_step
from station.measure.placement import greatest_scatter, return_scatter
from station.measure.repeatability import pose_repeatability, repeatability_uncertainty
from station.measure.settle import Release, directions_covered, releases
from station.measure.states import PROGRESS_POINTS, thin
from station.measure.uncertainty import COVERAGE_FACTOR, combined, expanded, resolution, slowest_of
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal
from station.words import checks as words
from station.words import looked as seen
from station.words import unseen
from station.words.grammar import some

FLICKS = 8
NEAR = 2.0
"""a repeatability that passes by less than so many of its uncertainties is looked at once more: that of few returns
scatters, and its uncertainty with it"""


def _ring(limits: LimitTable) -> tuple[float, ...]:
    return (-limits["return_offset"][0], limits["return_offset"][0])


def _span(limits: LimitTable) -> tuple[float, float]:
    fail = limits["return_offset"][1]
    return -2 * fail, 2 * fail


class LetGo:
    """Where the stick settles after each flick, how far apart, and how soon."""

    name = "letgo"
    title = words.LETGO
    about = Description(
        kinds=("stick",),
        together="all",
        followed_by=("rest",),
        unseen=unseen.LETGO,
        readings=(
            ReadingKind("return_offset", words.LETGO_RETURN_OFFSET, "%", 1, limit="return_offset"),
            ReadingKind(
                "settle_offset",
                words.LETGO_SETTLE_OFFSET,
                "%",
                1,
                sheet_limit="settle_offset",
                unseen=unseen.LETGO_SETTLES,
            ),
            ReadingKind("repeatability", words.LETGO_REPEATABILITY, "%", 1, limit="repeatability"),
            ReadingKind("settle_time", words.LETGO_SETTLE_TIME, "ms", 0, limit="settle_time"),
            ReadingKind(
                "still_within",
                words.LETGO_STILL_WITHIN,
                "%",
                1,
                noted=True,
                sheet_limit="still_within",
                unseen=unseen.LETGO_SETTLES,
            ),
            ReadingKind("hidden_zone", words.LETGO_HIDDEN_ZONE, "%", 1, noted=True, unseen=unseen.HIDDEN_ZONE),
        ),
        findings=(
            FindingKind(
                "no_return",
                lambda params: words.NO_RETURN_FROM if "away" in params else words.NO_RETURN,
                {"start": eighth, "offset": "settle_offset", "towards": lies_towards, "away": "return_offset"},
            ),
            FindingKind("scatter", words.SCATTER, {"spread": "repeatability"}),
            FindingKind("slow_settle", words.SLOW_SETTLE, {"settle": "settle_time", "start": eighth}),
            DEAD_AXIS,
        ),
        plot=Plot(_ring, _span),
        dial=Dial("settled"),
        then_do=words.LETGO_THEN,
        pictures=("time", "path"),
        looked=lambda take, limits: _looked(take),
    )

    def __init__(self, *, once_more: bool = True, led: tuple[tuple[int, int], ...] = ()) -> None:
        """`once_more`: it asks for eight more returns where they leave a doubt; a first look does not. `led`: stretches
        (begin, end) in ns that are known to end with the hand on the stick."""
        self._once_more = once_more
        self._led = led

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
        free = self._free(found)
        missing = _missing(free)
        points = np.array([(r.x, r.y) for r in free], dtype=np.float64).reshape(-1, 2)
        text = words.TO_GO.format(what=some(missing, words.DIRECTION)) if missing else ""
        if not missing and self._once_more and _doubtful(free, signal, limits):
            more = words.LETGO_ONCE_MORE.format(directions=some(2 * FLICKS - len(free), words.DIRECTION))
            return Progress(False, more, len(free) / (2 * FLICKS), marks={"settle_points": points})
        return Progress(missing == 0, text, 1.0 - missing / FLICKS, marks={"settle_points": points})

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = stick_signal(take)
        if signal is None:
            return never_reported(take.control)
        axis = dead_axis(signal)
        if axis is not None:
            return dead_axis_assessment(take.control, axis)
        found, too_short = releases(signal.t_ns, signal.x_pct, signal.y_pct, take.end_ns)
        free = self._free(found)
        missing = _missing(free)
        if missing:
            return again(_advice(missing, len(found) - len(free), too_short))
        readings = judged(self.name, _readings(free, signal), limits)
        if not _slow(free) and _too_noisy(readings):
            readings = tuple(_unjudged(r) if r.name == "settle_time" else r for r in readings)
            if outcome_of(readings) is not Outcome.FAIL:
                return again(words.LETGO_NOISY, readings)
        return Assessment(outcome_of(readings), readings, _findings(readings, free, take.control))

    def _free(self, found: list[Release]) -> list[Release]:
        """The releases after which the spring alone brought the stick back."""
        return [r for r in found if not r.guided and not any(a <= r.left_ns < b for a, b in self._led)]


def _looked(take: Take) -> Looked:
    signal = stick_signal(take)
    if signal is None:
        return NOTHING
    found, _ = releases(signal.t_ns, signal.x_pct, signal.y_pct, take.end_ns)
    free = [r for r in found if not r.guided]
    parts = [Part(*r.calm_ns) if not r.guided else Part(r.left_ns, r.calm_ns[1], seen.LED_BACK) for r in found]
    spots: list[Spot] = []
    if free:
        far, slow = _farthest(free, np.median(np.array([(r.x, r.y) for r in free]), axis=0)), _slowest(free)
        spots = [
            Spot("no_return", seen.SETTLES_AWAY, far.left_ns, far.calm_ns[1], point=(far.x, far.y), faulty=False),
            Spot(
                "slow_settle", seen.SETTLES_SLOWLY, slow.left_ns, slow.calm_ns[1], point=(slow.x, slow.y), faulty=False
            ),
            *(Spot("scatter", seen.SETTLED, *r.calm_ns, point=(r.x, r.y), faulty=False) for r in free),
        ]
    settled = np.array([(r.x, r.y) for r in free], dtype=np.float64).reshape(-1, 2)
    return Looked(tuple(parts), tuple(spots), settled=settled)


def _too_noisy(readings: tuple[Reading, ...]) -> bool:
    """Whether the time to settle does not pass, and is known no better than the limits are apart."""
    time = next(r for r in readings if r.name == "settle_time")
    if time.limit is None or time.fail_beyond is None or reading_outcome(time) is Outcome.PASS:
        return False
    return time.uncertainty > abs(time.fail_beyond - time.limit)


def _slow(free: list[Release]) -> bool:
    """Whether the stick is so slow that it was still moving: then it was after most releases. A jump of the track looks
    like that after one or another."""
    return 2 * sum(r.moving for r in free) >= len(free)


def _unjudged(reading: Reading) -> Reading:
    return replace(reading, limit=None, fail_beyond=None, reason=words.LETGO_NOISY)


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
    half_codes = (
        effective_step(signal.x_code, signal.x_step_pct) / 2.0,
        effective_step(signal.y_code, signal.y_step_pct) / 2.0,
    )
    one = return_scatter(np.array([r.from_deg for r in free]), points)
    scatter = greatest_scatter(np.hypot(points[:, 0], points[:, 1]), one)
    worst = max(free, key=_distance)
    u = combined(worst.u_x, scatter), combined(worst.u_y, scatter)
    offset_u = distance_uncertainty(worst.x, worst.y, *u, half_codes)
    usual = np.median(points, axis=0)
    far = _farthest(free, usual)
    away = (far.x - float(usual[0]), far.y - float(usual[1]))
    scatter = greatest_scatter(np.hypot(*(points - usual).T), one)
    away_u = distance_uncertainty(*away, combined(far.u_x, scatter), combined(far.u_y, scatter), half_codes)
    slowest, alike = _slowest(free), _alike(free)
    return (
        Reading("return_offset", math.hypot(*away), "%", away_u, n=len(free)),
        Reading("settle_offset", _distance(worst), "%", offset_u, n=len(free)),
        _repeatability(free, signal),
        Reading(
            "settle_time",
            slowest.settle_ms,
            "ms",
            max(COVERAGE_FACTOR, slowest_of(alike)) * slowest.u_settle_ms,
            n=len(free),
        ),
        *_of_a_game(free, signal, points, offset_u),
    )


def _repeatability(free: list[Release], signal: StickSignal) -> Reading:
    points = np.array([(r.x, r.y) for r in free], dtype=np.float64)
    step = max(
        effective_step(signal.x_code, signal.x_step_pct),
        effective_step(signal.y_code, signal.y_step_pct),
    )
    of_means = math.sqrt(sum(r.u_x**2 + r.u_y**2 for r in free) / (2.0 * len(free)))
    u_point = combined(resolution(step), of_means)
    u = repeatability_uncertainty(np.array([r.from_deg for r in free]), points, u_point)
    return Reading("repeatability", pose_repeatability(points), "%", expanded(u), n=len(free))


def _doubtful(free: list[Release], signal: StickSignal, limits: Limits) -> bool:
    """Whether eight more returns are needed to say how well it comes back."""
    if len(free) >= 2 * FLICKS:
        return False
    (reading,) = judged(LetGo.name, [_repeatability(free, signal)], limits)
    outcome = reading_outcome(reading)
    near = outcome is Outcome.PASS and (reading.value or 0.0) + NEAR * reading.uncertainty > (reading.limit or math.inf)
    return near or outcome is Outcome.BORDERLINE


def _of_a_game(free: list[Release], signal: StickSignal, points: F64, offset_u: float) -> tuple[Reading, ...]:
    """What a player meets: the least dead zone in which the stick is still; and one that the firmware has already."""
    still = still_within(signal.t_ns, signal.x_pct, signal.y_pct, [r.calm_ns for r in free])
    step = max(signal.x_step_pct, signal.y_step_pct)
    noise = max(r.noise for r in free)
    u = combined(offset_u / 2.0, quantile_u(noise, min(_independent(r) for r in free), step))
    in_words = next(text for most, text in words.LETGO_STILL_IN_WORDS if still <= most)
    found = [Reading("still_within", still, "%", expanded(u), n=len(free), reason=in_words)]
    hidden = hidden_zone(signal.x_pct, signal.y_pct, points, step)
    if hidden is not None:
        found.append(Reading("hidden_zone", hidden, "%", step, n=len(free), reason=words.LETGO_HIDES))
    return tuple(found)


def _independent(one: Release) -> float:
    """How many independent looks the calm stretch is worth, from the uncertainty of its mean."""
    u = math.hypot(one.u_x, one.u_y)
    return (one.noise / u) ** 2 if u > 0.0 else 1.0


def _farthest(free: list[Release], usual: F64) -> Release:
    return max(free, key=lambda one: math.hypot(one.x - float(usual[0]), one.y - float(usual[1])))


def _distance(one: Release) -> float:
    return math.hypot(one.x, one.y)


def _slowest(free: list[Release]) -> Release:
    """The slowest direction."""
    return max(_quickest(free), key=lambda one: one.settle_ms)


def _alike(free: list[Release]) -> int:
    """How many directions take as long as the slowest within its uncertainty, itself among them."""
    slowest = _slowest(free)
    least = slowest.settle_ms - expanded(slowest.u_settle_ms)
    return sum(one.settle_ms >= least for one in _quickest(free))


def _quickest(free: list[Release]) -> list[Release]:
    """The quickest release of each direction: a hand can only hold a stick up."""
    quickest: dict[int, Release] = {}
    for one in free:
        direction = round(one.from_deg / 45.0) % FLICKS
        if direction not in quickest or one.settle_ms < quickest[direction].settle_ms:
            quickest[direction] = one
    return list(quickest.values())


def _findings(readings: tuple[Reading, ...], free: list[Release], control: Control | None) -> tuple[Finding, ...]:
    bad = {r.name: r for r in readings if out_of_limit(r)}
    found = []
    if "settle_time" in bad and _slow(free):  # where it will end up was not seen
        bad = {"settle_time": bad["settle_time"]}
    if "return_offset" in bad:
        far = _farthest(free, np.median(np.array([(r.x, r.y) for r in free]), axis=0))
        far_off: Given = {"away": bad["return_offset"], "start": far.from_deg}
        found.append(finding("no_return", control, far_off, direction=round(far.from_deg, 1)))
    elif "settle_offset" in bad:  # a sheet has a limit for it
        worst = max(free, key=_distance)
        towards = bearing_deg(worst.x, worst.y)
        stays: Given = {"offset": bad["settle_offset"], "towards": towards, "start": worst.from_deg}
        found.append(finding("no_return", control, stays, direction=round(worst.from_deg, 1)))
    if "repeatability" in bad:
        found.append(finding("scatter", control, {"spread": bad["repeatability"]}))
    if "settle_time" in bad:
        slowest = _slowest(free)
        how: Given = {"settle": bad["settle_time"], "start": slowest.from_deg}
        found.append(finding("slow_settle", control, how, direction=round(slowest.from_deg, 1)))
    return tuple(found)
