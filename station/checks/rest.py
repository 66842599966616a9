"""At rest: hands off for three seconds."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.checks.axes import AXES, Axis, never_reported, stick_signal, waiting
from station.checks.base import again, finding
from station.checks.decide import judged, outcome_of, reading_outcome
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
from station.measure.arrays import NS_PER_MS, NS_PER_S
from station.measure.centre import AxisRest, axis_rest, bearing_deg, distance_uncertainty
from station.measure.means import effective_step
from station.measure.tremor import hand_share
from station.measure.uncertainty import expanded
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal
from station.words import checks as words

FULL_NS = 3 * NS_PER_S
ENOUGH_NS = 2 * NS_PER_S
BIN_NS = 100 * NS_PER_MS
SLACK_NS = 20 * NS_PER_MS
HAND_SHARE = 0.6
"""share of the power below 14 Hz from which noise counts as tremor; sensor noise has about a tenth"""
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
        readings=(
            ReadingKind("offset", words.REST_OFFSET, "%", 1, limit="offset", parts=AXES),
            ReadingKind("offset_angle", words.REST_OFFSET_ANGLE, "°", 0),
            ReadingKind("noise_rms", words.REST_NOISE_RMS, "%", 2, parts=AXES),
            ReadingKind(
                "noise_pp", words.REST_NOISE_PP, "%", 1, limit="noise_pp", short=words.REST_NOISE_PP_SHORT, parts=AXES
            ),
        ),
        findings=(
            FindingKind(
                "offset",
                lambda params: words.OFFSET_TOWARDS if "angle" in params else words.OFFSET,
                {"offset": "offset", "angle": "offset_angle"},
            ),
            FindingKind("noise", words.NOISE, {"noise": "noise_pp"}),
        ),
        plot=Plot(_ring, _span),
        dial=Dial("rest", ring="offset", reading="offset", point=("offset_x", "offset_y")),
        due_after="any opening",
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
            return Progress(True, "", 1.0)
        left = max(1, math.ceil((FULL_NS - calm.length_ns) / NS_PER_S))
        return Progress(False, words.REST_MORE.format(seconds=left), share)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = stick_signal(take)
        if signal is None:
            return never_reported(take.control)
        calm = _calm_stretch(signal, take)
        if calm.length_ns < ENOUGH_NS:
            return again(words.REST_LAY_DOWN)
        begin = max(calm.begin_ns, calm.end_ns - FULL_NS)
        x = axis_rest(signal.t_ns, signal.x_pct, begin, calm.end_ns, effective_step(signal.x_code, signal.x_step_pct))
        y = axis_rest(signal.t_ns, signal.y_pct, begin, calm.end_ns, effective_step(signal.y_code, signal.y_step_pct))
        readings = judged(self.name, _readings(x, y), limits)
        if _trembles(readings, signal, begin, calm.end_ns):
            return again(words.REST_TREMBLES, readings)
        return Assessment(outcome_of(readings), readings, _findings(readings, take.control))


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


def _trembles(readings: tuple[Reading, ...], signal: StickSignal, begin_ns: int, end_ns: int) -> bool:
    """Whether noise that does not pass is a hand's tremor."""
    for axis, values in (("x", signal.x_pct), ("y", signal.y_pct)):
        pp = next(r for r in readings if r.name == f"noise_pp_{axis}")
        doubtful = reading_outcome(pp) in (Outcome.FAIL, Outcome.BORDERLINE)
        if doubtful and hand_share(signal.t_ns, values, begin_ns, end_ns) >= HAND_SHARE:
            return True
    return False


def _readings(x: AxisRest, y: AxisRest) -> tuple[Reading, ...]:
    n = round(min(x.n, y.n))
    u_offset = distance_uncertainty(x.mean, y.mean, x.u_mean, y.u_mean)
    offset = math.hypot(x.mean, y.mean)
    out = [
        Reading("offset", offset, "%", u_offset, n=n),
        Reading("offset_x", x.mean, "%", expanded(x.u_mean), n=round(x.n)),
        Reading("offset_y", y.mean, "%", expanded(y.u_mean), n=round(y.n)),
    ]
    if offset > u_offset:
        angle_u = math.degrees(math.asin(min(1.0, u_offset / offset)))
        out.append(Reading("offset_angle", bearing_deg(x.mean, y.mean), "°", angle_u, n=n))
    else:
        out.append(Reading("offset_angle", None, "°", reason=words.REST_NO_ANGLE))
    for axis, rest in (("x", x), ("y", y)):
        out.append(Reading(f"noise_rms_{axis}", rest.rms, "%", expanded(rest.u_rms), n=round(rest.n)))
    for axis, rest in (("x", x), ("y", y)):
        out.append(Reading(f"noise_pp_{axis}", rest.pp, "%", expanded(rest.u_pp), n=round(rest.n)))
    return tuple(out)


def _findings(readings: tuple[Reading, ...], control: Control | None) -> tuple[Finding, ...]:
    found = []
    by_name = {r.name: r for r in readings}
    if reading_outcome(by_name["offset"]) in (Outcome.FAIL, Outcome.BORDERLINE):
        angle = by_name["offset_angle"]
        x, y = by_name["offset_x"].value or 0.0, by_name["offset_y"].value or 0.0
        params = {"offset": by_name["offset"]} | ({} if angle.value is None else {"angle": angle})
        found.append(finding("offset", control, params, axis=_main_axis(x, y), direction=angle.value))
    for axis in AXES:
        pp = by_name[f"noise_pp_{axis}"]
        if reading_outcome(pp) in (Outcome.FAIL, Outcome.BORDERLINE):
            found.append(finding("noise", control, {"noise": pp}, axis=axis))
    return tuple(found)


def _main_axis(x: float, y: float) -> Axis | None:
    """The axis that carries the offset; None when both carry a good part of it."""
    if abs(x) > 2.0 * abs(y):
        return "x"
    return "y" if abs(y) > 2.0 * abs(x) else None
