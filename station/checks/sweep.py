"""Slow sweep: across each axis and back, three times."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from station.checks.axes import (
    AXES,
    DEAD_AXIS,
    Axis,
    dead_axis,
    dead_axis_assessment,
    never_reported,
    stick_signal,
    waiting,
)
from station.checks.base import again
from station.checks.decide import judged
from station.checks.looked import NOTHING, Looked, between
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
from station.checks.types import Assessment, Description, Limits, Plot, Progress, Prompt, Take
from station.measure.arrays import F64, I64
from station.measure.means import effective_step
from station.measure.passes import Pass, passes
from station.measure.period import sampled_ns
from station.measure.states import PROGRESS_POINTS, thin
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal
from station.words import checks as words
from station.words import grammar, unseen
from station.words.grammar import listed, some

PASSES = 6
END_PCT, END_SHARE = 65.0, 0.85
"""a pass runs from beyond this on one side to beyond it on the other (or this share of the farthest seen)"""
LEAST_END_PCT = 60.0
"""a stick that never went this far to either side was not swept across"""


class Sweep:
    """Spikes, reversals and missing codes along each axis."""

    name = "sweep"
    title = words.SWEEP
    about = Description(
        kinds=("stick",),
        together="all",
        unseen=unseen.SPIKES,
        readings=track_kinds(AXES),
        findings=(*TRACK_FINDINGS, DEAD_AXIS),
        short=words.SWEEP_SHORT,
        plot=Plot(),
        pictures=("codes", "time", "path"),
        looked=lambda take, limits: _looked(take, limits),
    )

    def __init__(self, asked: int = PASSES, within: Sequence[tuple[int, int]] | None = None) -> None:
        """`asked`: how many passes of each axis; a first look asks for fewer, and knows the stretches (begin, end) in
        ns over which the stick was led, `within` one of which a pass has to lie."""
        self._asked = asked
        self._within = within

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "stick"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.SWEEP_DO, words.SWEEP_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        signal = stick_signal(take)
        if signal is None:
            return waiting()
        keep = thin(len(signal.t_ns), PROGRESS_POINTS)
        few = signal.t_ns[keep]
        to_go = {axis: self._asked - len(self._passes(few, _values(signal, axis)[keep])) for axis in AXES}
        left = {axis: max(n, 0) for axis, n in to_go.items()}
        text = grammar.COMMA.join(
            words.SWEEP_TO_GO.format(way=words.SWEEP_WAYS[axis], passes=some(n, words.PASS))
            for axis, n in left.items()
            if n
        )
        return Progress(not text, text, 1.0 - sum(left.values()) / (2.0 * self._asked))

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = stick_signal(take)
        if signal is None:
            return never_reported(take.control)
        dead = dead_axis(signal)
        if dead is not None and len(self._passes(signal.t_ns, _values(signal, _other(dead)))) >= self._asked:
            return dead_axis_assessment(take.control, dead)
        found = {axis: self._passes(signal.t_ns, _values(signal, axis)) for axis in AXES}
        short = [axis for axis in AXES if len(found[axis]) < self._asked]
        if short:
            return again(words.SWEEP_MISSING.format(ways=listed([words.SWEEP_WAYS[a] for a in short])))
        tracks = {axis: _track(signal, axis, found[axis], limits) for axis in AXES}
        readings = judged(self.name, (r for axis in AXES for r in track_readings(tracks[axis], f"_{axis}")), limits)
        findings = tuple(f for axis in AXES for f in track_findings(readings, tracks[axis], take.control, axis))
        return track_assessment(readings, findings, tuple(tracks.values()))

    def _passes(self, t_ns: I64, values: F64) -> list[Pass]:
        found = passes_across(t_ns, values)
        if self._within is None:
            return found
        spans = ((one, int(t_ns[one.first]), int(t_ns[one.stop - 1])) for one in found)
        return [one for one, begin, end in spans if any(a <= begin and end <= b for a, b in self._within)]


def _looked(take: Take, limits: Limits) -> Looked:
    signal = stick_signal(take)
    if signal is None or dead_axis(signal) is not None:
        return NOTHING
    found = {axis: passes_across(signal.t_ns, _values(signal, axis)) for axis in AXES}
    seen = [
        track_looked(
            _track(signal, axis, some, limits), signal.t_ns, _values(signal, axis), some, axis,
            track_limits("sweep", limits)[1],
        )
        for axis, some in found.items()
        if some
    ]  # fmt: skip
    parts = sorted((p for part, _ in seen for p in part), key=lambda p: p.begin_ns)
    spots = sorted((s for _, spot in seen for s in spot), key=lambda s: s.begin_ns)
    return Looked(tuple(between(parts, take.begin_ns, take.end_ns)), tuple(spots))


def _other(axis: Axis) -> Axis:
    return "y" if axis == "x" else "x"


def _values(signal: StickSignal, axis: Axis) -> F64:
    return signal.x_pct if axis == "x" else signal.y_pct


def passes_across(t_ns: I64, values: F64) -> list[Pass]:
    """The times that the stick went from one side to the other."""
    low, high = np.quantile(values[thin(len(values), PROGRESS_POINTS)], (0.005, 0.995))
    if low > -LEAST_END_PCT or high < LEAST_END_PCT:
        return []
    return passes(t_ns, values, max(-END_PCT, END_SHARE * low), min(END_PCT, END_SHARE * high))


def _track(signal: StickSignal, axis: Axis, found: list[Pass], limits: Limits) -> Track:
    values = _values(signal, axis)
    x = axis == "x"
    step = effective_step(signal.x_code if x else signal.y_code, signal.x_step_pct if x else signal.y_step_pct)
    t_ns = sampled_ns(signal.t_ns)
    report_ns = usual_report_ns(t_ns, found)
    return track(t_ns, values, step, found, report_ns, track_limits("sweep", limits), centred=True)
