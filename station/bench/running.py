"""The tries that are running, one or several at once: their checks, their beats, how far they are, their evidence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from station.bench.metronome import Metronome, Tempo
from station.bench.stretch import Held, Stretch
from station.bench.types import Beat, BeatView, Step
from station.capture.file import write_capture
from station.checks.light import LightCheck, witness_of
from station.checks.types import Assessment, Check, Limits, Progress
from station.hid.types import ReportBlock
from station.measure.beats import BeatPress
from station.records.clock import time_text
from station.sheets.bind import Binding
from station.sheets.power import Power
from station.sources.port import Source

NOTICED_NS = 4_000_000_000
"""who takes a beat back does so within (common practice, no source)"""
PROGRESS_NS = 100_000_000
"""a running check is looked at ten times a second"""


def by_finger(check: Check) -> bool:
    """Whether the beats may follow the person: a mass is not lifted and set down that fast."""
    return not isinstance(check, LightCheck) or check.mass_g is None


class RunningTry:
    """One try at one check of one control, from the key that starts it to its assessment."""

    def __init__(self, step: Step, check: Check, stretch: Stretch, limits: Limits, bus: str) -> None:
        sheet = stretch.binding.sheet
        self.step = step
        self.progress: Progress | None = None
        self.control = sheet.control(step.control) if step.control else None
        self.alone = isinstance(check, LightCheck) and check.alone
        self.beats_per_minute = check.prompt(self.control, sheet).beats_per_minute
        self.by_finger = by_finger(check)
        self.goes_on_s = check.about.then_s
        twin = witness_of(self.control, sheet) if self.control and self.beats_per_minute and not self.alone else None
        self.witness = twin.id if twin else None
        self._check, self._stretch, self._limits, self._bus = check, stretch, limits, bus

    def look(self, now_ns: int) -> Progress:
        """How far the check is."""
        self.progress = self._check.progress(self._stretch.take(now_ns, self.control, self.witness), self._limits)
        return self.progress

    def assess(self, end_ns: int, told: Power) -> Assessment:
        """The check's verdict on everything up to `end_ns`; `told`: what the unit says of its cell.

        TypeError when the check gave none, which is a bug of its.
        """
        take = replace(self._stretch.take(end_ns, self.control, self.witness), told=told, bus=self._bus)
        assessment = self._check.assess(take, self._limits)
        if not isinstance(assessment, Assessment):
            raise TypeError(f"{self._check.name} gave {type(assessment).__name__} for an assessment")
        return assessment

    def beat_states(self) -> Mapping[int, str]:
        """What became of the beats, by their moments."""
        marks = self.progress.marks.get("beats", ()) if self.progress else ()
        return dict(marks) if isinstance(marks, tuple) else {}

    def answers(self) -> Sequence[BeatPress]:
        """The beats whose presses are over."""
        marks = self.progress.marks.get("answers", ()) if self.progress else ()
        return marks if isinstance(marks, tuple) else ()


class Running:
    """Tries that run at the same time under one prompt, on the same reports and beats.

    `tries`: by the index of their step; those that are over leave it.
    """

    def __init__(
        self,
        steps: Mapping[int, tuple[Step, Check]],
        binding: Binding,
        limits: Limits,
        source: Source,
        held: Held,
        tempo: Tempo | None = None,
    ) -> None:
        before, lost = held.block(), source.status().lost
        self._source = source
        self.begin_ns = source.now_ns()
        self.stretch = Stretch(binding, self.begin_ns, lost, lost, [before] if len(before) else [])
        bus = source.info.bus
        self.tries = {i: RunningTry(step, check, self.stretch, limits, bus) for i, (step, check) in steps.items()}
        asked = (c for one in self.tries.values() for c in (one.step.control, one.witness or one.step.control))
        self.controls = tuple(dict.fromkeys(asked))
        """those that were asked for ("": the whole unit) or are pressed along: a hand may be on one that is done"""
        self.together = len(self.tries) > 1
        """more than one began"""
        self._asked = max(one.beats_per_minute for one in self.tries.values())
        self._tempo = tempo if tempo is not None and all(one.by_finger for one in self.tries.values()) else Tempo()
        self._metronome = Metronome(self._tempo.of(self._asked), self.begin_ns, known=self._tempo.known)
        self._first = next(iter(self.tries.values())).step.check
        self._followed_ns: int | None = None
        """when the check that the others follow was complete"""
        self._count_in: list[int] = []
        self._looked_ns = self.begin_ns
        self._kept_since_ns: int | None = None
        """since when a verdict waits for the key that takes beats back"""

    @property
    def on_beats(self) -> bool:
        """Whether something is pressed on beats."""
        return self._asked > 0

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
        """Withdraw what nothing answered of late; or else the last beat; False if there was none.

        Who notices that a finger slipped needs a second or two until the key is down. The hand that goes there leaves
        the beats alone meanwhile, so two clicks lead in again.
        """
        for one in self.tries.values():  # what was not looked at yet
            one.look(now_ns)
        taken = [self.stretch.take_back(now_ns, at_ns) for at_ns in self._slipped(now_ns) or (None,)]
        if any(taken):
            self._metronome.lead_in(now_ns)
        self._looked_ns = 0  # look again at once
        return any(taken)

    def _slipped(self, now_ns: int) -> tuple[int, ...]:
        """The newest beat of the last seconds that no button answered; of twins all of them in a row, and those since
        the hand went to the key. Where a button is pressed without its twin nobody but the person knows who missed, so
        it is one only."""
        states = [one.beat_states() for one in self.tries.values()]
        vouched = all(one.witness for one in self.tries.values())
        unanswered = "neither" if vouched else "missed"
        found: list[int] = []
        away, reached = vouched, False
        for beat in reversed(self.stretch.beats):
            if now_ns - beat.t_ns > NOTICED_NS:
                break
            told = {one.get(beat.t_ns, "waiting") for one in states}
            if beat.void or (away and told == {"waiting"}):
                found += [] if beat.void else [beat.t_ns]
            elif told == {unanswered}:
                found.append(beat.t_ns)
                reached = reached or not away
                if not vouched:
                    break
            elif reached:
                break
            else:
                away = False
        slipped = any({one.get(t, "") for one in states} == {unanswered} for t in found)
        return tuple(found) if slipped else ()

    def look(self, now_ns: int) -> bool:
        """See how far the checks are; False while it is too soon to look again."""
        if now_ns - self._looked_ns < PROGRESS_NS:
            return False
        self._looked_ns = now_ns
        for one in self.tries.values():
            one.look(now_ns)
        self._follow()
        return True

    def _follow(self) -> None:
        """The beats go as fast as the person can follow; of twins the one that answers more tells."""
        followed = [one.answers() for one in self.tries.values() if one.by_finger]
        if self._asked and any(followed):
            best = max(followed, key=lambda beats: sum(beat.delay_ns is not None for beat in beats))
            self._metronome.go(self._tempo.follow(best, self._asked))

    def complete(self) -> tuple[int, ...]:
        """The indexes of the tries that need nothing more. While the hand may be on its way to the key that takes beats
        back nothing is judged, for as long as that takes."""
        done = tuple(i for i, one in self.tries.items() if self._is_complete(one))
        if not done or not self._may_take_back():
            self._kept_since_ns = None
            return done
        if self._kept_since_ns is None:
            self._kept_since_ns = self._looked_ns
        return () if self._looked_ns - self._kept_since_ns < NOTICED_NS else done

    def _may_take_back(self) -> bool:
        """Whether a beat of late was answered by neither button nor twin, so lately that the hand that slipped there
        may not have come to the key yet. It may well press on until it goes there."""
        states = [one.beat_states() for one in self.tries.values() if one.witness]
        for beat in reversed(self.stretch.beats) if states else ():
            if self._looked_ns - beat.t_ns >= NOTICED_NS:
                break
            if not beat.void and {one.get(beat.t_ns, "waiting") for one in states} == {"neither"}:
                return True
        return False

    def _is_complete(self, one: RunningTry) -> bool:
        if one.progress is None or not one.progress.complete:
            return False
        if one.step.check == self._first or not one.goes_on_s:
            return True
        since_ns = self._followed_ns
        return since_ns is not None and self._looked_ns - since_ns >= one.goes_on_s * 1e9

    def untouched(self) -> tuple[int, ...]:
        """The indexes of the tries that show nothing yet."""
        return tuple(i for i, one in self.tries.items() if one.progress is None or one.progress.share <= 0.0)

    def over_the_caps(self, now_ns: int) -> bool:
        """True when it has run for longer than any check lasts."""
        return self.stretch.over_the_caps(now_ns)

    def end(self, index: int) -> RunningTry:
        """That try is over."""
        ended = self.tries.pop(index)
        if self._followed_ns is None and all(one.step.check != self._first for one in self.tries.values()):
            self._followed_ns = self._source.now_ns()
        return ended

    def lost(self) -> int:
        """Reports lost while it ran."""
        return self.stretch.lost - self.stretch.lost_before

    def evidence(self, ended: RunningTry, end_ns: int | None, wall_now: datetime) -> bytes:
        """The capture file of a try (`end_ns` None: it was cut short). CaptureError if what the source gave breaks a
        rule of the file."""
        age_us = (self._source.now_ns() - self.stretch.base_ns()) / 1000
        started_at = time_text(wall_now - timedelta(microseconds=age_us))
        info = self._source.info
        return write_capture(self.stretch.capture(ended.step, ended.witness, info, end_ns, started_at))

    def beat_views(self, index: int) -> tuple[BeatView, ...]:
        """The clicks of the count-in and the beats given so far, with what became of each for that try."""
        one = self.tries.get(index)
        states = one.beat_states() if one is not None else {}
        beats = (
            BeatView(beat.t_ns, "void" if beat.void else states.get(beat.t_ns, "waiting"))
            for beat in self.stretch.beats
        )
        return (*(BeatView(t_ns, "count-in") for t_ns in self._count_in), *beats)
