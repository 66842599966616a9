"""A visit being worked through: a headless state machine that the window, the command line and tests share.

`tick` does all the work, in one thread. It takes reports at the session's own cursor, feeds the running check, gives
beats, ends a try when its check is complete, commits the result with its evidence, and only then tells of it.
Commands may come from any thread; the view is replaced as a whole.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from station.bench.bugs import tell_crash_hook
from station.bench.checklist import Checklist
from station.bench.engine import Engine
from station.bench.outbox import Outgoing
from station.bench.plan import plan
from station.bench.rounds import prompt_for
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.strengths import at_strength, long_form
from station.bench.timekeeping import Timekeeper
from station.bench.types import (
    Again,
    Answer,
    BeginSoon,
    ByItself,
    Choose,
    Command,
    Event,
    Finish,
    Go,
    Hold,
    LongForm,
    MarkByHand,
    NotSeen,
    ReadAgain,
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
from station.checks.ask import LOOK, looked_over
from station.checks.takes import take_between
from station.checks.types import Assessment, Check, Outcome, Prompt
from station.errors import StationError
from station.judgement.claimed import LookState, at_first_look
from station.judgement.limits import in_force
from station.records.types import FIRST_LOOK
from station.sheets.model import Control
from station.sheets.vibration import vibration_of
from station.words import bench as words
from station.words import figures

ALL_DONE = Prompt(words.ALL_DONE, words.FINISH_WITH_KEY, words.OR_CHOOSE)


class Session:
    """One visit. Made in any thread (it starts the visit in the records); `tick` belongs to one thread."""

    def __init__(self, on_bench: UnitOnBench, todo: VisitPlan, setup: BenchSetup) -> None:
        """Start a visit, or go on with the one that `todo` says.

        RecordError: the visit could not be started or read; nothing has happened then.
        """
        self._unit, self._source, self.sheet = on_bench.unit, on_bench.source, on_bench.binding.sheet
        self._recorder = setup.recorder
        self._limits = in_force(self.sheet) if setup.limits is None else setup.limits
        earlier = self._recorder.results_of_visit(todo.resume.id) if todo.resume else ()
        kind = todo.resume.kind if todo.resume else todo.kind
        chosen = plan(self.sheet, kind, setup.checks) if todo.steps is None else todo.steps
        self._list = Checklist(tuple(chosen), earlier)
        self._visit = todo.resume or self._recorder.start_visit(
            self._unit.id, kind, setup.person, setup.bench, todo.treatment_id
        )
        vibration = vibration_of(self.sheet, on_bench.binding.layout, self._source.info.descriptor)
        self._motors = Vibrator(self._source, vibration)
        self._timekeeper = Timekeeper(setup.clocks)
        self._finished = bool(self._visit.finished_at)
        self._commands: deque[Command] = deque()
        self._engine = Engine(on_bench, setup, self._limits, self._list, self._visit.id, self._move_motors)
        self._engine.tell(VisitStarted(self._visit))
        self._engine.begin()
        self._broken: set[str] = set()
        """the checks that could not say what to do; each is reported once"""
        self._dirty = False
        """true when the picture of the visit is out of date for a reason that the engine does not know"""
        self._view = self._picture()

    def do(self, command: Command) -> None:
        """Ask for something, from any thread; it happens in the next tick."""
        self._commands.append(command)

    def view(self) -> SessionView:
        """The visit as it stood after the last tick, for any thread."""
        return self._view

    def take_events(self) -> tuple[Event, ...]:
        """What happened since the last call, in order. For one consumer, in any thread."""
        return self._engine.take_events()

    def interrupt(self, reason: str) -> None:
        """End the running try as interrupted, with what came so far. For the thread that ticks."""
        self._engine.interrupt(reason)

    def fault(self, message: str) -> None:
        """Tell the person something that they must read."""
        self._engine.fault(message)

    def close(self) -> None:
        """The bench is closed: end the running try as interrupted and store what waits. For the thread that ticks.

        The visit itself stays open, so that it can be gone on with.
        """
        self.interrupt(words.BENCH_CLOSED)
        if not self._engine.waiting and not self._finished:
            self._engine.judge_at_the_end(passes=False)
        self._stop_motors(at_once=True)
        self._engine.hurry()
        self._view = self._picture()

    def left(self) -> tuple[Outgoing, ...]:
        """The results that could not be stored yet, oldest first."""
        return self._engine.left()

    @property
    def finished(self) -> bool:
        """True when the visit is over and everything is stored."""
        return self._finished

    def tick(self) -> None:
        """Do everything that is due now. Never waits for the device; a commit may wait for the disk."""
        if not self._finished:
            self._engine.read()
            self._mind_the_clocks()
            self._engine.watch()
            self._engine.save()
            self._obey()
            self._engine.run()
            if self._engine.ends_now:
                self._engine.wait()  # once: what the records refuse waits for the key
                self._finish()
            self._drive_motors()
        else:
            self._read_after_the_end()
        if self._engine.take_changed() or self._dirty:
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
        if self._engine.waiting and any(isinstance(command, Go) for command in self._commands):
            others = [command for command in self._commands if not isinstance(command, Go)]
            self._commands.clear()
            self._commands.extend(others)
            self._engine.hurry()  # the person asks: perhaps the disk has room again
        while self._commands and not self._engine.waiting and not self._finished:
            command = self._commands.popleft()
            self._dirty = True
            if not isinstance(command, Hold):
                self._engine.hush()
            self._carry_out(command)

    def _carry_out(self, command: Command) -> None:
        match command:
            case Go():
                self._go()
            case BeginSoon():
                self._engine.begin_soon()
            case Choose(index):
                self._choose(index)
            case Again():
                self._do_again()
            case TakeBack():
                if (running := self._engine.running) is not None:
                    running.take_back(self._source.now_ns())
            case Answer():
                self._answer(command)
            case NotSeen():
                if not self._engine.not_seen():
                    self.fault(words.NOTHING_ASKED)
            case MarkByHand(outcome, reason, of):
                progress = self._engine.along.get(self._control_of(of))
                readings = progress.readings if progress else ()
                self._by_hand(Assessment(outcome, readings), reason, of)
            case Skip(reason, of):
                self._by_hand(Assessment(Outcome.NOT_DONE), reason, of)
            case Finish():
                self._finish()
            case Strength():
                self._press_at(command)
            case LongForm():
                self._press_long()
            case ByItself(on):
                self._engine.by_itself = on
            case Hold(on):
                self._engine.hold(on)
            case ReadAgain(unit):
                self._unit = unit or self._unit
                self._read_again()

    def _go(self) -> None:
        engine = self._engine
        if engine.is_first:
            return
        if engine.begins or engine.ends or engine.just_begun:
            engine.wait()
        elif engine.running is not None:
            engine.assess(by_key=True)
        elif engine.current is None or engine.all_done:
            self._finish()
        elif self._list.steps[engine.current].person_answers:
            self.fault(words.SAY_PASS_OR_FAIL)
        else:
            engine.start(engine.current)

    def _choose(self, index: int) -> None:
        running = self._engine.running is not None
        if not 0 <= index < len(self._list.steps) or (index == self._engine.current and running):
            return
        if self._engine.look_at(index):
            return
        if self._engine.stopped:
            self.fault(words.STOPPED)
            return
        self.interrupt(words.OTHER_STEP_CHOSEN)
        self._engine.settle_on(index)

    def _read_again(self) -> None:
        """Take the tries as the records have them now; a step that has none any more that counts is the next one,
        unless another one runs."""
        done = [i for i in range(len(self._list.steps)) if self._list.counted(i) is not None]
        try:
            self._list.read(self._recorder.results_of_visit(self._visit.id))
        except StationError as error:
            self.fault(str(error))
            return
        open_again = next((i for i in done if self._list.counted(i) is None), None)
        if open_again is None or self._finished:
            return
        if self._list.steps[open_again].person_answers:
            self._engine.make_room(words.ASKED_AGAIN)
        if self._engine.running is None:
            self._engine.settle_on(open_again)

    def _read_after_the_end(self) -> None:
        """Of a visit that is over only what counts of it may change."""
        while self._commands:
            if isinstance(command := self._commands.popleft(), ReadAgain):
                self._dirty = True
                self._carry_out(command)

    def _press_at(self, asked: Strength) -> None:
        """Make the press of that strength the current step, for the control at hand or the last one pressed."""
        like = next((s for s in self._at_hand() if s.strength is not None), None)
        if like is None:
            self.fault(words.CHOOSE_LIGHT_PRESS)
            return
        if asked.mass_g is not None and not 0 < asked.mass_g <= MAX_MASS_G:
            self.fault(words.MASS_OUT_OF_RANGE.format(most=figures.plain(MAX_MASS_G)))
            return
        self._press_next(at_strength(like, asked.strength, asked.mass_g, offered=True))

    def _press_long(self) -> None:
        """Make the long form of the light press the current step, for the control at hand or the last one pressed."""
        like = next((s for s in self._at_hand() if s.strength is not None), None)
        if like is None:
            self.fault(words.CHOOSE_LIGHT_PRESS)
        else:
            self._press_next(long_form(like))

    def _press_next(self, step: Step) -> None:
        if self._engine.stopped:
            self.fault(words.STOPPED)
            return
        self.interrupt(words.OTHER_STRENGTH_CHOSEN)
        if not self._engine.waiting:
            self._engine.settle_on(self._engine.put(step))

    def _at_hand(self) -> Iterable[Step]:
        """The steps of the control of the current step, then those of the control of the one done last."""
        for index in (self._engine.current, self._engine.last_done):
            if index is not None and self._list.steps[index].control:
                control = self._list.steps[index].control
                yield from (step for step in self._list.steps if step.control == control)

    def _do_again(self) -> None:
        self.interrupt(words.STARTED_AGAIN)
        target, last = self._engine.current, self._engine.last_done
        if target is None or not self._list.attempts(target) or self._list.steps[target].watches:
            target = last if last is not None else target
        if target is not None and not self._engine.waiting:
            self._engine.start(target)

    def _answer(self, said: Answer) -> None:
        step = self._step()
        if step is None or not step.person_answers:
            self.fault(words.NOTHING_ASKED)
            return
        if said.of not in ("", step.check):
            return  # of the question before, which has its answer
        if self._engine.device == "lost" and self._engine.check(step).about.motors:
            self.fault(words.PLUG_IN_TO_ANSWER)
            return
        if said.sign and step.check == LOOK.name:
            self._engine.conclude(looked_over(said.sign))
            return
        now_ns = self._source.now_ns()
        nothing = np.zeros(0, np.int64)
        take = take_between(self.sheet, {}, now_ns, now_ns, nothing, answer=said.word, meter=said.meter)
        take = replace(take, told=self._engine.told)
        found = self._engine.check(step).assess(take, self._limits)
        if found.outcome is Outcome.NOT_DONE and not found.again:  # good by a look, where a measurement was asked for
            self._engine.conclude(found, by_hand=True, reason=words.LOOKED_AT)
        else:
            self._engine.conclude(found)

    def _control_of(self, of: tuple[str, str] | None) -> str:
        step = self._step()
        return of[1] if of is not None else step.control if step is not None else ""

    def _by_hand(self, assessment: Assessment, reason: str, of: tuple[str, str] | None) -> None:
        if self._step() is None or not reason.strip():
            self.fault(words.REASON_NEEDED)
            return
        index = next((i for i, s in enumerate(self._list.steps) if (s.check, s.control) == of), None)
        self._engine.conclude(assessment, index=index, by_hand=True, reason=reason.strip())

    def _finish(self) -> None:
        self.interrupt(words.VISIT_FINISHED)
        self._stop_motors()
        if not self._engine.waiting:
            self._engine.judge_at_the_end()
        if self._engine.waiting:
            self._commands.append(Finish())  # once the result is stored
            return
        try:
            self._visit = self._recorder.finish_visit(self._visit.id)
        except StationError as error:
            self.fault(words.STAYS_OPEN.format(error=error))
            return
        self._finished = True
        self._engine.tell(VisitFinished(self._visit))

    def _step(self) -> Step | None:
        """The current step; None once the visit is over."""
        current = self._engine.current
        return None if current is None or self._finished else self._list.steps[current]

    def _picture(self) -> SessionView:
        engine, step = self._engine, self._step()
        current = -1 if engine.current is None or step is None else engine.current
        asked = step is not None and step.person_answers and not engine.all_done and not engine.waiting
        running = engine.running is not None or asked
        together = engine.together
        return SessionView(
            unit=self._unit,
            visit=self._visit,
            steps=tuple(
                self._list.view(i, i in together or (running and i == current)) for i in range(len(self._list.steps))
            ),
            current=current,
            running=running,
            prompt=None if self._finished else ALL_DONE if engine.all_done or step is None else self._prompt(step),
            progress=engine.progress,
            beats=engine.running.beat_views(current) if engine.running else (),
            together=together if len(together) > 1 else (),
            along=engine.along,
            by_itself=engine.by_itself,
            begins=engine.begins or engine.ends,
            last=-1 if engine.last_done is None else engine.last_done,
            again=engine.again,
            device=engine.device,
            message=engine.message,
            finished=self._finished,
            claim=self._of_claim() if self._finished or engine.all_done else "",
            waits=engine.held_up,
        )

    def _of_claim(self) -> LookState:
        if self._visit.kind != FIRST_LOOK:
            return ""
        told = (self._list.counted(i) for i in range(len(self._list.steps)))
        return at_first_look(self._unit.claim, (r for r in told if r is not None), self.sheet)

    def _asked_for(self, step: Step) -> tuple[tuple[Control, ...], tuple[Check, ...]]:
        """The controls that are asked for now, or that the step at hand will ask for, and the checks that follow it."""
        asked = self._engine.together or self._engine.round_ahead()
        steps = [self._list.steps[i] for i in asked] or [step]
        names = dict.fromkeys(one.control for one in steps if one.control and one.check == step.check)
        controls = tuple(map(self.sheet.control, names))
        others = {one.check: one for one in steps if one.check != step.check}
        return controls, tuple(map(self._engine.check, others.values()))

    def _prompt(self, step: Step) -> Prompt:
        check = self._engine.check(step)
        try:
            controls, then = self._asked_for(step)
            prompt = prompt_for(check, controls, self.sheet, then)
            if not isinstance(prompt, Prompt):
                raise TypeError(f"{step.check} gave {type(prompt).__name__} for a prompt")
        except Exception as error:  # noqa: BLE001 - or nothing of the visit could be shown any more
            if step.check not in self._broken:
                self._broken.add(step.check)
                tell_crash_hook(error)
            return Prompt(step.title, words.CHECK_BROKEN_SHOWN, words.CHECK_BROKEN_HINT)
        prompt = replace(prompt, beats_per_minute=self._engine.beats_per_minute(prompt.beats_per_minute, check))
        said = self._motors.said() if check.about.motors else ""
        return replace(prompt, hint=f"{said} {prompt.hint}".rstrip()) if said else prompt

    # --- the motors of the rumble ask ---------------------------------------------------------------

    def _move_motors(self, step: Step | None) -> None:
        """Another step is the current one: they run for as long as their ask is."""
        self._stop_motors()
        if step is not None and self._engine.check(step).about.motors:
            self._motors.begin()

    def _drive_motors(self) -> None:
        """Switch them when it is time; a unit that went away has stopped them itself."""
        before = self._motors.said()
        try:
            self._motors.tick(self._source.now_ns(), live=self._engine.device == "live")
        except StationError as error:
            self.fault(str(error))
        self._engine.vibrated(self._motors.ran_ns)
        self._dirty |= self._motors.said() != before

    def _stop_motors(self, at_once: bool = False) -> None:
        """`at_once`: no tick will follow."""
        live = self._engine.device == "live"
        try:
            self._motors.stop(live=live)
            if at_once:
                self._motors.wind_up(self._source.now_ns, live=live)
        except StationError as error:
            self.fault(str(error))
