"""The try that is running: its check, its beats, how far it is, and its evidence as a file."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from station.bench.metronome import Metronome
from station.bench.stretch import Held, Stretch
from station.bench.types import Beat, BeatView, Step
from station.capture.file import write_capture
from station.checks.light import LightCheck, witness_of
from station.checks.types import Assessment, Check, Limits, Progress
from station.hid.types import ReportBlock
from station.records.clock import time_text
from station.sheets.bind import Binding
from station.sheets.power import Power
from station.sources.port import Source

PROGRESS_NS = 100_000_000
"""a running check is looked at ten times a second"""


class RunningTry:
    """One try at one check, from the key that starts it to its assessment."""

    def __init__(self, step: Step, check: Check, binding: Binding, limits: Limits, source: Source, held: Held) -> None:
        self.step = step
        self.progress: Progress | None = None
        self._check = check
        self._limits = limits
        self._source = source
        sheet = binding.sheet
        control = sheet.control(step.control) if step.control else None
        beats = check.prompt(control, sheet).beats_per_minute
        self.alone = isinstance(check, LightCheck) and check.alone
        witness = witness_of(control, sheet) if control is not None and beats and not self.alone else None
        before = held.block()
        lost = source.status().lost
        self.begin_ns = source.now_ns()
        self.stretch = Stretch(
            binding,
            control,
            witness.id if witness else None,
            self.begin_ns,
            lost,
            lost,
            [before] if len(before) else [],
        )
        self._metronome = Metronome(beats, self.begin_ns)
        self._count_in: list[int] = []
        self._looked_ns = self.begin_ns

    def add(self, block: ReportBlock) -> None:
        """Reports that arrived."""
        self.stretch.add(block)

    def beat_due(self, now_ns: int) -> Beat | None:
        """Give the beat that is due, if one is. Those of the count-in are not marked in the evidence."""
        at_ns = self._metronome.due(now_ns)
        if at_ns is None:
            return None
        if self._metronome.counting_in:
            self._count_in.append(at_ns)
            return Beat(at_ns, counted=False)
        self.stretch.beat(at_ns)
        return Beat(at_ns)

    def take_back(self, now_ns: int) -> bool:
        """Withdraw the last beat; False if there was none."""
        self._looked_ns = 0  # look again at once
        return self.stretch.take_back(now_ns)

    def look(self, now_ns: int) -> Progress | None:
        """How far the check is; None while it is too soon to look again."""
        if now_ns - self._looked_ns < PROGRESS_NS:
            return None
        self._looked_ns = now_ns
        self.progress = self._check.progress(self.stretch.take(now_ns), self._limits)
        return self.progress

    def over_the_caps(self, now_ns: int) -> bool:
        """True when it has run for longer than any check lasts."""
        return self.stretch.over_the_caps(now_ns)

    def assess(self, end_ns: int, told: Power) -> Assessment:
        """The check's verdict on everything up to `end_ns`; `told`: what the unit says of its cell.

        TypeError when the check gave none, which is a bug of its.
        """
        take = replace(self.stretch.take(end_ns), told=told, bus=self._source.info.bus)
        assessment = self._check.assess(take, self._limits)
        if not isinstance(assessment, Assessment):
            raise TypeError(f"{self._check.name} gave {type(assessment).__name__} for an assessment")
        return assessment

    def lost(self) -> int:
        """Reports lost while it ran."""
        return self.stretch.lost - self.stretch.lost_before

    def evidence(self, end_ns: int | None, wall_now: datetime) -> bytes:
        """The capture file of the try (`end_ns` None: it was cut short). CaptureError if what the source gave breaks a
        rule of the file."""
        age_us = (self._source.now_ns() - self.stretch.base_ns()) / 1000
        started_at = time_text(wall_now - timedelta(microseconds=age_us))
        return write_capture(self.stretch.capture(self.step, self._source.info, end_ns, started_at))

    def beat_views(self) -> tuple[BeatView, ...]:
        """The clicks of the count-in and the beats given so far, with what became of each."""
        marks = self.progress.marks.get("beats", ()) if self.progress else ()
        states = dict(marks) if isinstance(marks, tuple) else {}
        beats = (
            BeatView(beat.t_ns, "void" if beat.void else states.get(beat.t_ns, "waiting"))
            for beat in self.stretch.beats
        )
        return (*(BeatView(t_ns, "count-in") for t_ns in self._count_in), *beats)
