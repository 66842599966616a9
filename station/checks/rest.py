"""At rest: flick the stick, then hands off for three seconds.

A thumb that rests on a stick pushes it aside like a worn spring does. So an offset counts only of a stick that was
seen to snap back by itself first, and that stays where it came to.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from station.checks.axes import AXES, Axis, never_reported, stick_signal, waiting
from station.checks.base import again, finding, lies_towards
from station.checks.decide import judged, out_of_limit, outcome_of, reading_outcome
from station.checks.looked import NOTHING, Looked, Part, Spot
from station.checks.types import (
    Assessment,
    Description,
    Dial,
    Finding,
    FindingKind,
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
from station.measure import held
from station.measure.arrays import F64, NS_PER_MS, NS_PER_S
from station.measure.centre import AxisRest, axis_rest, bearing_deg, distance_uncertainty
from station.measure.dead_zone import hidden_zone
from station.measure.means import effective_step
from station.measure.placement import ENOUGH_FLICKS, Middle, middle, rounding
from station.measure.settle import Release, releases
from station.measure.states import PROGRESS_POINTS, thin
from station.measure.tremor import hand_share
from station.measure.uncertainty import combined, expanded, half_width
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal
from station.words import checks as words
from station.words import looked as seen
from station.words import unseen

FULL_NS = 3 * NS_PER_S
ENOUGH_NS = 2 * NS_PER_S
BIN_NS = 100 * NS_PER_MS
SLACK_NS = 20 * NS_PER_MS
HAND_SHARE = 0.6
"""share of the power below 14 Hz from which noise counts as tremor; sensor noise has about a tenth"""
AFTER_NS = (150 * NS_PER_MS, 250 * NS_PER_MS, 350 * NS_PER_MS)
"""so long after it was let go a sound stick has come back and no hand is there again (common practice, no source)"""
NEAR_SHARE = 0.6
"""nearer to the middle than this share of the limit a stick passes, flicked or not"""
TOUCHED_NS = 600 * NS_PER_MS
"""a calm that begins later than this after the last flick began after a touch of the stick"""
STILL_COMING_PCT = 1.0
"""a stick that moves farther than this from one of these times to the next is slow, not touched"""
AWAY_PCT = 3.0
"""a stick that lies farther than this from where it came back to has a hand on it again: a touch that has ended leaves
a sound one no farther than twice its friction (common practice, no source)"""
HANDLED_PCT = 6.0
"""the median over a tenth of a second that lies farther than this from the end's means a hand on the stick"""


@dataclass(frozen=True, slots=True)
class _Calm:
    begin_ns: int
    end_ns: int

    @property
    def length_ns(self) -> int:
        return self.end_ns - self.begin_ns


def _ring(limits: LimitTable) -> tuple[float, ...]:
    return (-limits["offset"][0], limits["offset"][0])


def _span(limits: LimitTable) -> tuple[float, float]:
    fail = limits["offset"][1]
    return -1.6 * fail, 1.6 * fail


class Rest:
    """Offset and noise of a stick that nobody touches."""

    name = "rest"
    title = words.REST
    about = Description(
        kinds=("stick",),
        together="all",
        unseen=unseen.REST,
        readings=(
            ReadingKind("offset", words.REST_OFFSET, "%", 1, limit="offset", parts=AXES, noted=True),
            ReadingKind("offset_angle", words.REST_OFFSET_ANGLE, "°", 0),
            ReadingKind(
                "noise_rms", words.REST_NOISE_RMS, "%", 2, limit="noise_rms", parts=AXES, unseen=unseen.REST_NOISE
            ),
            ReadingKind(
                "noise_pp",
                words.REST_NOISE_PP,
                "%",
                1,
                short=words.REST_NOISE_PP_SHORT,
                parts=AXES,
                sheet_limit="noise_pp",
                unseen=unseen.REST_NOISE,
            ),
        ),
        findings=(
            FindingKind(
                "offset",
                lambda params: words.OFFSET_TOWARDS if "angle" in params else words.OFFSET,
                {"offset": "offset", "angle": lies_towards},
            ),
            FindingKind(
                "noise",
                lambda params: words.NOISE_RMS if "rms" in params else words.NOISE,
                {"noise": "noise_pp", "rms": "noise_rms"},
            ),
        ),
        plot=Plot(_ring, _span),
        dial=Dial("rest", ring="offset", reading="offset", point=("offset_x", "offset_y")),
        due_after="any opening",
        hands_off=True,
        then_do=words.REST_THEN,
        pictures=("cloud", "time", "codes"),
        looked=lambda take, limits: _looked(take),
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "stick"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.REST_DO, words.REST_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        signal = stick_signal(take)
        if signal is None:
            return waiting()
        calm = _calm_stretch(signal, take)
        share = min(1.0, calm.length_ns / FULL_NS)
        if calm.length_ns >= FULL_NS - SLACK_NS:
            return _enough(signal, take, calm, limits)
        left = max(1, math.ceil((FULL_NS - calm.length_ns) / NS_PER_S))
        return Progress(False, words.REST_MORE.format(seconds=left), share)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = stick_signal(take)
        if signal is None:
            return never_reported(take.control)
        calm = _calm_stretch(signal, take)
        if calm.length_ns < ENOUGH_NS:
            return again(words.REST_LAY_DOWN)
        free = _let_go(signal, calm.end_ns)
        begin = _used_from(calm, free)
        step_x = effective_step(signal.x_code, signal.x_step_pct)
        step_y = effective_step(signal.y_code, signal.y_step_pct)
        x = axis_rest(signal.t_ns, signal.x_pct, begin, calm.end_ns, step_x)
        y = axis_rest(signal.t_ns, signal.y_pct, begin, calm.end_ns, step_y)
        readings = _readings(x, y, _middle(signal, calm, free, (x.mean, y.mean)), (step_x, step_y))
        if _hidden(signal, free):
            readings = (replace(readings[0], reason=words.LETGO_HIDES), *readings[1:])
        readings = judged(self.name, readings, limits)
        if not free and reading_outcome(readings[0]) is not Outcome.PASS:
            return again(words.REST_FLICK, readings)
        if free and _touched_again(signal, free[-1], (x.mean, y.mean)):
            return again(words.REST_HANDS_OFF, readings)
        if _trembles(readings, signal, begin, calm.end_ns):
            return again(words.REST_TREMBLES, readings)
        return Assessment(outcome_of(readings), readings, _findings(readings, take.control))


def _looked(take: Take) -> Looked:
    signal = stick_signal(take)
    if signal is None:
        return NOTHING
    calm = _calm_stretch(signal, take)
    if calm.length_ns < ENOUGH_NS:
        return Looked((Part(take.begin_ns, take.end_ns, seen.NEVER_CALM),))
    free = _let_go(signal, calm.end_ns)
    begin = _used_from(calm, free)
    parts = (
        Part(take.begin_ns, begin, seen.BEFORE_CALM),
        Part(begin, calm.end_ns),
        Part(calm.end_ns, take.end_ns, seen.AFTER_CALM),
    )
    spots = (
        Spot("offset", seen.RESTS_HERE, begin, calm.end_ns, faulty=False),
        Spot("noise", seen.NOISE_HERE, begin, calm.end_ns, faulty=False),
    )
    x, y = (held.window_mean(signal.t_ns, values, begin, calm.end_ns) for values in (signal.x_pct, signal.y_pct))
    from_deg, points = _places(signal, calm, free, (x, y))
    used = np.array(middle(from_deg, points).used)
    return Looked(
        tuple(p for p in parts if p.end_ns > p.begin_ns), spots, settled=points[used], set_aside=points[~used]
    )


def _used_from(calm: _Calm, free: list[Release]) -> int:
    """Where the stretch begins that is measured."""
    begin = max(calm.begin_ns, calm.end_ns - FULL_NS)
    if free:  # a slow stick still comes back while it already looks calm
        begin = max(begin, min(free[-1].left_ns + NS_PER_S, calm.end_ns - ENOUGH_NS))
    return begin


def _calm_stretch(signal: StickSignal, take: Take) -> _Calm:
    """The last stretch in which the stick stayed where it is at the end (medians over a tenth of a second)."""
    moments = held.grid_ns(max(take.begin_ns, int(signal.t_ns[0])), take.end_ns, BIN_NS // 10)
    bins = len(moments) // 10
    if bins == 0:
        return _Calm(take.end_ns, take.end_ns)
    moments = moments[len(moments) - bins * 10 :]
    away = np.zeros(bins, dtype=bool)
    for values in (signal.x_pct, signal.y_pct):
        medians = np.median(held.held_at(signal.t_ns, values, moments).reshape(bins, 10), axis=1)
        away |= np.abs(medians - np.median(medians[-10:])) > HANDLED_PCT
    last = np.flatnonzero(~away)
    if len(last) == 0:
        return _Calm(take.end_ns, take.end_ns)
    stop = int(last[-1]) + 1
    touched = np.flatnonzero(away[:stop])
    first = int(touched[-1]) + 2 if len(touched) else 0
    begin = int(moments[first * 10]) if first < bins else take.end_ns
    end = take.end_ns if stop == bins else int(moments[stop * 10 - 1])
    return _Calm(min(begin, end), end)


def _enough(signal: StickSignal, take: Take, calm: _Calm, limits: Limits) -> Progress:
    """Calm for long enough; a stick that seems off centre has to be flicked too."""
    begin = max(calm.begin_ns, calm.end_ns - FULL_NS)
    at = tuple(held.window_mean(signal.t_ns, v, begin, calm.end_ns) for v in (signal.x_pct, signal.y_pct))
    keep = thin(len(signal.t_ns), PROGRESS_POINTS)
    few = replace(signal, t_ns=signal.t_ns[keep], x_pct=signal.x_pct[keep], y_pct=signal.y_pct[keep])
    free = _let_go(few, calm.end_ns)
    if not free and math.hypot(*at) > NEAR_SHARE * limits["rest"]["offset"][0]:
        return Progress(False, words.REST_FLICK, 0.9)
    if 1 < len(free) < ENOUGH_FLICKS and _middle(few, calm, free, (at[0], at[1])).unlike:
        return Progress(False, words.REST_FLICK_MORE, 0.7)
    return Progress(True, "", 1.0)


def _let_go(signal: StickSignal, end_ns: int) -> list[Release]:
    """The times that the stick was let go and came back by itself; the last one is followed by the calm stretch."""
    found, _ = releases(signal.t_ns, signal.x_pct, signal.y_pct, end_ns, precise=False)
    return [one for one in found if not one.guided]


def _hidden(signal: StickSignal, free: list[Release]) -> bool:
    """Whether the firmware hides what lies near the middle."""
    settled = np.array([(one.x, one.y) for one in free], dtype=np.float64).reshape(-1, 2)
    step = max(signal.x_step_pct, signal.y_step_pct)
    return hidden_zone(signal.x_pct, signal.y_pct, settled, step) is not None


def _middle(signal: StickSignal, calm: _Calm, free: list[Release], rests_at: tuple[float, float]) -> Middle:
    """Where it rests on the mean of the flicks; without any, where it lies now."""
    return middle(*_places(signal, calm, free, rests_at))


def _places(signal: StickSignal, calm: _Calm, free: list[Release], rests_at: tuple[float, float]) -> tuple[F64, F64]:
    """Where it came to rest after each flick: float[n] the bearing that it came from, float[n, 2] the place in %.
    Without a flick where it lies now, whichever side it came from."""
    if not free:
        return np.array([math.nan]), np.array([rests_at])
    last = free[-1]
    seen = [one for one in free[:-1] if not one.moving]
    (just_before, just_after), touched = _after(signal, last), calm.begin_ns > last.left_ns + TOUCHED_NS
    still_coming = math.dist(just_before, just_after) > STILL_COMING_PCT
    ends_at = just_after if touched and not still_coming else rests_at
    points = np.array([*((one.x, one.y) for one in seen), ends_at], dtype=np.float64)
    return np.array([one.from_deg for one in (*seen, last)]), points


def _after(signal: StickSignal, one: Release) -> tuple[tuple[float, float], tuple[float, float]]:
    """Where the stick was at two times after it was let go, before a hand can be there again."""
    edges = pairwise(one.left_ns + after for after in AFTER_NS)
    just_before, just_after = (
        (held.window_mean(signal.t_ns, signal.x_pct, a, b), held.window_mean(signal.t_ns, signal.y_pct, a, b))
        for a, b in edges
    )
    return just_before, just_after


def _touched_again(signal: StickSignal, last: Release, rests_at: tuple[float, float]) -> bool:
    """Whether the stick now lies aside of where it came back to, and not because it was still on its way back then."""
    just_before, just_after = _after(signal, last)
    aside = math.dist(rests_at, just_after)
    return aside > AWAY_PCT and math.dist(just_before, just_after) < 0.5 * aside


def _trembles(readings: tuple[Reading, ...], signal: StickSignal, begin_ns: int, end_ns: int) -> bool:
    """Whether noise that does not pass is a hand's tremor."""
    for axis, values in (("x", signal.x_pct), ("y", signal.y_pct)):
        mine = [r for r in readings if r.name in (f"noise_rms_{axis}", f"noise_pp_{axis}")]
        doubtful = any(reading_outcome(r) in (Outcome.FAIL, Outcome.BORDERLINE) for r in mine)
        if doubtful and hand_share(signal.t_ns, values, begin_ns, end_ns) >= HAND_SHARE:
            return True
    return False


def _readings(x: AxisRest, y: AxisRest, rests: Middle, steps: tuple[float, float]) -> tuple[Reading, ...]:
    n = rests.n
    by_x, flat_x = rounding(steps[0], rests.range_x, n)
    by_y, flat_y = rounding(steps[1], rests.range_y, n)
    u_x, u_y = combined(x.u_mean, rests.u_x, by_x), combined(y.u_mean, rests.u_y, by_y)
    u_offset = distance_uncertainty(rests.x, rests.y, u_x, u_y, (flat_x, flat_y))
    offset = math.hypot(rests.x, rests.y)
    out = [
        Reading("offset", offset, "%", u_offset, n=n),
        Reading("offset_x", rests.x, "%", half_width(u_x, flat_x), n=n),
        Reading("offset_y", rests.y, "%", half_width(u_y, flat_y), n=n),
    ]
    if offset > u_offset:
        angle_u = math.degrees(math.asin(min(1.0, u_offset / offset)))
        out.append(Reading("offset_angle", bearing_deg(rests.x, rests.y), "°", angle_u, n=n))
    else:
        out.append(Reading("offset_angle", None, "°", reason=words.REST_NO_ANGLE))
    for axis, rest in (("x", x), ("y", y)):
        out.append(Reading(f"noise_rms_{axis}", rest.rms, "%", expanded(rest.u_rms), n=round(rest.n_rms)))
    for axis, rest in (("x", x), ("y", y)):
        out.append(Reading(f"noise_pp_{axis}", rest.pp, "%", expanded(rest.u_pp), n=round(rest.n)))
    return tuple(out)


def _findings(readings: tuple[Reading, ...], control: Control | None) -> tuple[Finding, ...]:
    found = []
    by_name = {r.name: r for r in readings}
    if out_of_limit(by_name["offset"]):
        angle = by_name["offset_angle"]
        x, y = by_name["offset_x"].value or 0.0, by_name["offset_y"].value or 0.0
        params = {"offset": by_name["offset"]} | ({} if angle.value is None else {"angle": angle})
        found.append(finding("offset", control, params, axis=_main_axis(x, y), direction=angle.value))
    for axis in AXES:
        rms, pp = by_name[f"noise_rms_{axis}"], by_name[f"noise_pp_{axis}"]
        if out_of_limit(rms):
            found.append(finding("noise", control, {"rms": rms}, axis=axis))
        elif out_of_limit(pp):
            found.append(finding("noise", control, {"noise": pp}, axis=axis))
    return tuple(found)


def _main_axis(x: float, y: float) -> Axis | None:
    """The axis that carries the offset; None when both carry a good part of it."""
    if abs(x) > 2.0 * abs(y):
        return "x"
    return "y" if abs(y) > 2.0 * abs(x) else None
