"""Trigger pull: slowly in and let go, three times."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.checks.axes import never_reported, trigger_signal, waiting
from station.checks.base import again, finding, spoken
from station.checks.decide import judged, out_of_limit, reading_outcome
from station.checks.looked import NOTHING, Looked, Spot, between
from station.checks.tracks import (
    TRACK_FINDINGS,
    Track,
    track,
    track_assessment,
    track_findings,
    track_kinds,
    track_limits,
    track_looked,
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
from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS
from station.measure.arrival import Noise, arrival, movement_noise, noise_of
from station.measure.lateness import Lateness, lateness
from station.measure.means import NEIGHBOURS, SLOW_NS, code_at, effective_step
from station.measure.passes import passes
from station.measure.period import sampled_ns
from station.measure.placement import greatest_of, scatter_of_greatest
from station.measure.rail import RAIL_SHARE
from station.measure.states import PROGRESS_POINTS, runs, thin, two_state
from station.measure.steps import left_for_good
from station.measure.transition import GRID_NS, Plateau, hand_wobble, plateau
from station.measure.uncertainty import combined, expanded, half_width
from station.sheets.model import Control, Sheet
from station.sheets.shared import rests_in_the_middle, suspect
from station.sheets.signals import TriggerSignal
from station.words import checks as words
from station.words import looked as seen
from station.words import sheets as sheet_words
from station.words import unseen
from station.words.grammar import some

PULLS = 3
LOW_SHARE, HIGH_SHARE = 0.25, 0.65
LET_GO_SHARE = 0.55
"""below this share of its range a trigger is let go, wherever it may hang then"""
LEAST_SPAN_PCT = 15.0
PLATEAU_NS = 60 * NS_PER_MS
LEAST_RELEASED_NS = 200 * NS_PER_MS
AGREE_PCT = 3.0
FROM_SHARE, BACK_PCT = 0.8, 3.0
"""the return is timed from this share of the pull to within so much of where the trigger comes to rest at best"""
STILL_PCT, STILL_SHARE = 0.6, 0.5
"""a trigger that hangs stands still within this for this share of its return; a finger that leads it back does not"""
LIKE_SHARE = 0.3
"""returns that differ by no more than this share of the slowest are the trigger's own"""
WOBBLE_PCT = 0.25
"""a finger that rests on a trigger moves it by more than this (slow part, rms), as a hand that holds a stick does"""
LOOK_NS = NS_PER_MS
"""a plateau is looked at so often"""
FINGER_NS = 120 * NS_PER_MS
"""a slow pull has been on its way for so long when it has gone by a hundredth (an even jerk over a second: 10 (t/T)³;
common practice, no source)"""
OF_ONE = math.sqrt(6.0) * (1.0 - math.sqrt(0.05))
"""in place of k = 2 for a duration, an error that is triangular: 95 % lie within 1.90 standard uncertainties"""
RANGE_OF_THREE = 3.31
"""standard deviations: three alike values lie within it of each other in 95 of 100 cases (studentized range for known
scatter: Harter, Ann. Math. Stat. 31, 1960, 1122)"""
NEAR_RAIL_PCT = 1e-6
ALIKE_PCT = 1.0
"""both ends short by the same within this: the model's range, no fault"""


@dataclass(frozen=True, slots=True)
class _Ends:
    """Of each pull that was let go for long enough: released and full value, %; how long it took to come back, ms, and
    for what share of that it stood still; the finger's wobble where it was let go, rms in %.

    `u_released`, `u_full`: the standard uncertainty of each by its scatter, 0 for the end of the range, beyond which
    nothing is told; `codes_released`, `codes_full`: the half width of the even error that codes leave. `u_back_ms`: the
    standard uncertainty of the slowest return by its reports; `u_noise_ms`: that of each by noise, `slope_ms`: how long
    one % takes as it arrives; `u_lowest`: expanded uncertainty of the rest to which all of them are timed, %.
    """

    released: F64
    u_released: F64
    codes_released: F64
    full: F64
    u_full: F64
    codes_full: F64
    back_ms: F64
    still: F64
    wobble: F64
    u_back_ms: float
    u_noise_ms: F64
    slope_ms: F64
    u_lowest: float


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
        together="all",
        unseen=unseen.TRIGGER,
        readings=(
            ReadingKind("released", words.TRIGGER_RELEASED, "%", 1, limit="released"),
            ReadingKind("full", words.TRIGGER_FULL, "%", 1, limit="full"),
            ReadingKind("return_time", words.TRIGGER_RETURN_TIME, "ms", 0, limit="return_time"),
            *track_kinds(),
        ),
        findings=(
            FindingKind("rest_high", words.REST_HIGH, {"released": "released"}),
            FindingKind("short_pull", words.SHORT_PULL, {"full": "full"}),
            FindingKind("slow_return", words.SLOW_RETURN, {"back": "return_time"}),
            *TRACK_FINDINGS,
        ),
        short=words.TRIGGER_SHORT,
        plot=Plot(_ends_wanted, _whole_range),
        released_and_full=("released", "full"),
        due_after="any opening",
        pictures=("codes", "time"),
        looked=lambda take, limits: _looked(take, limits),
    )

    def __init__(self, pulls: int = PULLS) -> None:
        """`pulls`: how many it asks for; a first look asks for fewer."""
        self._pulls = pulls

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
        left = max(self._pulls - len(ends.released), 0)
        text = words.TO_GO.format(what=some(left, words.PULL)) if left else ""
        return Progress(not left, text, 1.0 - left / self._pulls)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = trigger_signal(take)
        if signal is None:
            return never_reported(take.control)
        if take.control == suspect(take.sheet) and rests_in_the_middle(
            signal.t_ns, signal.pct, take.begin_ns, take.end_ns
        ):
            return again(words.TRIGGER_TWO_IN_ONE.format(why=sheet_words.CANNOT_TELL_APART))
        step = effective_step(signal.code, signal.step_pct)
        ends = _ends(signal.t_ns, signal.pct, take.end_ns, step, lateness(signal.t_ns))
        left = self._pulls - len(ends.released)
        if left > 0:
            return again(words.TRIGGER_MISSING.format(pulls=some(left, words.PULL)))
        one = _track(signal, limits)
        readings = judged(self.name, (*_end_readings(ends), *track_readings(one)), limits)
        problem = _range(readings, signal, _twin_rests(take)) or _by_finger(readings, ends, one.step).format(
            who=spoken(take.control)
        )
        if problem:
            return again(problem, readings)
        if _full_unsure(readings, ends):
            return again(words.TRIGGER_TO_THE_STOP.format(who=spoken(take.control)), readings)
        findings = (*_end_findings(readings, take.control), *track_findings(readings, one, take.control, None))
        return track_assessment(readings, findings, (one,))


def _looked(take: Take, limits: Limits) -> Looked:
    signal = trigger_signal(take)
    if signal is None:
        return NOTHING
    found = [one for one in passes(signal.t_ns, signal.pct, *_levels(signal.pct)) if one.up]
    if not found:
        return NOTHING
    widest_ok = track_limits("trigger", limits)[1]
    parts, spots = track_looked(_track(signal, limits), signal.t_ns, signal.pct, found, None, widest_ok)
    ends = [Spot(code, text, *_at_end(signal, code), faulty=False) for code, text in _ENDS.items()]
    return Looked(between(parts, take.begin_ns, take.end_ns), (*spots, *ends))


_ENDS = {"rest_high": seen.LEAST_HERE, "short_pull": seen.MOST_HERE}


def _at_end(signal: TriggerSignal, code: str) -> tuple[int, int]:
    """When the trigger stood at the end of its travel that a finding speaks of, for the first time."""
    end = signal.pct.min() if code == "rest_high" else signal.pct.max()
    at = int(signal.t_ns[int(np.argmax(np.abs(signal.pct - end) <= ALIKE_PCT))])
    return at, at


def _track(signal: TriggerSignal, limits: Limits) -> Track:
    """The track as the slow pulls show it; the way back is the spring's and too fast."""
    found = [one for one in passes(signal.t_ns, signal.pct, *_levels(signal.pct)) if one.up]
    t_ns = sampled_ns(signal.t_ns)
    return track(
        t_ns,
        signal.pct,
        effective_step(signal.code, signal.step_pct),
        found,
        usual_report_ns(t_ns, found),
        track_limits("trigger", limits),
    )


def _levels(values: F64) -> tuple[float, float]:
    """Levels that tell a pull from a release, on the range that the trigger covered in this try."""
    low, high = float(values.min()), float(values.max())
    if high - low < LEAST_SPAN_PCT:
        return -math.inf, math.inf
    return low + LOW_SHARE * (high - low), low + HIGH_SHARE * (high - low)


def _ends(t_ns: I64, values: F64, end_ns: int, step: float = 0.0, late: Lateness | None = None) -> _Ends:
    """Ends and return of each pull, for pulls that were let go for long enough. `step`: resolution, %. Without `late`
    nothing is said of how well the time of a return is known: enough to see how far one has come."""
    low, high = _levels(values)
    let_go = low + (LET_GO_SHARE - LOW_SHARE) / (HIGH_SHARE - LOW_SHARE) * (high - low) if high < math.inf else low
    rise, fall = runs(two_state(values, let_go, high))
    found: list[tuple[int, int, Plateau, Plateau]] = []
    for k, (first, stop) in enumerate(zip(rise, fall, strict=True)):
        if stop >= len(values):
            break
        again_ns = int(t_ns[rise[k + 1]]) if k + 1 < len(rise) else end_ns
        let_go_ns = int(t_ns[stop])
        if again_ns - let_go_ns < LEAST_RELEASED_NS:
            continue
        top = plateau(t_ns, values, int(t_ns[first]), let_go_ns, PLATEAU_NS)
        bottom = plateau(t_ns, -values, let_go_ns, again_ns, PLATEAU_NS)
        found.append((int(stop), again_ns, top, bottom))
    tops = [_end(t_ns, values, top, 100.0) for _, _, top, _ in found]
    bottoms = [_end(t_ns, -values, bottom, 0.0) for _, _, _, bottom in found]
    released = np.array([0.0 - one.level for one in bottoms])
    u_released, codes_released = _pooled(bottoms), np.array([_rounded(one, step) for one in bottoms])
    lowest, u_lowest = _outermost(-released, u_released, codes_released) if found else (0.0, 0.0)
    u_full = _pooled(tops)
    noise = Noise(0.0)
    if late is not None:
        u_means = np.concatenate((u_released, u_full))
        noise = noise_of([one.about for one in (*bottoms, *tops)], u_means, movement_noise(values, 0.0, 100.0))
    back = [
        _way_back(t_ns, values, (stop, again, bottom.end_ns), (top.level, 0.0 - lowest, step), noise, late)
        for stop, again, top, bottom in found
    ]
    return _Ends(
        released,
        u_released,
        codes_released,
        np.array([one.level for one in tops]),
        u_full,
        np.array([_rounded(one, step) for one in tops]),
        np.array([one.ms for one in back]),
        np.array([one.still for one in back]),
        np.array([hand_wobble(t_ns, values, bottom.begin_ns, bottom.end_ns) for _, _, _, bottom in found]),
        max(back, key=lambda one: one.ms).u_ms if back else 0.0,
        np.array([one.u_noise_ms for one in back]),
        np.array([one.slope_ms for one in back]),
        u_lowest,
    )


@dataclass(frozen=True, slots=True)
class _Level:
    """Of one plateau: its level, and the values about it once each `LOOK_NS`, none at the end of the range; `cut`: the
    end of the range cuts them off, so that the level is their median."""

    level: float
    about: F64
    cut: bool = False


def _end(t_ns: I64, values: F64, flat: Plateau, rail_pct: float) -> _Level:
    """At the end of the range the value stood for so long that noise is cut off. Else the mean of the second half but
    for what a finger does that is on its way again: its last `FINGER_NS`, and what lies beyond three robust standard
    deviations (1.4826 MAD)."""
    begin_ns = (flat.begin_ns + flat.end_ns) // 2
    part = held.stretch(t_ns, begin_ns, flat.end_ns)
    hold = held.hold_s(t_ns[part], begin_ns, flat.end_ns)
    at_end = float(hold[values[part] >= rail_pct - NEAR_RAIL_PCT].sum())
    if at_end >= RAIL_SHARE * float(hold.sum()) > 0.0:
        return _Level(rail_pct, np.empty(0))
    end_ns = max(flat.end_ns - FINGER_NS, (begin_ns + flat.end_ns) // 2)
    looked = held.held_at(t_ns, values, held.grid_ns(begin_ns, max(end_ns, begin_ns + LOOK_NS), LOOK_NS))
    middle = float(np.median(looked))
    off = np.abs(looked - middle)
    codes = np.diff(np.unique(looked))
    step = float(codes.min()) if len(codes) else 0.0
    kept = looked[off <= max(3.0 * 1.4826 * float(np.median(off)), 1.5 * step)]
    cut = bool((kept >= rail_pct - NEAR_RAIL_PCT).any())
    level = middle if cut else float(kept.mean())
    return _Level(level, kept - level, cut)


def _pooled(levels: list[_Level]) -> F64:
    """Of each plateau of one end the standard uncertainty of its scatter; 0 at the end of the range.

    One sensor makes the noise of all of them, so its variance is pooled (JCGM 100:2008, 4.2.4): that of means over
    `SLOW_NS`, in which the slow part of the noise shows, widened for few of them as Student's t is (G.3.2) and because
    neighbours are alike (4.2.7).
    """
    size = SLOW_NS // LOOK_NS
    parts = [one.about[: len(one.about) // size * size].reshape(-1, size).mean(axis=1) for one in levels]
    degrees = sum(max(len(part) - 1, 0) for part in parts)
    squares = sum(float(((part - part.mean()) ** 2).sum()) for part in parts if len(part))
    if not degrees:
        return np.array([float(np.sqrt(np.mean(one.about**2))) if len(one.about) else 0.0 for one in levels])
    scatter = math.sqrt(squares / degrees * NEIGHBOURS) * (1.0 + 1.25 / degrees + 1.5 / degrees**2)
    by_median = np.array([math.sqrt(math.pi / 2.0) if one.cut else 1.0 for one in levels])
    count = np.array([len(one.about) / size for one in levels])
    return np.where(count > 0.0, by_median * scatter / np.sqrt(np.maximum(count, 1.0)), 0.0)


def _rounded(one: _Level, step: float) -> float:
    """Half width of the even error that codes of width `step` leave in a level.

    One code: half of it. Two: the place is near the edge between them, by as much as they are unlike in time. More, or
    nearly so: the mean of rounded normal values is off by (δ/π) exp(−2π²σ²/δ²) at most (the first harmonic of its
    characteristic function: Widrow & Kollár, *Quantization Noise*), σ² = s² − δ²/12 (Sheppard).
    """
    if one.cut or not len(one.about) or step <= 0.0:
        return step / 2.0
    span = round(float(np.ptp(one.about)) / step)
    if span == 0:
        return step / 2.0
    if span == 1:
        share = float((one.about > 0.0).mean())
        return abs(share - 0.5) * step
    variance = max(float(np.mean(one.about**2)) / step**2 - 1.0 / 12.0, 0.0)
    return step / math.pi * math.exp(-2.0 * math.pi**2 * variance)


@dataclass(frozen=True, slots=True)
class _Back:
    """A return, ms: how long it took, the standard uncertainty of that by its reports and by noise, how long it takes
    for one % as it arrives; and for what share of it the value stood still."""

    ms: float
    u_ms: float
    u_noise_ms: float
    slope_ms: float
    still: float


def _way_back(
    t_ns: I64,
    values: F64,
    free: tuple[int, int, int],
    levels: tuple[float, float, float],
    noise: Noise,
    late: Lateness | None,
) -> _Back:
    """From `FROM_SHARE` of the way to within `BACK_PCT` of the rest. `free`: the first entry of the release, when the
    next pull is seen, and when the value left its lowest place: until then a trigger that never comes back has taken,
    at least. `levels`: full, rest, and the width of a code."""
    stop, again_ns, left_ns = free
    full, rest, step = levels
    begin = left_for_good(-values, -(rest + FROM_SHARE * (full - rest)), stop)
    begin_ns = int(t_ns[begin])
    end = int(np.searchsorted(t_ns, again_ns))
    since_ns = (
        t_ns[:end] - begin_ns
    )  # so that a recording, whose clock began elsewhere, gives the same to the last digit
    there = arrival(since_ns, values[:end], rest + BACK_PCT, stop, noise, step)
    lasted_ns = float(max(left_ns - begin_ns, 0)) if there is None else max(there.ns, 0.0)
    arrived_ns = begin_ns + int(lasted_ns)
    last = there.index if there else max(int(np.searchsorted(t_ns, arrived_ns, side="right")) - 1, begin)
    u_ms = 0.0 if late is None else late.between_ns(t_ns, begin, last) / NS_PER_MS
    u_noise_ms, slope_ms = (there.u_ns / NS_PER_MS, there.slope_ns / NS_PER_MS) if there else (0.0, 0.0)
    moments = held.grid_ns(begin_ns, arrived_ns, GRID_NS)
    way = held.held_at(t_ns, values, moments)
    still = float((np.abs(way - float(np.median(way))) <= STILL_PCT).mean()) if len(way) > 1 else 0.0
    return _Back(lasted_ns / NS_PER_MS, u_ms, u_noise_ms, slope_ms, still)


def _end_readings(ends: _Ends) -> tuple[Reading, ...]:
    released, u_released = _outermost(ends.released, ends.u_released, ends.codes_released)
    full, u_full = _outermost(ends.full, ends.u_full, ends.codes_full)
    return (
        Reading("released", released, "%", u_released, n=len(ends.released)),
        Reading("full", full, "%", u_full, n=len(ends.full)),
        _slowest_return(ends),
    )


def _slowest_return(ends: _Ends) -> Reading:
    """The mean of the returns that are as slow as the slowest.

    The period cuts a duration down or up to whole ones, so returns that are alike lie a period apart as often as not,
    and the greatest of them is no measure of them. Where they do differ, their moments fell differently between the
    reports, and the mean of m is off by u/√m; where they do not, nothing says that they did, and the mean is off as one
    is: by the difference of two even errors, 95 % of which lie within √6 (1 − √0.05) u (JCGM 100:2008, 4.3.9).
    """
    u, ms = ends.u_back_ms, ends.back_ms
    near = ms >= ms.max() - RANGE_OF_THREE * combined(u, float(ends.u_noise_ms[np.argmax(ms)]))
    alike, u_noise = ms[near], _rms(ends.u_noise_ms[near])
    differ = u_noise > u or float(np.ptp(alike)) > u
    by_reports = expanded(u) / math.sqrt(len(alike)) if differ else OF_ONE * u
    by_noise, by_level = expanded(u_noise) / math.sqrt(len(alike)), _rms(ends.slope_ms[near]) * ends.u_lowest
    return Reading("return_time", float(alike.mean()), "ms", combined(by_reports, by_noise, by_level), n=len(ends.full))


def _rms(values: F64) -> float:
    return float(np.sqrt(np.mean(values**2)))


def _outermost(levels: F64, u: F64, codes: F64) -> tuple[float, float]:
    """The greatest of the plateaus and its expanded uncertainty. Of those that are alike the greatest is drawn outward,
    which is taken off, and scatters less than one. At the end of the range it has none."""
    k = int(np.argmax(levels))
    level, scatter = float(levels[k]), float(u[k])
    if level in (0.0, 100.0):
        return level, 0.0
    alike = int((levels >= level - expanded(scatter)).sum())
    return level - scatter * greatest_of(alike), half_width(scatter * scatter_of_greatest(alike), float(codes[k]))


def _twin_rests(take: Take) -> float | None:
    """The lowest that another trigger of the unit told in this try, %; None where there is none, or it was silent."""
    others = (one for key, one in take.signals.items() if take.control is None or key != take.control.id)
    lowest = [float(one.pct.min()) for one in others if isinstance(one, TriggerSignal) and len(one.t_ns)]
    return min(lowest, default=None)


def _range(readings: tuple[Reading, ...], signal: TriggerSignal, twin_rests: float | None) -> str:
    """What to say where both ends stop short by the same: no one fault does that, a model's range does, and then the
    other trigger does not get lower either. One that does shows that the range is wider: two faults are alike by
    chance."""
    values = {r.name: r for r in readings if r.name in ("released", "full") and reading_outcome(r) is not Outcome.PASS}
    if len(values) < 2:
        return ""
    low, high = values["released"].value or 0.0, values["full"].value or 0.0
    alike = max(ALIKE_PCT, 2.0 * signal.step_pct)
    if abs(low - (100.0 - high)) > alike or (twin_rests is not None and twin_rests < low - alike):
        return ""
    first, last = (round(code_at(signal.code, signal.pct, signal.step_pct, pct)) for pct in (low, high))
    return words.RANGE_SHORT.format(low=min(first, last), high=max(first, last))


def _by_finger(readings: tuple[Reading, ...], ends: _Ends, step: float) -> str:
    """Whether a finger explains what does not pass: one that rests on the trigger, or that leads it back."""
    bad = {r.name for r in readings if reading_outcome(r) not in (None, Outcome.PASS)}
    if "released" in bad and ends.wobble[int(np.argmax(ends.released))] > max(WOBBLE_PCT, 0.6 * step):
        return words.TRIGGER_FINGER_OFF
    slow = int(np.argmax(ends.back_ms))
    unlike = ends.back_ms.min() < (1.0 - LIKE_SHARE) * ends.back_ms.max()
    if "return_time" in bad and ends.still[slow] < STILL_SHARE and unlike:
        return words.TRIGGER_LET_GO
    return ""


def _full_unsure(readings: tuple[Reading, ...], ends: _Ends) -> bool:
    """A short pull that no second pull confirms may be the finger's."""
    full = next(r for r in readings if r.name == "full")
    if reading_outcome(full) in (None, Outcome.PASS):
        return False
    ordered = np.sort(ends.full)[::-1]
    return len(ordered) < 2 or bool(ordered[0] - ordered[1] > AGREE_PCT)


def _end_findings(readings: tuple[Reading, ...], control: Control | None) -> tuple[Finding, ...]:
    bad = {r.name: r for r in readings if out_of_limit(r)}
    found = []
    if "released" in bad:
        found.append(finding("rest_high", control, {"released": bad["released"]}))
    if "full" in bad:
        found.append(finding("short_pull", control, {"full": bad["full"]}))
    if "return_time" in bad:
        found.append(finding("slow_return", control, {"back": bad["return_time"]}))
    return tuple(found)
