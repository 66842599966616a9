"""The engine of a visit: reads reports, runs one try after another, and commits what comes of each.

What a person may ask for and see stands in `session`, which ticks this one; here is what happens by itself.
Everything but `tell`, `fault` and `take_events` belongs to one thread.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import numpy as np

from station.bench.bugs import in_words, tell_crash_hook
from station.bench.cell import EVERY_NS, CellWatch
from station.bench.checklist import Checklist
from station.bench.grips import grip_of_step
from station.bench.metronome import Tempo
from station.bench.not_seen import AT_IT_NS, came_first, came_last
from station.bench.outbox import Outbox, Outgoing
from station.bench.plan import of_whole
from station.bench.rounds import joined, lead_of, mates_of, round_of
from station.bench.running import Running, RunningTry, by_finger
from station.bench.setup import BenchSetup, UnitOnBench
from station.bench.stretch import Held
from station.bench.types import (
    AgainPlease,
    Event,
    Fault,
    Noticed,
    ResultCommitted,
    SourceBack,
    SourceLost,
    Step,
    StepStarted,
)
from station.bench.watcher import Watcher
from station.capture.file import write_capture
from station.checks import glance
from station.checks.ask import LOOK, STOP, AskCheck
from station.checks.cell import told_of
from station.checks.decide import worst
from station.checks.light import ON_REQUEST, LightCheck
from station.checks.looks import GLANCE
from station.checks.takes import take_between
from station.checks.types import Assessment, Check, Grip, Limits, Outcome, Progress, Take
from station.checks.watched import CellTold
from station.errors import CaptureError, RecordFull, RecordLocked, StationError
from station.judgement.pooled import pooled
from station.judgement.tries import VERDICTS, Key, counts, gave_verdict
from station.records.clock import time_text
from station.records.types import Treatment
from station.sheets.power import Power, power_of
from station.sheets.signals import Signal
from station.sources.follower import A_RING, Follower
from station.sources.port import SourceState
from station.words import bench as words

PAUSE_NS, SAME_GRIP_NS, IN_TEMPO_NS = 450_000_000, 250_000_000, 100_000_000
"""before the next step begins by itself; where the hand may stay where it is; and where clicks lead in that it
knows (common practice, no source). What the last one came to stays on the card while the next one runs, a fail waits
for the key, and what is not pressed on beats waits for the hand anyway."""
END_NS, END_AFTER_ANSWER_NS = 1_000_000_000, 2_000_000_000
"""before a visit ends by itself of which everything passed; where the last of it was a key, who struck a wrong one
needs that long to notice and to take it back (common practice, no source)"""
JUST_BEGUN_NS = 500_000_000
"""so long after a try began by itself the key was meant for the pause before it"""
GIVES_WAY_NS = 10_000_000_000
"""for so long an answer can be taken back with one key; what runs for less lost no more than that"""
WORKED = 0.5
"""from this share on a try of a round was worked, and not just begun (common practice, no source)"""
TAKES_A_TICK = 16
LOOK_AGAIN_NS = 500_000_000


class Engine:
    """Steps, the running try, the device's comings and goings, and results on their way into the records.

    `settled` is told each step that becomes the current one (None: everything is done), before anything else is.
    """

    def __init__(
        self,
        on_bench: UnitOnBench,
        setup: BenchSetup,
        limits: Limits,
        steps: Checklist,
        visit_id: str,
        settled: Callable[[Step | None], None],
    ) -> None:
        self._unit_id, self._recorder = on_bench.unit.id, setup.recorder
        self._treatments: tuple[Treatment, ...] = ()
        self._source, self._binding = on_bench.source, on_bench.binding
        self._checks = setup.checks
        self._limits = limits
        self._list = steps
        self._visit_id = visit_id
        self._wall_clock = setup.wall_clock
        self._auto_go, self._together = setup.auto_go, setup.together
        self._settled = settled
        self._held = Held(self._binding)
        self._cell = CellWatch(self._source, self._binding.layout)
        self._reports = Follower(self._source, A_RING)  # it looks back: some controls report their changes only
        self._outbox = Outbox(setup.recorder)
        self._watcher = Watcher(self._binding, self._source.now_ns())
        self._running: Running | None = None
        self._tempo = Tempo()
        self._grip: Grip | None = None
        """where the hand was last"""
        self._by_key = False
        """what ran last was ended by a key"""
        self._not_seen_ns: int | None = None
        """since when the next button that comes is one that had not come"""
        self._ended: list[tuple[int, bool]] = []
        """the steps whose tries ended since something was started, and whether the try counts"""
        self._alone: set[Key] = set()
        """what did not come out when it was tried together with others"""
        self._current: int | None = len(steps.steps) - 1 if steps.steps else None
        self._all_done = False
        self._last_done: int | None = None
        self._start_again = False
        self._auto_at_ns: int | None = None
        self._first = False
        """what begins by itself is the first step of a visit that a key asked for"""
        self._on_hold = False
        """something stands in front of the bench: nothing begins by itself"""
        self._passed_over: set[Key] = set()
        """what a key ended of a round in which nothing was done"""
        self._by_itself_ns: int | None = None
        """when a try last began by itself"""
        self._judge_at_ns = 0
        self._cell_told: list[CellTold] = []
        self._vibrated_ns = 0
        self._device: SourceState = "live"
        self._again = ""
        self._message = ""
        self._fault = ""
        self._events: deque[Event] = deque()
        self._events_lock = threading.Lock()
        self._changed = True
        self._look_for_treatments()

    # --- how it stands --------------------------------------------------------------------------------

    @property
    def current(self) -> int | None:
        """Index of the current step; None where there are no steps."""
        return self._current

    @property
    def all_done(self) -> bool:
        """Everything is done; the last step stays in view."""
        return self._all_done

    @property
    def last_done(self) -> int | None:
        """Index of the step that got a result last."""
        return self._last_done

    @property
    def running(self) -> Running | None:
        """The tries that are under way."""
        return self._running

    @property
    def together(self) -> tuple[int, ...]:
        """The steps that run."""
        return () if self._running is None else tuple(self._running.tries)

    @property
    def progress(self) -> Progress | None:
        """How far what runs is: the current step's, or what is still missing at all that run of its check."""
        if self._running is None or self._current not in self._running.tries:
            return None
        front = self._running.tries[self._current]
        mates = [one for one in self._running.tries.values() if one.step.check == front.step.check]
        if len(mates) <= 1 or front.progress is None:
            return front.progress
        return joined(front.progress, [(one.control, one.progress) for one in mates])

    @property
    def along(self) -> dict[str, Progress]:
        """Control → how far its check is, of all that run; of two of one control the one that is done first."""
        tries = () if self._running is None else reversed(self._running.tries.values())
        return {one.step.control: one.progress for one in tries if one.progress is not None}

    @property
    def by_itself(self) -> bool:
        """Whether the next step begins by itself."""
        return self._auto_go

    @by_itself.setter
    def by_itself(self, on: bool) -> None:
        self._auto_go, self._changed = on, True
        if not on:
            self._auto_at_ns = None

    def beats_per_minute(self, asked: int, check: Check) -> int:
        """How fast the beats of a check come, or will come, that asks for so many."""
        return round(self._tempo.of(asked)) if by_finger(check) else asked

    @property
    def begins(self) -> bool:
        """Whether the current step is about to begin by itself, after another one."""
        return self._auto_at_ns is not None and self._running is None and not self._all_done and not self._first

    @property
    def ends(self) -> bool:
        """Whether the visit is about to end by itself: all that was asked has passed."""
        return self._auto_at_ns is not None and self._all_done and self._running is None

    @property
    def ends_now(self) -> bool:
        """Whether that moment has come."""
        at_ns = self._auto_at_ns if self.ends else None
        return at_ns is not None and not self._on_hold and not self._outbox and self._source.now_ns() >= at_ns

    @property
    def just_begun(self) -> bool:
        """Whether what runs began by itself a moment ago."""
        since = self._by_itself_ns
        return self._running is not None and since is not None and self._source.now_ns() - since < JUST_BEGUN_NS

    def begin_soon(self) -> None:
        """A key asked for the visit: its first step begins by itself after a pause."""
        if self._auto_go and self._running is None and not self._all_done and not self._asks():
            self._auto_at_ns, self._first = self._source.now_ns() + PAUSE_NS, True

    @property
    def is_first(self) -> bool:
        """Whether what just began is the first step of the visit: a key that came for it has nothing more to do."""
        return self._first and self.just_begun

    def wait(self) -> None:
        """The step that was about to begin by itself waits for the key; one that just did leaves no trace."""
        if self.just_begun:
            for index in self.together:
                self._leave(index)
        self._auto_at_ns, self._changed = None, True

    def hold(self, on: bool) -> None:
        """Until `on` is False nothing begins by itself. What is pressed on beats ends and begins again afterwards: the
        hand is elsewhere, and a beat without a press would count against the unit."""
        self._on_hold = on
        if on and self._running is not None and self._running.on_beats:
            self._start_again = True
            self.interrupt(words.SOMETHING_IN_FRONT)
        elif not on and self._auto_at_ns is not None:
            self._auto_at_ns = max(self._auto_at_ns, self._source.now_ns() + PAUSE_NS)

    @property
    def held_up(self) -> bool:
        """Whether a result waits because the records could not take it."""
        return bool(self._outbox and self._fault)

    @property
    def waiting(self) -> bool:
        """A result could not be stored yet."""
        return bool(self._outbox)

    def left(self) -> tuple[Outgoing, ...]:
        """The results that could not be stored yet, oldest first."""
        return self._outbox.waiting()

    @property
    def device(self) -> SourceState:
        """The state of the source as it was seen last."""
        return self._device

    @property
    def again(self) -> str:
        """ "again, please: …" of the last try, if it did not count."""
        return self._again

    @property
    def message(self) -> str:
        """What the person must read at the moment."""
        return self._message

    @property
    def told(self) -> Power:
        """What the unit says of its cell."""
        return self._cell.told()

    def take_changed(self) -> bool:
        """Whether anything of this changed since the last call."""
        changed, self._changed = self._changed, False
        return changed

    def take_events(self) -> tuple[Event, ...]:
        """What happened since the last call, in order. For one consumer."""
        with self._events_lock:
            events = tuple(self._events)
            self._events.clear()
        return events

    def interrupt(self, reason: str) -> None:
        """End what runs as interrupted, with what came so far. For the thread that ticks.

        Of several that ran at once those that show nothing yet leave no trace: nobody had come to them.
        """
        untouched = self._running.untouched() if self._running is not None and len(self.together) > 1 else ()
        for index in self.together:
            if index not in untouched:
                self.conclude(Assessment(Outcome.INTERRUPTED), index=index, reason=reason)
        for index in untouched:
            self._leave(index)

    def fault(self, message: str) -> None:
        """Tell the person something that they must read."""
        self._message = message
        self.tell(Fault(message))

    def hush(self) -> None:
        """The person does something: what was to be read has been read, unless the device is away."""
        if self._device == "live":
            self._message = ""

    def tell(self, event: Event) -> None:
        with self._events_lock:
            self._events.append(event)
        self._changed = True

    def check(self, step: Step) -> Check:
        if step.person_answers:
            return self._checks.get(step.check) or AskCheck(step.check)
        check = self._checks.get(step.check) or ON_REQUEST.get(step.check) or AskCheck(step.check)
        if isinstance(check, LightCheck):
            tries = pooled(self._list.tries(step), self._treatments, self._binding.sheet)
            return check.weighing(step.mass_g).going_on(tries, self._limits)
        return check

    # --- what happens by itself ---------------------------------------------------------------------

    def read(self) -> None:
        """Take the reports that came."""
        for _ in range(TAKES_A_TICK):
            block, missed = self._reports.take()
            if missed:
                self._came_late()
            if self._running is not None:
                self._running.add(block)
            if not len(block):
                break
            self._held.update(block)
            self._watcher.add(block)

    def _came_late(self) -> None:
        """Reports are gone that the visit did not read in time: no fault of the unit, so the try is not judged.

        The evidence that the reader process writes has them; a try with a hole in it would blame the unit.
        """
        self._held = Held(self._binding)  # nobody knows what the controls did meanwhile
        self._watcher.lose(self._source.now_ns())
        if self._running is not None:
            self._start_again = True
            self.interrupt(words.READ_TOO_LATE)
            self.fault(words.STARTS_AGAIN.format(why=words.READ_TOO_LATE))

    def watch(self) -> None:
        """Notice that the device went away, came back, or (a recording) ended."""
        status = self._source.status()
        if status.state == self._device:
            return
        was, self._device, self._changed = self._device, status.state, True
        if status.state == "live":
            self._message = ""
            if was == "lost":
                self.tell(SourceBack())
            return
        self._message = status.message or words.AWAY
        if status.state == "lost":
            self.tell(SourceLost(self._message))
            self._lose()
        elif self._running is not None:
            self.read()
            self.assess()

    def _lose(self) -> None:
        """A check that runs is interrupted and done again later; for the link check the loss is its result."""
        if self._running is not None:
            self._running.stretch.disconnects_ns.append(self._source.now_ns())
            if all(self.check(one.step).about.unplug_counts for one in self._running.tries.values()):
                self.assess()  # nothing else runs along any more
            else:
                self._start_again = True
                self.interrupt(words.UNIT_WENT_AWAY.format(message=self._message))
        self._held = Held(self._binding)  # nobody knows what the controls hold when it comes back
        self._watcher.lose(self._source.now_ns())

    def run(self) -> None:
        """Start what is due by itself; look how far the running try is, and end it when it is complete."""
        now_ns = self._source.now_ns()
        self._cell.tick(now_ns, live=self._device == "live", calm=self._running is None)
        self._keep_the_word_on_the_cell(now_ns)
        if self._device == "live":
            self._watcher.look(now_ns)
        else:
            self._watcher.skip(now_ns)
        running = self._running
        if running is None:
            self._start_by_itself(now_ns)
            self._judge_what_was_watched(now_ns)
            return
        beat = running.beat_due(now_ns)
        if beat is not None:
            self.tell(beat)
        if not running.look(now_ns):
            return
        self._changed = True
        if self._not_seen_ns is not None:
            self._blame(came_first(self._pressed_in(running, now_ns), self._not_seen_ns))
        if self._on_hold or self._running is None:
            return  # what came so far counts once the person is back
        for index in running.complete():
            self._assess_one(index)
        if self._running is not None and running.over_the_caps(now_ns):
            self.interrupt(words.TOO_LONG)

    def _start_by_itself(self, now_ns: int) -> None:
        """After an unplug or a late reading, and between steps if the person wants that."""
        if self._current is None or self._all_done or self._device != "live" or self._outbox or self._on_hold:
            return
        if self._start_again or (self._auto_at_ns is not None and now_ns >= self._auto_at_ns):
            first = self._first
            self.start(self._current)
            self._by_itself_ns, self._first = now_ns, first

    # --- a try --------------------------------------------------------------------------------------

    def begin(self) -> None:
        """Settle on the first step that is not done."""
        self.settle_on(self._lead(self._list.next_after(-1)))

    def settle_on(self, index: int | None) -> None:
        """Make a step the current one; None: everything is done, and the last one stays in view.

        A question is asked at once, since nothing is recorded for it.
        """
        self._settled(None if index is None else self._list.steps[index])
        self._again = ""
        self._all_done, self._changed = index is None, True
        self._start_again, self._auto_at_ns, self._first = False, None, False
        if index is None:
            return
        self._current = index
        self._tell_watcher(running=False)
        if self._list.steps[index].person_answers:
            self.tell(StepStarted(index, self._list.steps[index], self._source.now_ns()))

    def put(self, step: Step) -> int:
        """Let a press of another strength into the list; what stands behind it moves on. Returns its index."""
        before = len(self._list.steps)
        index = self._list.put(step)
        if len(self._list.steps) > before:
            self._current = _moved(self._current, index)
            self._last_done = _moved(self._last_done, index)
        return index

    def start(self, index: int) -> None:
        """Begin a try at that step; a question is asked."""
        step = self._list.steps[index]
        if self.stopped and step.check != LOOK.name:
            self._start_again, self._auto_at_ns = False, None
            self.fault(words.STOPPED)
            return
        self._look_for_treatments()
        if self._device != "live" and not step.person_answers:
            self.fault(words.PLUG_IN.format(message=self._source.status().message or words.AWAY))
            return
        self.settle_on(index)
        if step.person_answers:
            return
        if self.check(step).about.left_alone:
            self.fault(words.LEAVE_ALONE)
            return
        if step.watches:
            self.judge_watched(index)
            return
        steps = {i: self._list.steps[i] for i in self._round_of(index)}
        try:
            checks = {i: (one, self.check(one)) for i, one in steps.items()}
            self._running = Running(checks, self._binding, self._limits, self._source, self._held, self._tempo)
        except StationError:
            raise
        except Exception as error:  # noqa: BLE001 - a bug in one check must not take the visit with it
            self._cannot_run(error)
            return
        self._not_seen_ns, self._by_key = None, False
        self._ended, self._grip = [], grip_of_step(step, self._binding.sheet)
        self._tell_watcher(running=True)
        also = tuple(one for i, one in steps.items() if i != index)
        alone = self._running.tries[index].alone
        self.tell(StepStarted(index, step, self._running.begin_ns, alone, also))

    def round_ahead(self) -> tuple[int, ...]:
        """The steps that the next start would begin."""
        return () if self._current is None or self._all_done else self._round_of(self._current)

    def _round_of(self, index: int) -> tuple[int, ...]:
        """The steps that are done at the same time as this one."""
        if not self._together:
            return (index,)
        return round_of(self._list.steps, index, self._free(), self._binding.sheet, self.check)

    def _lead(self, index: int | None) -> int | None:
        """The step that this one follows, if that waits."""
        if index is None or not self._together:
            return index
        return lead_of(self._list.steps, index, self._free(), self.check)

    def _free(self) -> set[int]:
        """The steps that wait and may be done with others."""
        steps = self._list.steps
        waiting = (i for i in range(len(steps)) if self._list.counted(i) is None and not steps[i].offered)
        return {i for i in waiting if (steps[i].check, steps[i].control) not in self._alone}

    @property
    def stopped(self) -> bool:
        """Whether the look over the unit saw what keeps it from being worked at; another answer lifts it."""
        looks = (step for step in self._list.steps if step.check == LOOK.name)
        answers = [result for step in looks for result in self._list.tries(step) if gave_verdict(result)]
        return bool(answers) and any(found.code == STOP for found in answers[-1].assessment.findings)

    def _look_for_treatments(self) -> None:
        """What was treated since the last try: tries from before it say nothing of the control any more."""
        try:
            self._treatments = self._recorder.treatments_of(self._unit_id)
        except StationError as error:
            self.fault(str(error))

    # --- what was watched all along ------------------------------------------------------------------

    def _tell_watcher(self, *, running: bool) -> None:
        """What is asked from now on, or comes next."""
        if self._current is None:
            return
        step = self._list.steps[self._current]
        about = self.check(step).about
        controls = self._running.controls if running and self._running else (step.control,)
        hands_off = running and about.hands_off
        if running and about.works_all:
            controls = tuple(c.id for c in self._binding.sheet.controls)
        self._watcher.ask(self._source.now_ns(), step.check, controls, running=running, hands_off=hands_off)

    def vibrated(self, so_far_ns: int) -> None:
        """How long the motors ran in this visit."""
        self._vibrated_ns = so_far_ns

    def _keep_the_word_on_the_cell(self, now_ns: int) -> None:
        """What the unit says of its cell, in its reports or when asked, every half minute while no check runs."""
        since = self._cell_told[-1].t_ns if self._cell_told else -EVERY_NS
        if self._device != "live" or self._running is not None or now_ns - since < EVERY_NS:
            return
        signals = self._binding.signals(self._held.block())
        power = power_of(self._binding.sheet, signals).completed(self._cell.told())
        told = told_of(power, now_ns, self._source.info.bus)
        if told is not None:
            self._cell_told.append(told)

    def _watched(self) -> Take:
        now_ns = self._source.now_ns()
        nothing = np.zeros(0, np.int64)
        take = take_between(self._binding.sheet, {}, now_ns, now_ns, nothing)
        watched = self._watcher.watched(now_ns)
        return replace(take, watched=replace(watched, cell=tuple(self._cell_told), vibrated_ns=self._vibrated_ns))

    def _judge_what_was_watched(self, now_ns: int) -> None:
        """All else is done: judge it as soon as the visit was long enough."""
        if self._current is None or self._all_done or self._outbox or self._on_hold or now_ns < self._judge_at_ns:
            return
        step = self._list.steps[self._current]
        waits = step.watches and self._list.counted(self._current) is None
        if waits and self._list.next_after(-1) == self._current:
            self._judge_at_ns = now_ns + LOOK_AGAIN_NS
            if self.check(step).progress(self._watched(), self._limits).complete:
                self.judge_watched(self._current)

    def judge_watched(self, index: int, *, passes: bool = True) -> None:
        """Judge a step from the whole visit up to now.

        One that says no more than an earlier one of this visit is not kept: what moved by itself once has done so.
        """
        step, before = self._list.steps[index], self._list.counted(index)
        assessment = self.check(step).assess(self._watched(), self._limits)
        if assessment.again:
            self.fault(assessment.again)
            return
        told = Outcome.PASS if before is None else before.assessment.outcome
        if (before is not None or not passes) and worst((told, assessment.outcome)) is told:
            if before is not None and self._current == index:
                self.settle_on(self._list.next_after(index))
            return
        self._current = index
        self.conclude(assessment)

    def judge_at_the_end(self, *, passes: bool = True) -> None:
        """The visit ends: judge what was watched, if it was long enough and no person has said something of it.

        Without `passes` (the visit will be gone on with) only what did not pass is kept.
        """
        self._let_in_what_was_seen()
        for index in [i for i, step in enumerate(self._list.steps) if step.watches]:
            before = self._list.counted(index)
            check = self.check(self._list.steps[index])
            if (before is None or not before.by_hand) and check.progress(self._watched(), self._limits).complete:
                self.judge_watched(index, passes=passes)

    def _let_in_what_was_seen(self) -> None:
        """Checks that no plan has come in where the visit was enough for them."""
        for check in self._checks.values():
            there = any(step.check == check.name for step in self._list.steps)
            if check.about.when_seen and not there and check.progress(self._watched(), self._limits).complete:
                self.put(of_whole(check, offered=True))

    def _evidence_watched(self) -> bytes | None:
        """The reports around what moved, as a capture; time counts from the beginning of the visit."""
        if self._current is None:
            return None
        now_ns, step = self._source.now_ns(), self._list.steps[self._current]
        began = self._wall_clock() - timedelta(microseconds=self._watcher.age_us(now_ns))
        sheet = self._binding.sheet.name
        try:
            return write_capture(self._watcher.capture(self._source.info, sheet, now_ns, time_text(began), step.check))
        except CaptureError as error:
            self.fault(words.NO_EVIDENCE.format(error=error))
            return None

    def _cannot_run(self, error: Exception) -> None:
        """A check with a fault in it: the step says so, and the others go on."""
        tell_crash_hook(error)
        reason = words.CHECK_BROKEN.format(error=in_words(error))
        self.fault(reason)
        self.conclude(Assessment(Outcome.INTERRUPTED), reason=reason)

    def assess(self, *, by_key: bool = False) -> None:
        """End what runs and judge it. `by_key`: a person wants that.

        Of several that run at once those that show nothing yet are not judged: nobody knows whether the control was not
        moved or cannot be. They stay to be done together, as does what was hardly worked; the second time that none of
        them showed anything they are done alone.
        """
        running = self._running
        if running is None:
            return
        self._by_key = by_key
        untouched: tuple[int, ...] = ()
        if len(running.tries) > 1:
            for one in running.tries.values():
                one.look(self._source.now_ns())
            untouched = running.untouched()
        if untouched and len(untouched) == len(self.together):
            keys = [(self._list.steps[i].check, self._list.steps[i].control) for i in untouched]
            if keys[0] in self._passed_over:
                self._do_alone(untouched[0])
            self._passed_over.update(keys)
        for index in untouched:
            self._leave(index)
        for index in self.together:
            progress = running.tries[index].progress
            share = progress.share if progress is not None else 0.0
            self._assess_one(index, worked=share >= WORKED or self._list.attempts(index) > 0)

    def _leave(self, index: int) -> None:
        """That step stays to be done; nothing came of it that could be recorded."""
        running = self._running
        if running is None:
            return
        running.end(index)
        self._ended.append((index, False))
        if not running.tries:
            self._running, self._changed = None, True
            self._tell_watcher(running=False)
            self._go_on()

    def make_room(self, reason: str) -> None:
        """A question is asked again: what began since it was answered gives way, what runs for longer goes on."""
        running, now_ns = self._running, self._source.now_ns()
        if running is None or now_ns - running.begin_ns > GIVES_WAY_NS:
            return
        for one in running.tries.values():
            one.look(now_ns)
        if len(running.untouched()) == len(running.tries):
            for index in self.together:
                self._leave(index)
        self.interrupt(reason)

    def _assess_one(self, index: int, *, worked: bool = True) -> None:
        """End the running try at that step and judge it; what did not come out is tried alone if it was `worked`."""
        if self._running is not None:
            end_ns = self._source.now_ns()
            assessment = self._running.tries[index].assess(end_ns, self.told)
            if assessment.again and self._running.together and worked:
                self._do_alone(index)
            self.conclude(self._list.contrasted(index, assessment), index=index, end_ns=end_ns)

    def _do_alone(self, index: int) -> None:
        """From now on that step is tried by itself."""
        step = self._list.steps[index]
        if self.check(step).about.together in ("all", "fingers"):  # of twins each vouches for the other
            self._alone.add((step.check, step.control))

    def not_seen(self) -> bool:
        """The person pressed something in a first look and it did not come: it is the button that the hand is at, where
        that has not shown enough yet, or else the one that comes next. False where no look runs."""
        running, now_ns = self._running, self._source.now_ns()
        if running is None or all(one.step.check != GLANCE for one in running.tries.values()):
            return False
        last = came_last(self._pressed_in(running, now_ns), now_ns - AT_IT_NS)
        if last is not None and any(one.step.control == last[0] for one in running.tries.values()):
            self._blame(last[0])
        else:
            self._not_seen_ns = now_ns
            self.tell(Noticed(words.PRESS_IT_AGAIN))
        return True

    def _pressed_in(self, running: Running, now_ns: int) -> dict[str, Signal]:
        """What the controls did that are looked at; a paddle that copies a button is none of its own."""
        looked_at = {step.control for step in self._list.steps if step.check == GLANCE}
        signals = running.stretch.take(now_ns, None, None).signals
        return {name: signal for name, signal in signals.items() if name in looked_at}

    def _blame(self, name: str) -> None:
        """A press of that control did not come: it needs its full check, however often it comes afterwards."""
        steps = self._list.steps
        index = next((i for i, s in enumerate(steps) if name and (s.check, s.control) == (GLANCE, name)), None)
        if index is None:
            return
        self._not_seen_ns = None
        readings = self.along[name].readings if name in self.along else ()
        found = glance.not_seen(self._binding.sheet.control(name), readings)
        self.conclude(found, index=index, by_hand=True, reason=words.NOT_SEEN)

    def look_at(self, index: int) -> bool:
        """Bring one of the steps that run to the front; False if it does not run."""
        if index not in self.together:
            return False
        self._current, self._changed = index, True
        return True

    def conclude(
        self,
        assessment: Assessment,
        *,
        index: int | None = None,
        end_ns: int | None = None,
        by_hand: bool = False,
        reason: str = "",
    ) -> None:
        """A step (default: the current one) has an outcome: into the records with it, evidence included."""
        index = self._current if index is None else index
        if index is None:
            return
        if by_hand:
            self._start_again = False
        running, ended = self._running, None
        if running is not None and index in running.tries:
            ended = running.end(index)
            if not running.tries:
                self._running = None
            elif self._current == index:
                self._current = next(iter(running.tries))
        self._tell_watcher(running=self._running is not None)
        if end_ns is None and by_hand and assessment.outcome in VERDICTS:
            end_ns = self._source.now_ns()  # a person's verdict ends the try; a skip or a loss cuts it short
        npz = self._evidence(running, ended, end_ns) if running and ended else None
        if npz is None and not by_hand and self.check(self._list.steps[index]).about.watches == "moves":
            npz = self._evidence_watched()
        status = self._source.status()
        result = self._list.result(
            index,
            self._visit_id,
            time_text(self._wall_clock()),
            assessment,
            by_hand=by_hand,
            reason=reason,
            clock=status.clock if ended or status.clock == "simulated" else "",  # of a unit that is played, always told
            stamp_error_p99_us=status.stamp_error_p99_us if ended else None,
            lost=running.lost() if running and ended else 0,
        )
        self._outbox.put(Outgoing(index, result, npz))
        self._changed = True
        self.save()

    def hurry(self) -> None:
        """Store what waits without waiting for the next time it is due."""
        self._outbox.hurry()
        self.save()

    def _evidence(self, running: Running, ended: RunningTry, end_ns: int | None) -> bytes | None:
        try:
            return running.evidence(ended, end_ns, self._wall_clock())
        except CaptureError as error:
            self.fault(words.NO_EVIDENCE.format(error=error))
            return None

    def save(self) -> None:
        """Commit what waits. A result is told of only after that."""
        while self._outbox:
            try:
                committed = self._outbox.commit()
            except StationError as error:
                message = _stored_later(error)
                if message != self._fault:
                    self._fault = message
                    self.fault(message)
                return
            if committed is None:
                return
            if self._fault and self._message == self._fault:
                self._message = ""
            self._fault = ""
            self._after(committed)
            if committed.problem:
                self.fault(committed.problem)

    def _after(self, done: Outgoing) -> None:
        """A result is in the records: now it may be shown."""
        self._list.add(done.index, done.result)
        self._changed = True
        if not self._list.steps[done.index].watches:
            self._last_done = done.index
        counted = counts(done.result)
        self._again = "" if counted else done.result.assessment.again
        self._ended.append((done.index, counted))
        if self._again:
            self.tell(AgainPlease(done.index, self._again))
        else:
            self.tell(ResultCommitted(done.index, done.result))
        if self._running is None and not self._outbox:
            self._go_on()
        cut = done.result.assessment.outcome is Outcome.INTERRUPTED
        # a fail is looked at first; who ended a try with the key wants the hands free, and reads what it still lacks
        stop = cut or done.result.assessment.outcome is Outcome.FAIL or (self._by_key and bool(self._again))
        if self._auto_go and self._running is None and not stop and not self._outbox:
            if self._all_done and self._list.all_passed:
                answered = self._list.steps[done.index].person_answers or done.result.by_hand
                self._auto_at_ns = self._source.now_ns() + (END_AFTER_ANSWER_NS if answered else END_NS)
            elif not self._all_done and not self._asks():
                self._auto_at_ns = self._source.now_ns() + self._pause_ns()

    def _asks(self) -> bool:
        """The current step waits for a person's word, or for nothing but time."""
        step = None if self._current is None else self._list.steps[self._current]
        return step is not None and (step.person_answers or step.watches)

    def _pause_ns(self) -> int:
        """How long the person has before the current step begins by itself."""
        same = SAME_GRIP_NS if self._same_grip() else PAUSE_NS
        step = None if self._current is None else self._list.steps[self._current]
        return IN_TEMPO_NS if step is not None and step.strength is not None and self._tempo.known else same

    def _same_grip(self) -> bool:
        """Whether the hand may stay where it is for the next step; one that is everywhere is nowhere yet."""
        step = None if self._current is None else self._list.steps[self._current]
        return step is not None and grip_of_step(step, self._binding.sheet) == self._grip != "everywhere"

    def _go_on(self) -> None:
        """All that ran has ended: what it calls for comes next, or what did not come out, or the next that waits."""
        ended, self._ended = self._ended, []
        left = [index for index, counted in ended if not counted]
        done = sorted(index for index, counted in ended if counted)
        if self._start_again or self._current not in (*left, *done):
            return  # it is begun again by itself, or the person has gone on to another step meanwhile
        if self.stopped:
            return
        offered = None
        for index in reversed(done):  # what is let in moves only what is behind it
            press = self._list.offer_after(index)
            if press is not None:
                offered = press
                left = [_moved_up(i, press) for i in left]
                self._last_done = _moved(self._last_done, press)
        if offered is not None:
            self.settle_on(offered)
        elif left and len(ended) > 1:
            again, at_ns = self._again, self._auto_at_ns
            tried = [index for index in left if self._list.attempts(index)]
            self.settle_on(min(tried or left))
            self._again, self._auto_at_ns = again, at_ns
        elif done and not left:
            self.settle_on(self._lead(self._next_after(done[0])))

    def _next_after(self, index: int) -> int | None:
        """What is still to be done of the same round comes first, then what stands next in the list: other checks of
        the same control, so that the hand stays where it is."""
        step = self._list.steps[index]
        if self._together and self.check(step).about.together:
            same = (i for i, s in enumerate(self._list.steps) if s.check == step.check and not s.offered)
            found = next((i for i in same if self._list.counted(i) is None and self._is_mate(step, i)), None)
            if found is not None:
                return found
        return self._list.next_after(index)

    def _is_mate(self, step: Step, index: int) -> bool:
        """Whether that step belongs to the same round: any other control, the twin, or one under another finger."""
        check, sheet = self.check(step), self._binding.sheet
        if check.about.together == "all":
            return True
        return self._list.steps[index].control in mates_of(check, sheet.control(step.control), sheet)


def _stored_later(error: StationError) -> str:
    """Why the last result waits; nothing has to be done again for it."""
    if isinstance(error, RecordFull):
        return words.STORED_WITH_ROOM
    if isinstance(error, RecordLocked):
        return words.STORED_WHEN_FREE
    return words.STORED_LATER.format(error=error)


def _moved_up(index: int, inserted: int) -> int:
    """Where a step stands after one was let in at `inserted`."""
    return index + 1 if index >= inserted else index


def _moved(index: int | None, inserted: int) -> int | None:
    return None if index is None else _moved_up(index, inserted)
