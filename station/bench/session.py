"""A visit being worked through: a headless state machine that the window, the command line and tests share.

`tick` does all the work, in one thread. It takes reports at the session's own cursor, feeds the running check, gives
beats, ends a try when its check is complete, commits the result with its evidence, and only then tells of it.
Commands may come from any thread; the view is replaced as a whole.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import datetime

import numpy as np

from station.bench.checklist import Checklist
from station.bench.engine import Engine
from station.bench.plan import plan
from station.bench.strengths import at_strength
from station.bench.timekeeping import Clocks, Timekeeper
from station.bench.types import (
    Again,
    Answer,
    Choose,
    Command,
    Finish,
    Go,
    MarkByHand,
    Recorder,
    SessionView,
    Skip,
    Step,
    Strength,
    TakeBack,
    VisitFinished,
    VisitStarted,
)
from station.bench.vibrate import Vibrator
from station.capture.types import MAX_MASS_G
from station.checks.registry import CHECKS
from station.checks.takes import take_between
from station.checks.types import Assessment, Check, Limits, Outcome, Prompt
from station.errors import StationError
from station.hid.types import Layout
from station.judgement.limits import in_force
from station.records.clock import system_clock
from station.records.types import Unit, Visit
from station.sheets.bind import bind
from station.sheets.model import Sheet
from station.sheets.vibration import vibration_of
from station.sources.port import Source
from station.words import bench as words
from station.words import figures

ALL_DONE = Prompt(words.ALL_DONE, words.FINISH_WITH_KEY, words.OR_CHOOSE)


class Session(Engine):
    """One visit. Made in any thread (it starts the visit in the records); `tick` belongs to one thread."""

    def __init__(
        self,
        source: Source,
        sheet: Sheet,
        layout: Layout,
        unit: Unit,
        visit_kind: str,
        recorder: Recorder,
        *,
        checks: Mapping[str, Check] = CHECKS,
        limits: Limits | None = None,
        person: str = "",
        bench: str = "",
        resume: Visit | None = None,
        steps: Iterable[Step] | None = None,
        treatment_id: str | None = None,
        wall_clock: Callable[[], datetime] = system_clock,
        auto_go: bool = False,
        clocks: Clocks | None = None,
    ) -> None:
        """Start a visit, or go on with `resume`.

        `limits` are those in force (default: those that ship, with the sheet's own in place). `auto_go` starts each
        next step by itself after a pause. `clocks` tell when the computer slept or its clock was set.

        Raises:
            SheetError: the sheet does not fit the layout.
            RecordError: the visit could not be started or read; nothing has happened then.
        """
        binding = bind(sheet, layout)
        if limits is None:
            limits = in_force(sheet)
        earlier = recorder.results_of_visit(resume.id) if resume else ()
        chosen = tuple(steps) if steps is not None else plan(sheet, visit_kind, checks)
        visit = resume or recorder.start_visit(unit.id, visit_kind, person, bench, treatment_id)
        super().__init__(
            source, binding, checks, limits, recorder, Checklist(chosen, earlier), visit, wall_clock, auto_go
        )
        self.sheet = sheet
        self._motors = Vibrator(source, vibration_of(sheet, layout, source.info.descriptor))
        self._timekeeper = Timekeeper(clocks)
        self._unit = unit
        self._recorder = recorder
        self._finished = bool(visit.finished_at)
        self._commands: deque[Command] = deque()
        self._tell(VisitStarted(visit))
        self._current = len(chosen) - 1 if chosen else None
        self._settle_on(self._list.next_after(-1))
        self._view = self._picture()

    def do(self, command: Command) -> None:
        """Ask for something, from any thread; it happens in the next tick."""
        self._commands.append(command)

    def view(self) -> SessionView:
        """The visit as it stood after the last tick, for any thread."""
        return self._view

    def close(self) -> None:
        """The bench is closed: end the running try as interrupted and store what waits. For the thread that ticks.

        The visit itself stays open, so that it can be gone on with.
        """
        self.interrupt(words.BENCH_CLOSED)
        self._stop_motors(at_once=True)
        self._outbox.hurry()
        self._save()
        self._view = self._picture()

    @property
    def finished(self) -> bool:
        """True when the visit is over and everything is stored."""
        return self._finished

    def tick(self) -> None:
        """Do everything that is due now. Never waits for the device; a commit may wait for the disk."""
        if not self._finished:
            self._read()
            self._mind_the_clocks()
            self._watch()
            self._save()
            self._obey()
            self._run()
            self._drive_motors()
        if self._dirty:
            self._dirty = False
            self._view = self._picture()

    def _mind_the_clocks(self) -> None:
        """A check that the computer slept through is no fault of the unit: it is interrupted, the link check too."""
        noticed = self._timekeeper.look()
        if noticed.slept_ns:
            self.interrupt(words.SLEPT)
        if sentence := noticed.sentence():
            self.fault(sentence)

    # --- commands -----------------------------------------------------------------------------------

    def _obey(self) -> None:
        if self._outbox and any(isinstance(command, Go) for command in self._commands):
            others = [command for command in self._commands if not isinstance(command, Go)]
            self._commands.clear()
            self._commands.extend(others)
            self._outbox.hurry()  # the person asks: perhaps the disk has room again
            self._save()
        while self._commands and not self._outbox and not self._finished:
            command = self._commands.popleft()
            self._dirty = True
            if self._device == "live":
                self._message = ""
            self._carry_out(command)

    def _carry_out(self, command: Command) -> None:
        match command:
            case Go():
                self._go()
            case Choose(index):
                self._choose(index)
            case Again():
                self._do_again()
            case TakeBack():
                if self._try is not None:
                    self._try.take_back(self._source.now_ns())
            case Answer():
                self._answer(command)
            case MarkByHand(outcome, reason):
                readings = self._try.progress.readings if self._try and self._try.progress else ()
                self._by_hand(Assessment(outcome, readings), reason)
            case Skip(reason):
                self._by_hand(Assessment(Outcome.NOT_DONE), reason)
            case Finish():
                self._finish()
            case Strength():
                self._press_at(command)

    def _go(self) -> None:
        if self._try is not None:
            self._assess()
        elif self._current is None or self._all_done:
            self._finish()
        elif self._list.steps[self._current].person_answers:
            self.fault(words.SAY_PASS_OR_FAIL)
        else:
            self._start(self._current)

    def _choose(self, index: int) -> None:
        if not 0 <= index < len(self._list.steps) or (index == self._current and self._try is not None):
            return
        self.interrupt(words.OTHER_STEP_CHOSEN)
        self._again = ""
        self._settle_on(index)

    def _press_at(self, asked: Strength) -> None:
        """Make the press of that strength the current step, for the control at hand or the last one pressed."""
        like = next((s for s in self._at_hand() if s.strength is not None), None)
        if like is None:
            self.fault(words.CHOOSE_LIGHT_PRESS)
            return
        if asked.mass_g is not None and not 0 < asked.mass_g <= MAX_MASS_G:
            self.fault(words.MASS_OUT_OF_RANGE.format(most=figures.plain(MAX_MASS_G)))
            return
        self.interrupt(words.OTHER_STRENGTH_CHOSEN)
        if self._outbox:
            return
        self._again = ""
        self._settle_on(self._put(at_strength(like, asked.strength, asked.mass_g, offered=True)))

    def _at_hand(self) -> Iterable[Step]:
        """The steps of the control of the current step, then those of the control of the one done last."""
        for index in (self._current, self._last_done):
            if index is not None and self._list.steps[index].control:
                control = self._list.steps[index].control
                yield from (step for step in self._list.steps if step.control == control)

    def _do_again(self) -> None:
        self.interrupt(words.STARTED_AGAIN)
        target = self._current
        if target is None or not self._list.attempts(target):
            target = self._last_done if self._last_done is not None else target
        if target is not None and not self._outbox:
            self._start(target)

    def _answer(self, said: Answer) -> None:
        if self._current is None or not self._list.steps[self._current].person_answers:
            self.fault(words.NOTHING_ASKED)
            return
        now_ns = self._source.now_ns()
        nothing = np.zeros(0, np.int64)
        take = take_between(self.sheet, {}, now_ns, now_ns, nothing, answer=said.word, meter=said.meter)
        self._close(self._check(self._list.steps[self._current]).assess(take, self._limits))

    def _by_hand(self, assessment: Assessment, reason: str) -> None:
        if self._current is None or not reason.strip():
            self.fault(words.REASON_NEEDED)
            return
        self._restart_when_back = False
        self._close(assessment, by_hand=True, reason=reason.strip())

    def _finish(self) -> None:
        self.interrupt(words.VISIT_FINISHED)
        self._stop_motors()
        if self._outbox:
            self._commands.append(Finish())  # once the result is stored
            return
        try:
            self._visit = self._recorder.finish_visit(self._visit.id)
        except StationError as error:
            self.fault(words.STAYS_OPEN.format(error=error))
            return
        self._finished, self._current = True, None
        self._tell(VisitFinished(self._visit))

    def _picture(self) -> SessionView:
        steps, current = self._list.steps, self._current
        step = steps[current] if current is not None else None
        asked = step is not None and step.person_answers and not self._all_done and not self._outbox
        running = self._try is not None or asked
        return SessionView(
            unit=self._unit,
            visit=self._visit,
            steps=tuple(self._list.view(i, running and i == current) for i in range(len(steps))),
            current=-1 if current is None else current,
            running=running,
            prompt=None if self._finished else ALL_DONE if self._all_done or step is None else self._prompt(step),
            progress=self._try.progress if self._try else None,
            beats=self._try.beat_views() if self._try else (),
            again=self._again,
            device=self._device,
            message=self._message,
            finished=self._finished,
        )

    def _prompt(self, step: Step) -> Prompt:
        control = self.sheet.control(step.control) if step.control else None
        prompt = self._check(step).prompt(control, self.sheet)
        said = self._motors.said() if step.check == "rumble" else ""
        return replace(prompt, hint=f"{said} {prompt.hint}".rstrip()) if said else prompt

    # --- the motors of the rumble ask ---------------------------------------------------------------

    def _settle_on(self, index: int | None) -> None:
        self._stop_motors()
        super()._settle_on(index)
        if index is not None and self._list.steps[index].check == "rumble":
            self._motors.begin()

    def _drive_motors(self) -> None:
        """Switch them when it is time; a unit that went away has stopped them itself."""
        before = self._motors.said()
        try:
            self._motors.tick(self._source.now_ns(), live=self._device == "live")
        except StationError as error:
            self.fault(str(error))
        self._dirty |= self._motors.said() != before

    def _stop_motors(self, at_once: bool = False) -> None:
        """`at_once`: no tick will follow."""
        live = self._device == "live"
        try:
            self._motors.stop(live=live)
            if at_once:
                self._motors.wind_up(self._source.now_ns, live=live)
        except StationError as error:
            self.fault(str(error))
