"""Slow sweep: across each axis and back, three times."""

from __future__ import annotations

import numpy as np

from station.checks.axes import (
    AXES,
    WAITING,
    Axis,
    again,
    counted,
    dead_axis,
    dead_axis_assessment,
    never_reported,
    stick_signal,
)
from station.checks.decide import judged
from station.checks.tracks import (
    Track,
    track,
    track_assessment,
    track_findings,
    track_limits,
    track_readings,
    usual_report_ns,
)
from station.checks.types import Assessment, DueAfter, Limits, Progress, Prompt, Take
from station.measure.arrays import F64, I64
from station.measure.means import effective_step
from station.measure.passes import Pass, passes
from station.measure.states import PROGRESS_POINTS, thin
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal

PASSES = 6
END_PCT, END_SHARE = 65.0, 0.85
"""a pass runs from beyond this on one side to beyond it on the other (or this share of the farthest seen)"""
LEAST_END_PCT = 60.0
"""a stick that never went this far to either side was not swept across"""
_WORD = {"x": "left to right and back", "y": "up and down"}


class Sweep:
    """Spikes, reversals and missing codes along each axis."""

    name = "sweep"
    title = "Slow sweep"
    due_after: DueAfter = "its control"

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "stick"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(
            self.title,
            "Move slowly left to right and back three times, then down to up and back three times.",
            "About two seconds for each way, edge to edge.",
        )

    def progress(self, take: Take, limits: Limits) -> Progress:
        signal = stick_signal(take)
        if signal is None:
            return WAITING
        keep = thin(len(signal.t_ns), PROGRESS_POINTS)
        to_go = {axis: PASSES - len(_passes(signal.t_ns[keep], _values(signal, axis)[keep])) for axis in AXES}
        left = {axis: max(n, 0) for axis, n in to_go.items()}
        text = ", ".join(f"{_WORD[axis]}: {counted(n, 'pass', 'passes')} to go" for axis, n in left.items() if n)
        return Progress(not text, text, 1.0 - sum(left.values()) / (2.0 * PASSES))

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = stick_signal(take)
        if signal is None:
            return never_reported(take.control)
        dead = dead_axis(signal)
        if dead is not None and len(_passes(signal.t_ns, _values(signal, _other(dead)))) >= PASSES:
            return dead_axis_assessment(take.control, dead)
        found = {axis: _passes(signal.t_ns, _values(signal, axis)) for axis in AXES}
        short = [axis for axis in AXES if len(found[axis]) < PASSES]
        if short:
            return again(f"sweep slowly {' and '.join(_WORD[a] for a in short)}, edge to edge, three times")
        tracks = {axis: _track(signal, axis, found[axis], limits) for axis in AXES}
        readings = judged(self.name, (r for axis in AXES for r in track_readings(tracks[axis], f"_{axis}")), limits)
        findings = tuple(f for axis in AXES for f in track_findings(readings, tracks[axis], take.control, axis))
        return track_assessment(readings, findings, tuple(tracks.values()))


def _other(axis: Axis) -> Axis:
    return "y" if axis == "x" else "x"


def _values(signal: StickSignal, axis: Axis) -> F64:
    return signal.x_pct if axis == "x" else signal.y_pct


def _passes(t_ns: I64, values: F64) -> list[Pass]:
    low, high = np.quantile(values[thin(len(values), PROGRESS_POINTS)], (0.005, 0.995))
    if low > -LEAST_END_PCT or high < LEAST_END_PCT:
        return []
    return passes(t_ns, values, max(-END_PCT, END_SHARE * low), min(END_PCT, END_SHARE * high))


def _track(signal: StickSignal, axis: Axis, found: list[Pass], limits: Limits) -> Track:
    values = _values(signal, axis)
    x = axis == "x"
    step = effective_step(signal.x_code if x else signal.y_code, signal.x_step_pct if x else signal.y_step_pct)
    report_ns = usual_report_ns(signal.t_ns, found)
    return track(signal.t_ns, values, step, found, report_ns, *track_limits("sweep", limits))
