"""One simulated unit worked through check by check, as at the bench.

A try that does not count ("again") is done again as it asks, at most `TRIES` times in all; the answer that counts is
that of the last one. The presses of a visit are taken together, and once they ask for it the button is pressed without
its twin, as the bench does (`LightCheck.going_on`). *Let go* goes on from the pushes of *full travel* with the four
corners, and *at rest* from both, so it compares where the stick lies with where it came back to within that try; what
does not come out so is done by itself.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
from truth_units import Drawn

from sample_units.make import sheet_of
from station.bench.metronome import COUNT_IN, KNOWN_COUNT_IN, KNOWN_LEAD_NS, LEAD_NS, Tempo
from station.bench.watcher import Watcher
from station.checks.light import BEATS_PER_MINUTE, LightCheck
from station.checks.limits import limits_for, load_limits
from station.checks.registry import CHECKS
from station.checks.takes import take_between
from station.checks.types import Assessment, Check, Take
from station.hid.descriptor import parse_descriptor
from station.sheets.bind import bind
from station.sheets.model import Control, Sheet
from station.sources.simulated import SimulatedSource

NS = 1_000_000_000
TRIES = 4
"""tries at a check in all: after "again" for the fourth time a person leaves it undone (common practice, no source)"""
MOST_GOES = 3
"""goes at a movement before the person ends the try"""
MOST_BEATS = 75
FEWEST_BEATS = 3
HANDS_OFF_S = 3.0
"""with what the hand was off already when the try before ended, the three seconds that are asked for"""
LONGEST_TRY_S = 100.0
STEP_S = 1.0


@dataclass(frozen=True, slots=True)
class Done:
    """What became of a check: the last assessment, how many tries, and for a button what its contact did in the last
    one: time of the first tick and step in s, closed or open."""

    check: str
    control: str
    assessment: Assessment
    tries: int
    beats: int
    contact: tuple[float, float, np.ndarray] | None
    begin_s: float
    end_s: float


class Bench:
    """A unit on the bench."""

    def __init__(self, drawn: Drawn) -> None:
        self.drawn = drawn
        self.sheet: Sheet = sheet_of(drawn.spec.design)
        self.hand = drawn.hand()
        self.hand.repeats = False  # one go at a time; another one when it is not complete
        self.source = SimulatedSource(drawn.spec, self.hand, realtime=False)
        self._binding = bind(self.sheet, parse_descriptor(drawn.spec.design.descriptor))
        self._limits = limits_for(self.sheet, load_limits())
        self._watched = ""
        self._seen: list[tuple[float, float, np.ndarray]] = []
        self.source.unit.watch_contacts = self._watch
        self._watcher = Watcher(self._binding, 0)
        self._tempo = Tempo()
        self._begun = (0, 0)
        """when the last try began, and the report before it"""
        self._cursor = 0

    def visit(self, controls: tuple[str, ...], only: Collection[str] = ()) -> list[Done]:
        """Every check of the named controls ("" for the whole unit), contact first so that everything has moved; last
        what was watched all along. With `only`, these checks and nothing else."""
        done: list[Done] = []
        for check, control in [(check, c) for check in CHECKS for c in controls if self._applies(check, c)]:
            if (only and check not in only) or any((one.check, one.control) == (check, control) for one in done):
                continue
            follow = self._chain(check, control, only)
            done.append(self._work(follow[0], control, goes_on=len(follow) > 1))
            done += [self._going_on(name, control, last=name == follow[-1]) for name in follow[1:]]
        return done + [self._quiet()] * ("" in controls and not only)

    def glance(self, controls: Sequence[Control]) -> dict[str, Assessment]:
        """A first look at these controls, as one round: each is judged once it lacks nothing, the others again."""
        check, done = CHECKS["glance"], dict[str, Assessment]()
        left = {c.id: c for c in controls}
        begin_ns, cursor = self.source.now_ns(), max(self._cursor - 1, 0)
        for go in range(MOST_GOES):
            first, *also = left
            self.hand.ask("glance", first, None, "", 0, self.source.now_ns(), also=tuple(also))
            before = self.hand.goes_done
            while self.hand.goes_done == before:
                self.source.advance(STEP_S)
            for control in list(left.values()):
                take = self._take(control, begin_ns, cursor, (), None)
                if go == MOST_GOES - 1 or check.progress(take, self._limits).complete:
                    done[control.id] = check.assess(take, self._limits)
                    if not done[control.id].again:
                        del left[control.id]
            if not left:
                break
        self._feed()
        return done

    def _chain(self, check: str, control: str, only: Collection[str]) -> tuple[str, ...]:
        """The check with those that come before and after it in one movement of that control."""

        def done(name: str) -> bool:
            return bool(control) and self._applies(name, control) and (not only or name in only)

        leads = [c for c in CHECKS if done(c) and check in CHECKS[c].about.followed_by]
        lead = max(leads, key=lambda c: len(CHECKS[c].about.followed_by), default=check)
        return (lead, *filter(done, CHECKS[lead].about.followed_by))

    def _going_on(self, name: str, control_id: str, *, last: bool) -> Done:
        """A check that goes on from the last try of another: what it lacks, or the hands off. Where it does not come
        out so, it is tried by itself."""
        check, control = CHECKS[name], self.sheet.control(control_id)
        begin_ns, cursor = self._begun
        self._watcher.ask(self.source.now_ns(), name, (control_id,), running=True, hands_off=check.about.hands_off)
        if check.about.hands_off:
            self._let_go()
            self.source.advance(HANDS_OFF_S)
            self._feed()
            take = self._take(control, begin_ns, cursor, (), None)
        else:
            self.hand.ask(name, control_id, None, "", 0, self.source.now_ns())
            take = self._goes(check, control, begin_ns, cursor, None)
        self._watcher.ask(self.source.now_ns(), name, (control_id,), running=False)
        said = check.assess(take, self._limits)
        if last or said.again:
            self._let_go()
        if said.again:
            return self._work(name, control_id, goes_on=not last)
        return Done(name, control_id, said, 1, 0, None, begin_ns / NS, take.end_ns / NS)

    def _quiet(self) -> Done:
        now_ns = self.source.now_ns()
        self._feed()
        take = replace(self._take(None, now_ns, self._cursor, (), None), watched=self._watcher.watched(now_ns))
        return Done("quiet", "", CHECKS["quiet"].assess(take, self._limits), 1, 0, None, 0.0, now_ns / NS)

    def _feed(self) -> None:
        block, self._cursor = self.source.take(self._cursor, 1 << 30)
        self._watcher.add(block)
        self._watcher.look(self.source.now_ns())

    def _applies(self, check: str, control_id: str) -> bool:
        about = CHECKS[check].about
        if check in ("rumble", "charge", "look") or about.watches or about.left_alone or about.first_look:
            return False
        control = self.sheet.control(control_id) if control_id else None
        return CHECKS[check].applies(control, self.sheet)

    def _let_go(self) -> None:
        self.hand.rest(self.source.now_ns())
        self.source.advance(0.6)

    def _work(self, name: str, control_id: str, *, goes_on: bool = False) -> Done:
        control = self.sheet.control(control_id) if control_id else None
        done: list[Assessment] = []
        while True:
            self._watched = control_id if name in ("light", "hold") else ""
            self._seen.clear()
            check = CHECKS[name]
            if isinstance(check, LightCheck):
                check = check.going_on(done, self._limits)
            take = self._try(check, control)
            done.append(check.assess(take, self._limits))
            over = not done[-1].again or len(done) >= TRIES
            if not (over and goes_on):
                self._let_go()
            if over:
                break
        begin_s, end_s = take.begin_ns / NS, take.end_ns / NS
        if take.beats_ns:  # what was pressed in the count-in answers no beat
            begin_s = take.beats_ns[0] / NS - 0.5 * self._beat_s()
        return Done(name, control_id, done[-1], len(done), len(take.beats_ns), self._contact(), begin_s, end_s)

    def _contact(self) -> tuple[float, float, np.ndarray] | None:
        if not self._seen:
            return None
        return self._seen[0][0], self._seen[0][1], np.concatenate([closed for _, _, closed in self._seen])

    def _try(self, check: Check, control: Control | None) -> Take:
        """Until the check is complete, or the person gives up after a few goes."""
        self._feed()
        begin_ns, cursor = self.source.now_ns(), self._cursor
        self._begun = begin_ns, max(cursor - 1, 0)
        along = control is not None and isinstance(check, LightCheck) and not check.alone
        twin = control.twin if control is not None and along else None
        control_id = "" if control is None else control.id
        self.hand.ask(check.name, control_id, twin, "", round(60.0 / self._beat_s()), begin_ns)
        hands_off, asked = check.about.hands_off, (control_id, twin) if twin else (control_id,)
        if check.about.works_all:
            asked = tuple(c.id for c in self.sheet.controls)
        self._watcher.ask(begin_ns, check.name, asked, running=True, hands_off=hands_off)
        cut = (control, begin_ns, max(cursor - 1, 0), twin)  # one report more: it holds what was so at the beginning
        take = self._on_beats(check, *cut) if isinstance(check, LightCheck) else self._goes(check, *cut)
        self._feed()
        self._watcher.ask(self.source.now_ns(), check.name, asked, running=False)
        return take

    def _goes(self, check: Check, control: Control | None, begin_ns: int, cursor: int, twin: str | None) -> Take:
        """Look whether it is complete after each go; a contact or hat that shows nothing is ended after one."""
        most = 1 if check.name in ("contact", "hat") else MOST_GOES
        last_s = self.source.now_ns() / NS + LONGEST_TRY_S
        for _ in range(most):
            before = self.hand.goes_done
            while self.hand.goes_done == before and self.source.now_ns() / NS < last_s:
                self.source.advance(STEP_S)
            self._feed()
            take = self._take(control, begin_ns, cursor, (), twin)
            if check.progress(take, self._limits).complete:
                break
            self.hand.ask(check.name, "" if control is None else control.id, twin, "", 120, self.source.now_ns())
        return take

    def _on_beats(
        self, check: LightCheck, control: Control | None, begin_ns: int, cursor: int, twin: str | None
    ) -> Take:
        """Beats in the tempo that the hand keeps; look each time before the next one sounds."""
        beats: list[int] = []
        taken_back = 0
        known, beat_s = self._tempo.known, self._beat_s()
        self.source.advance((KNOWN_LEAD_NS if known else LEAD_NS) / NS + 0.2)
        for _ in range(KNOWN_COUNT_IN if known else COUNT_IN):
            self.hand.beat(self.source.now_ns())
            self.source.advance(beat_s)
        while True:
            beats.append(self.source.now_ns())
            self.hand.beat(beats[-1])
            self.source.advance(0.75 * beat_s)  # at three beats a second, too, it has noticed by then
            if self.hand.takes_back(self.source.now_ns()):
                beats.pop()
                taken_back += 1
            self.source.advance(0.25 * beat_s)
            self._feed()
            if len(beats) < FEWEST_BEATS:
                continue
            take = self._take(control, begin_ns, cursor, tuple(beats), twin, taken_back)
            progress = check.progress(take, self._limits)
            if len(beats) >= MOST_BEATS or progress.complete:
                return take
            answers = progress.marks["answers"]
            if isinstance(answers, tuple):
                beat_s = 60.0 / self._tempo.follow(answers, BEATS_PER_MINUTE)

    def _beat_s(self) -> float:
        return 60.0 / self._tempo.of(BEATS_PER_MINUTE)

    def _take(
        self,
        control: Control | None,
        begin_ns: int,
        cursor: int,
        beats: tuple[int, ...],
        twin: str | None,
        taken_back: int = 0,
    ) -> Take:
        block, _ = self.source.take(cursor, 1 << 30)
        return take_between(
            self.sheet,
            self._binding.signals(block),
            begin_ns,
            self.source.now_ns(),
            block.t_ns,
            control=control,
            beats_ns=beats,
            taken_back=taken_back,
            witness=twin,
        )

    def _watch(self, first_s: float, step_s: float, closed: dict[str, np.ndarray]) -> None:
        if self._watched:
            self._seen.append((first_s, step_s, closed[self._watched]))
