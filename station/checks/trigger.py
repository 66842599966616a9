"""Trigger pull: slowly in and let go, three times."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.checks.axes import WAITING, again, control_name, counted, never_reported, place, span, trigger_signal
from station.checks.decide import judged, reading_outcome
from station.checks.sweep import track_assessment, track_findings, usual_report_ns
from station.checks.tracks import track, track_readings
from station.checks.types import Assessment, Finding, Limits, Outcome, Progress, Prompt, Reading, Take
from station.measure import held
from station.measure.arrays import F64, I64, NS_PER_MS
from station.measure.passes import Pass, passes
from station.measure.states import PROGRESS_POINTS, thin
from station.measure.uncertainty import expanded, resolution
from station.sheets.model import Control, Sheet
from station.sheets.signals import TriggerSignal

PULLS = 3
LOW_PCT, HIGH_PCT = 25.0, 65.0
LEAST_SPAN_PCT = 15.0
PLATEAU_NS = 60 * NS_PER_MS
LEAST_RELEASED_NS = 200 * NS_PER_MS
AGREE_PCT = 3.0


@dataclass(frozen=True, slots=True)
class _Ends:
    """Released and full value of each pull, %."""

    released: F64
    full: F64


class Trigger:
    """Released and full value of a trigger, and its track in between."""

    name = "trigger"
    title = "Trigger pull"

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "trigger"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(
            self.title, "Pull slowly to the stop, then let go; three times.", hint="About two seconds for each pull."
        )

    def progress(self, take: Take, limits: Limits) -> Progress:
        signal = trigger_signal(take)
        if signal is None:
            return WAITING
        keep = thin(len(signal.t_ns), PROGRESS_POINTS)
        t, v = signal.t_ns[keep], signal.pct[keep]
        pulls = _pulls(t, v)
        ends = _ends(signal, pulls, take, keep)
        left = max(PULLS - len(ends.released), 0)
        text = f"{counted(left, 'pull', 'pulls')} to go" if left else ""
        return Progress(not left, text, 1.0 - left / PULLS)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = trigger_signal(take)
        if signal is None:
            return never_reported(take.control)
        pulls = _pulls(signal.t_ns, signal.pct)
        ends = _ends(signal, pulls, take, slice(None))
        left = PULLS - len(ends.released)
        if left > 0:
            return again(f"pull to the stop and let go, {counted(left, 'pull', 'pulls')} to go")
        rising = [one for one in pulls if one.up]
        table = limits.get(self.name, {})
        one = track(
            signal.t_ns,
            signal.pct,
            signal.step_pct,
            rising,
            usual_report_ns(signal.t_ns, signal.pct, rising),
            table.get("largest_spike", (2.0, 5.0))[0],
            table.get("gap", (3.0, 8.0))[0],
        )
        readings = judged(self.name, (*_end_readings(ends, signal), *track_readings(one)), limits)
        if _full_unsure(readings, ends):
            return again(f"pull the {control_name(take.control)} right to its stop each time", readings)
        findings = (*_end_findings(readings, take.control), *track_findings(readings, one, take.control, None))
        return track_assessment(readings, findings, (one,))


def _pulls(t_ns: I64, values: F64) -> list[Pass]:
    """Pulls (up) and releases (down), told apart on the range that the trigger covered in this try."""
    if span(values) < LEAST_SPAN_PCT:
        return []
    low, high = float(values.min()), float(values.max())
    across = (high - low) / 100.0
    return passes(t_ns, values, low + LOW_PCT * across, low + HIGH_PCT * across)


def _ends(signal: TriggerSignal, pulls: list[Pass], take: Take, keep: slice) -> _Ends:
    """Full value of each pull and the value it came back to, for pulls that were let go long enough."""
    t, v = signal.t_ns[keep], signal.pct[keep]
    released, full = [], []
    for k, one in enumerate(pulls):
        if not one.up:
            continue
        down = next((p for p in pulls[k + 1 :] if not p.up), None)
        if down is None:
            continue
        again_ns = next((int(t[p.first]) for p in pulls[k + 1 :] if p.up), take.end_ns)
        let_go_ns = int(t[down.stop - 1])
        if again_ns - let_go_ns < LEAST_RELEASED_NS:
            continue
        full.append(held.best_mean(t, v, int(t[one.stop - 1]), int(t[down.stop - 1]), PLATEAU_NS)[0])
        released.append(0.0 - held.best_mean(t, -v, let_go_ns, again_ns, LEAST_RELEASED_NS // 2)[0])
    return _Ends(np.array(released), np.array(full))


def _end_readings(ends: _Ends, signal: TriggerSignal) -> tuple[Reading, ...]:
    u = expanded(resolution(signal.step_pct))
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
        text = f"{place(control)}: stands at {bad['released'].value:.1f} % when let go"
        found.append(Finding("rest_high", text))
    if "full" in bad:
        text = f"{place(control)}: reaches only {bad['full'].value:.1f} % when pulled"
        found.append(Finding("short_pull", text))
    return tuple(found)
