"""Link: move a stick for ten seconds while flexing the cable or walking off."""

from __future__ import annotations

import math

import numpy as np

from station.checks.base import again, counted, decimals, finding
from station.checks.decide import judged, outcome_of, reading_outcome
from station.checks.looked import NOTHING, Looked, Spot
from station.checks.types import (
    Assessment,
    Description,
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
from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS, NS_PER_S, Bool
from station.measure.interval import GAP_MS, Intervals, intervals
from station.measure.latency import Estimate, Latency
from station.measure.means import least_change
from station.measure.period import arrivals, link_period_ns
from station.measure.steps import poll_interval
from station.measure.uncertainty import expanded, resolution
from station.sheets.model import Control, Sheet
from station.sheets.power import power_of
from station.sheets.signals import StickSignal, TriggerSignal
from station.words import checks as words
from station.words import figures, grammar, unseen
from station.words import looked as seen

FULL_NS = 10 * NS_PER_S
ENOUGH_NS = 8 * NS_PER_S
FLEXED_S = 5.0
"""of the ten seconds, where another check made the first of them: a plug that loses contact once a second while the
cable is flexed does so in that time in 99 of 100 tries (1 − e⁻⁵)"""
MOVING_SHARE = 0.6
"""share of the time in which something has to move"""
AROUND_NS = 150 * NS_PER_MS
MOVED_PCT = 1.5
JUMP_PCT, JUMP_STEPS = 3.0, 3.0
"""a silence of a device that reports on change is a gap if the value jumped over it by this much, and by this many
times its usual step: a hand that starts again after a pause starts gently"""
REPEATED_SHARE = 0.05
"""a device that says this share of its reports twice also reports when nothing changes"""
ALIKE_SHARE, ALIKE_STEPS = 0.01, 1.01
"""where no value goes on by more than one of its steps from one report to the next in no more than so many of them, two
polls hardly ever find the same"""
STEPS = 2.0
"""codes: over so few a device that reports on change had nothing to say before"""
SURE_CODES, NOISE_HOLDS = 1.25, 4.2
"""a value that goes on by so many codes from poll to poll, and as many times its noise (three standard deviations of a
difference), is at another code each time"""
LEAP = 4.0
AROUND_POLLS, AROUND_LEAST_NS = 5.0, 10 * NS_PER_MS
"""its speed is that of so long before and after"""
SKIPPED = 1.5
"""periods: a longer interval leaves out a report, a shorter one is a period with its jitter"""
SLACK_NS = 50 * NS_PER_MS
SLICE_NS = 200 * NS_PER_MS


class Link:
    """Regularity of the reports, gaps in them while something moves, disconnects."""

    name = "link"
    title = words.LINK
    about = Description(
        kinds=(),
        unseen=unseen.LINK,
        readings=(
            ReadingKind("interval_median", words.LINK_INTERVAL_MEDIAN, "ms", 1, limit="interval_median"),
            ReadingKind("interval_p99", words.LINK_INTERVAL_P99, "ms", 1),
            ReadingKind("longest", words.LINK_LONGEST, "ms", 1),
            ReadingKind("wait_mean", words.LINK_WAIT_MEAN, "ms", 1, noted=True),
            ReadingKind("wait_most", words.LINK_WAIT_MOST, "ms", 1),
            ReadingKind("wait_extra", words.LINK_WAIT_EXTRA, "ms", 1, limit="wait_extra"),
            ReadingKind("over_radio", words.LINK_OVER_RADIO, noted=True, unseen=unseen.LINK_OVER),
            ReadingKind("gaps", words.LINK_GAPS, limit="gaps", unseen=unseen.LINK_GAPS),
            ReadingKind("disconnects", words.LINK_DISCONNECTS, limit="disconnects", unseen=unseen.LINK_GAPS),
            ReadingKind("battery", words.LINK_BATTERY, "%", 0, unseen=unseen.LINK_CELL),
            ReadingKind("charging", words.LINK_CHARGING, unseen=unseen.LINK_CELL),
            ReadingKind("fully_charged", words.LINK_FULLY_CHARGED, unseen=unseen.LINK_CELL),
            ReadingKind("powered", words.LINK_POWERED, unseen=unseen.LINK_CELL),
        ),
        findings=(
            FindingKind("gaps", words.GAPS, {"gaps": counted(words.GAP), "longest": decimals(0)}),
            FindingKind("disconnect", words.DISCONNECT, {"times": counted(grammar.TIME)}),
            FindingKind("slow_rate", words.SLOW_RATE, {"interval": "interval_median"}),
            FindingKind("irregular", words.IRREGULAR, {"wait": "wait_mean", "most": "wait_most"}),
        ),
        unplug_counts=True,
        grip="sticks",
        then_do=words.LINK_THEN,
        then_s=FLEXED_S,
        pictures=("intervals", "time"),
        looked=lambda take, limits: _looked(take),
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is None and any(c.kind in ("stick", "trigger") for c in sheet.controls)

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.LINK_DO, words.LINK_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        if len(take.report_t_ns) == 0:
            return Progress(False, words.WAITING)
        moved_ns = _moving_ns(take)
        if moved_ns >= MOVING_SHARE * FULL_NS and take.end_ns - take.begin_ns >= FULL_NS - SLACK_NS:
            return Progress(True, "", 1.0)
        wanted = max(FULL_NS - (take.end_ns - take.begin_ns), int(MOVING_SHARE * FULL_NS) - moved_ns)
        left = max(1, math.ceil(wanted / NS_PER_S))
        return Progress(False, words.LINK_MORE.format(seconds=left), min(1.0, 1.0 - wanted / FULL_NS))

    def assess(self, take: Take, limits: Limits) -> Assessment:
        if len(take.report_t_ns) < 2 and not take.disconnects_ns:
            return again(words.LINK_NOTHING)
        if not take.disconnects_ns:
            if take.end_ns - take.begin_ns < ENOUGH_NS:
                return again(words.LINK_TEN_SECONDS)
            if _moving_ns(take) < MOVING_SHARE * ENOUGH_NS:
                return again(words.LINK_ALL_THE_TIME)
        stats = _intervals(take)
        if take.lost and len(stats.gap_ms):
            return again(words.LINK_LOST)
        told = _link_readings(take.bus) + _power_readings(take)
        readings = judged(self.name, _readings(stats, len(take.disconnects_ns)), limits) + told
        had = [r for r in readings if r.value is not None]  # a unit that went away before it moved has no interval
        return Assessment(outcome_of(had), readings, _findings(readings, stats, take))


def _positions(take: Take) -> list[tuple[I64, F64, float]]:
    """Every value that a hand can keep moving: times, values and the step between codes, both in %."""
    out: list[tuple[I64, F64, float]] = []
    for signal in take.signals.values():
        if isinstance(signal, StickSignal) and len(signal.t_ns):
            out.append((signal.t_ns, signal.x_pct, signal.x_step_pct))
            out.append((signal.t_ns, signal.y_pct, signal.y_step_pct))
        elif isinstance(signal, TriggerSignal) and len(signal.t_ns):
            out.append((signal.t_ns, signal.pct, signal.step_pct))
    return out


def _moving_ns(take: Take) -> int:
    """Time in which something moved, in slices of a fifth of a second."""
    edges = held.grid_ns(take.begin_ns, take.end_ns + 1, SLICE_NS)
    if len(edges) < 2:
        return 0
    moved = np.zeros(len(edges) - 1, dtype=bool)
    for t, values, _ in _positions(take):
        moved |= np.abs(np.diff(held.held_at(t, values, edges))) >= MOVED_PCT
    return int(moved.sum()) * SLICE_NS


def _intervals(take: Take) -> Intervals:
    """Intervals between the bursts of reports while something moves. A long one counts only if the value jumped over it
    or the hand moved on both sides of it: a device that reports on change is silent when the hand pauses, and that is
    no gap. In a shorter silence nothing may have waited, if there may have been nothing to report: where the value went
    on by no more than `STEPS` steps, or so slowly that not every poll found it changed. Such a silence may be as many
    polls, of the period or, where that does not show, as long as the closest reports are apart."""
    period = link_period_ns(take.report_t_ns)
    poll = period or poll_interval(take.report_t_ns)
    first = arrivals(take.report_t_ns, period)
    t, newest = take.report_t_ns[first], take.report_t_ns[np.append(first[1:], True)[: len(first)]]
    before = np.zeros(max(len(t) - 1, 0), dtype=bool)
    usual_ns = period or (float(np.median(np.diff(t))) if len(t) > 1 else poll)
    jumped, steps, sure, alike = before.copy(), np.zeros(len(before)), before.copy(), ~before
    for times, values, code in _positions(take):
        at = held.held_at(times, values, newest)
        earlier = held.held_at(times, values, t - AROUND_NS)
        before |= np.abs(at[:-1] - earlier[:-1]) >= MOVED_PCT
        step = np.abs(np.diff(at))
        usual = float(np.median(step[step > 0])) if (step > 0).any() else 0.0
        jumped |= step >= max(JUMP_PCT, JUMP_STEPS * usual)
        steps = np.maximum(steps, step / code)
        alike &= step <= ALIKE_STEPS * max(code, least_change(values))
        sure |= _changes_each_time(t, times, values, code, usual_ns)
    if _reports_when_still(take, take.report_t_ns):
        return intervals(t, before)
    spans = np.diff(t)
    long = spans > GAP_MS * NS_PER_MS
    if len(spans) == 0 or alike.mean() <= ALIKE_SHARE:
        return intervals(t, (before & ~long) | (jumped & long))
    had_nothing = ((steps <= STEPS) | ~sure) & ~long & (spans > SKIPPED * poll)
    polls = np.where(had_nothing, np.rint(spans / max(poll, 1.0)), 1.0).astype(np.int64)
    return intervals(t, (before & ~long) | (jumped & long), polls)


def _changes_each_time(t: I64, times: I64, values: F64, code: float, poll_ns: float) -> Bool:
    """bool[n − 1]: whether the value went on so fast about that interval that every poll finds another code."""
    around = int(max(AROUND_POLLS * poll_ns, AROUND_LEAST_NS))
    way = np.abs(held.held_at(times, values, t[1:] + around) - held.held_at(times, values, t[:-1] - around)) / code
    return np.asarray(
        way * poll_ns / (np.diff(t) + 2.0 * around) >= SURE_CODES + NOISE_HOLDS * _noise_codes(values / code)
    )


def _noise_codes(codes: F64) -> float:
    """Rms of the noise on a movement, in codes: of second differences, those of an even movement in codes left out
    (Sheppard); leaps of `LEAP` usual ones and more are cut short."""
    bends = np.abs(np.diff(codes, 2))
    if len(bends) == 0:
        return 0.0
    kept = np.minimum(bends, LEAP * max(float(np.median(bends)), 1.0))
    return math.sqrt(max(float(np.mean(kept**2)) / 6.0 - 1.0 / 12.0, 0.0))


def _reports_when_still(take: Take, t: I64) -> bool:
    """Whether the device also reports when nothing changes: a good part of its reports then repeat all values."""
    t = np.unique(t)  # of those that came together only the newest is seen
    if len(t) < 2:
        return False
    changed = np.zeros(len(t) - 1, dtype=bool)
    for times, values, _ in _positions(take):
        changed |= np.diff(held.held_at(times, values, t)) != 0
    return bool((~changed).mean() > REPEATED_SHARE)


def _looked(take: Take) -> Looked:
    if len(take.report_t_ns) < 2:
        return NOTHING
    stats = _intervals(take)
    gaps = [
        Spot("gaps", seen.SILENT_FOR.format(ms=figures.number(float(ms), 0)), int(end - ms * NS_PER_MS), int(end))
        for end, ms in zip(stats.gap_ends_ns, stats.gap_ms, strict=True)
    ]
    gone = [Spot("disconnect", seen.WENT_AWAY, at, at) for at in take.disconnects_ns]
    return Looked(spots=(*gaps, *gone))


def _readings(stats: Intervals, disconnects: int) -> tuple[Reading, ...]:
    counts = (
        Reading("gaps", float(len(stats.gap_ms)), "", n=stats.count),
        Reading("disconnects", float(disconnects), "", n=max(stats.count, 1)),
    )
    felt = stats.felt
    if felt is None:
        names = ("interval_median", "interval_p99", "wait_mean")
        return (*counts, *(Reading(name, None, "ms", reason=words.LINK_STILL) for name in names))
    found = (
        ("interval_median", Estimate(felt.median.value, 0.0)),  # what lies between its limits is borderline
        ("interval_p99", felt.p99),
        ("longest", Estimate(felt.longest, 0.0)),
        ("wait_mean", felt.wait_mean),
        ("wait_most", felt.wait_most),
        ("wait_extra", felt.extra),
    )
    said = {"wait_mean": _said(felt)}
    return (
        *counts,
        *(Reading(n, e.value, "ms", e.uncertainty, n=stats.count, reason=said.get(n, "")) for n, e in found),
    )


def _said(felt: Latency) -> str:
    """The wait in a sentence. It is kept with the reading, so it is written in one style, whatever the screen's is."""
    most, mean = (figures.number(e.value, 1, figures.PAPER) for e in (felt.wait_most, felt.wait_mean))
    return words.LINK_WAITS.format(most=most, mean=mean)


def _link_readings(bus: str) -> tuple[Reading, ...]:
    """Over which link it was measured; nothing where there is none, as for a simulated unit."""
    said = words.LINK_OVER.get(bus)
    return () if said is None else (Reading("over_radio", float(bus == "bluetooth"), "", n=1, reason=said),)


def _power_readings(take: Take) -> tuple[Reading, ...]:
    """What the unit says of its cell, by itself or when asked, only reported; nothing for a unit that says nothing."""
    power = power_of(take.sheet, take.signals).completed(take.told)
    found = []
    if power.level_pct is not None:
        u = expanded(resolution(power.step_pct))
        found.append(Reading("battery", power.level_pct, "%", u, n=1))
    elif power.reason:
        found.append(Reading("battery", None, "%", reason=power.reason))
    for name, said in (("charging", power.charging), ("fully_charged", power.full), ("powered", power.powered)):
        if said is not None:
            found.append(Reading(name, float(said), "", n=1))
    return tuple(found)


def _findings(readings: tuple[Reading, ...], stats: Intervals, take: Take) -> tuple[Finding, ...]:
    bad = {r.name: r for r in readings if reading_outcome(r) in (Outcome.FAIL, Outcome.BORDERLINE)}
    found = []
    if "gaps" in bad:
        found.append(finding("gaps", None, {"gaps": len(stats.gap_ms), "longest": float(stats.gap_ms.max())}))
    if "disconnects" in bad:
        found.append(finding("disconnect", None, {"times": len(take.disconnects_ns)}))
    if "interval_median" in bad:
        found.append(finding("slow_rate", None, {"interval": bad["interval_median"]}))
    if "wait_extra" in bad and not {"gaps", "disconnects"} & bad.keys():  # those say it already
        waits = {name: r for r in readings for name in ("wait_mean", "wait_most") if r.name == name}
        found.append(finding("irregular", None, {"wait": waits["wait_mean"], "most": waits["wait_most"]}))
    return tuple(found)
