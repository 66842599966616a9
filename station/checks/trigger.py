"""Trigger pull: slowly in and let go, three times."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.checks.axes import never_reported, trigger_signal, waiting
from station.checks.base import again, finding, spoken
from station.checks.decide import judged, reading_outcome
from station.checks.tracks import (
    TRACK_FINDINGS,
    Track,
    track,
    track_assessment,
    track_findings,
    track_kinds,
    track_limits,
    track_readings,
    usual_report_ns,
)
from station.checks.types import (
    Assessment,
    Description,
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
from station.measure.arrays import F64, I64, NS_PER_MS
from station.measure.means import effective_step
from station.measure.passes import passes
from station.measure.states import PROGRESS_POINTS, runs, thin, two_state
from station.measure.transition import plateau
from station.measure.uncertainty import combined, expanded, resolution
from station.sheets.model import Control, Sheet
from station.sheets.shared import rests_in_the_middle, suspect
from station.sheets.signals import TriggerSignal
from station.words import checks as words
from station.words import sheets as sheet_words
from station.words.grammar import some

PULLS = 3
LOW_SHARE, HIGH_SHARE = 0.25, 0.65
LEAST_SPAN_PCT = 15.0
PLATEAU_NS = 60 * NS_PER_MS
LEAST_RELEASED_NS = 200 * NS_PER_MS
AGREE_PCT = 3.0


@dataclass(frozen=True, slots=True)
class _Ends:
    """Released and full value of each pull, %; `u` the greatest standard uncertainty among them, resolution apart."""

    released: F64
    full: F64
    u: float


def _ends_wanted(limits: LimitTable) -> tuple[float, ...]:
    return limits["released"][0], limits["full"][0]


def _whole_range(limits: LimitTable) -> tuple[float, float]:
    return 0.0, 100.0


class Trigger:
    """Released and full value of a trigger, and its track in between."""

    name = "trigger"
    title = words.TRIGGER
    about = Description(
        kinds=("trigger",),
        readings=(
            ReadingKind("released", words.TRIGGER_RELEASED, "%", 1, limit="released"),
            ReadingKind("full", words.TRIGGER_FULL, "%", 1, limit="full"),
            *track_kinds(),
        ),
        findings=(
            FindingKind("rest_high", words.REST_HIGH, {"released": "released"}),
            FindingKind("short_pull", words.SHORT_PULL, {"full": "full"}),
            *TRACK_FINDINGS,
        ),
        short=words.TRIGGER_SHORT,
        plot=Plot(_ends_wanted, _whole_range),
        released_and_full=("released", "full"),
        due_after="any opening",
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "trigger"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.TRIGGER_DO, words.TRIGGER_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        signal = trigger_signal(take)
        if signal is None:
            return waiting()
        keep = thin(len(signal.t_ns), PROGRESS_POINTS)
        ends = _ends(signal.t_ns[keep], signal.pct[keep], take.end_ns)
        left = max(PULLS - len(ends.released), 0)
        text = words.TO_GO.format(what=some(left, words.PULL)) if left else ""
        return Progress(not left, text, 1.0 - left / PULLS)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = trigger_signal(take)
        if signal is None:
            return never_reported(take.control)
        if take.control == suspect(take.sheet) and rests_in_the_middle(
            signal.t_ns, signal.pct, take.begin_ns, take.end_ns
        ):
            return again(words.TRIGGER_TWO_IN_ONE.format(why=sheet_words.CANNOT_TELL_APART))
        ends = _ends(signal.t_ns, signal.pct, take.end_ns)
        left = PULLS - len(ends.released)
        if left > 0:
            return again(words.TRIGGER_MISSING.format(pulls=some(left, words.PULL)))
        one = _track(signal, limits)
        readings = judged(self.name, (*_end_readings(ends, one.step), *track_readings(one)), limits)
        if _full_unsure(readings, ends):
            return again(words.TRIGGER_TO_THE_STOP.format(who=spoken(take.control)), readings)
        findings = (*_end_findings(readings, take.control), *track_findings(readings, one, take.control, None))
        return track_assessment(readings, findings, (one,))


def _track(signal: TriggerSignal, limits: Limits) -> Track:
    """The track as the slow pulls show it; the way back is the spring's and too fast."""
    found = [one for one in passes(signal.t_ns, signal.pct, *_levels(signal.pct)) if one.up]
    return track(
        signal.t_ns,
        signal.pct,
        effective_step(signal.code, signal.step_pct),
        found,
        usual_report_ns(signal.t_ns, found),
        *track_limits("trigger", limits),
    )


def _levels(values: F64) -> tuple[float, float]:
    """Levels that tell a pull from a release, on the range that the trigger covered in this try."""
    low, high = float(values.min()), float(values.max())
    if high - low < LEAST_SPAN_PCT:
        return -math.inf, math.inf
    return low + LOW_SHARE * (high - low), low + HIGH_SHARE * (high - low)


def _ends(t_ns: I64, values: F64, end_ns: int) -> _Ends:
    """Full value of each pull and the value it came back to, for pulls that were let go for long enough."""
    rise, fall = runs(two_state(values, *_levels(values)))
    released, full, u = [], [], [0.0]
    for k, (first, stop) in enumerate(zip(rise, fall, strict=True)):
        if stop >= len(values):
            break
        again_ns = int(t_ns[rise[k + 1]]) if k + 1 < len(rise) else end_ns
        let_go_ns = int(t_ns[stop])
        if again_ns - let_go_ns < LEAST_RELEASED_NS:
            continue
        top = plateau(t_ns, values, int(t_ns[first]), let_go_ns, PLATEAU_NS)
        bottom = plateau(t_ns, -values, let_go_ns, again_ns, PLATEAU_NS)
        full.append(top.level)
        released.append(0.0 - bottom.level)
        u += [top.u, bottom.u]
    return _Ends(np.array(released), np.array(full), max(u))


def _end_readings(ends: _Ends, step: float) -> tuple[Reading, ...]:
    u = expanded(combined(resolution(step), ends.u))
    return (
        Reading("released", float(ends.released.max()), "%", u, n=len(ends.released)),
        Reading("full", float(ends.full.max()), "%", u, n=len(ends.full)),
    )


def _full_unsure(readings: tuple[Reading, ...], ends: _Ends) -> bool:
    """A short pull that no second pull confirms may be the finger's."""
    full = next(r for r in readings if r.name == "full")
    if reading_outcome(full) in (None, Outcome.PASS):
        return False
    ordered = np.sort(ends.full)[::-1]
    return len(ordered) < 2 or bool(ordered[0] - ordered[1] > AGREE_PCT)


def _end_findings(readings: tuple[Reading, ...], control: Control | None) -> tuple[Finding, ...]:
    bad = {r.name: r for r in readings if reading_outcome(r) in (Outcome.FAIL, Outcome.BORDERLINE)}
    found = []
    if "released" in bad:
        found.append(finding("rest_high", control, {"released": bad["released"]}))
    if "full" in bad:
        found.append(finding("short_pull", control, {"full": bad["full"]}))
    return tuple(found)
