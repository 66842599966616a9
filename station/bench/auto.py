"""A person made of code: drives a session with a simulated hand, for the demo, the window's demo and tests."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Protocol, runtime_checkable

from station.bench.session import Session
from station.bench.types import (
    AgainPlease,
    Answer,
    Beat,
    Command,
    Event,
    Go,
    ResultCommitted,
    SessionView,
    Skip,
    SourceLost,
    StepStarted,
    TakeBack,
)
from station.checks.registry import describe
from station.sheets.model import Sheet
from station.sources.port import Source
from station.words import bench as words

PLAUSIBLE = {"V": 5.02, "A": 0.46}
"""what a plug-in meter shows on a pad that charges (common practice, no source)"""
LONGEST_VISIT_S = 3 * 3600.0
PATIENCE_S = 20.0


class Hand(Protocol):
    """What moves the controls of a simulated unit. Times are on the source's clock."""

    def ask(
        self,
        check: str,
        control: str,
        twin: str | None,
        kind: str,
        beats_per_minute: int,
        at_ns: int,
        also: tuple[str, ...] = (),
    ) -> None:
        """Begin to do what `check` asks of `control` ("" with kind "": the whole unit), and of the controls `also` at
        the same time."""
        ...

    def beat(self, t_ns: int) -> None:
        """A press is called for."""
        ...

    def rest(self, at_ns: int) -> None:
        """Let go of everything."""
        ...


@runtime_checkable
class Noticing(Protocol):
    """A hand that notices when it let a beat pass."""

    def takes_back(self, now_ns: int) -> bool:
        """True once for each such beat, after it has passed and before the next one."""
        ...


class VirtualSource(Source, Protocol):
    """A source whose clock is moved by hand."""

    def advance(self, seconds: float) -> None: ...


class AutoPerson:
    """Starts each step, lets the hand do it, answers what is asked, and finishes the visit.

    `handle` takes the session's events (from whoever polls them), `act` gives the next command when one is due.
    A try that did not count is done again, `tries` times in all; then the step is left with a reason. A check that
    has come no further for PATIENCE_S (a dead button never gets there) is ended by the key, as a person would.
    """

    def __init__(
        self,
        sheet: Sheet,
        hand: Hand,
        do: Callable[[Command], None],
        now_ns: Callable[[], int],
        *,
        meter: Mapping[str, float] = PLAUSIBLE,
        tries: int = 4,
    ) -> None:
        self._sheet = sheet
        self._hand = hand
        self._do = do
        self._now_ns = now_ns
        self._meter = meter
        self._tries = tries
        self._sloppy = 0
        self._share = 0.0
        self._share_ns = 0
        self._does = ""
        """the check that the hand was asked for last"""
        self._waits_for = -2
        """the step for which a command was given that has shown no effect yet"""

    def handle(self, event: Event, view: SessionView) -> None:
        """Let the hand follow what happened."""
        if isinstance(event, StepStarted):
            self._waits_for = -2
            if not event.step.person_answers:
                self._begin(event, view)
        elif isinstance(event, Beat):
            self._hand.beat(event.at_ns)
        elif isinstance(event, ResultCommitted | AgainPlease | SourceLost):
            self._waits_for = -2
            self._sloppy = self._sloppy + 1 if isinstance(event, AgainPlease) else 0
            self._share, self._share_ns = 0.0, self._now_ns()  # one of several is done: the others are waited for anew
            if not _goes_on(view):
                self._hand.rest(self._now_ns())
            elif view.steps[view.current].step.check != self._does:
                self._go_on(view)

    def act(self, view: SessionView) -> None:
        """Give the command that is due, if one is."""
        if view.finished or view.device != "live" or view.begins or view.current == self._waits_for:
            return
        step = view.steps[view.current].step if view.current >= 0 else None
        if step is not None and step.person_answers and view.running:
            self._give(view, Answer("pass", {unit: self._meter[unit] for unit in step.meter if unit in self._meter}))
        elif view.running and isinstance(self._hand, Noticing) and self._hand.takes_back(self._now_ns()):
            self._do(TakeBack())
        elif view.running:
            self._lose_patience(view)
        elif self._sloppy >= self._tries:
            self._sloppy = 0
            self._give(view, Skip(words.DID_NOT_COUNT.format(tries=self._tries, why=view.again)))
        else:
            self._give(view, Go())

    def _give(self, view: SessionView, command: Command) -> None:
        self._waits_for = view.current
        self._do(command)

    def _lose_patience(self, view: SessionView) -> None:
        share = view.progress.share if view.progress else 0.0
        if share > self._share:
            self._share, self._share_ns = share, self._now_ns()
        elif self._now_ns() - self._share_ns >= PATIENCE_S * 1e9:
            self._give(view, Go())

    def _go_on(self, view: SessionView) -> None:
        """What the checks that follow still lack."""
        step = view.steps[view.current].step
        self._does, now_ns = step.check, self._now_ns()
        if describe(step.check).hands_off:
            self._hand.rest(now_ns)
            return
        running = [view.steps[i].step for i in view.together]
        also = tuple(one.control for one in running if one.check == step.check and one is not step)
        kind = self._sheet.control(step.control).kind if step.control else ""
        self._hand.ask(step.check, step.control, None, kind, 0, now_ns, also)

    def _begin(self, event: StepStarted, view: SessionView) -> None:
        control = self._sheet.control(event.step.control) if event.step.control else None
        self._share, self._share_ns, self._does = 0.0, event.at_ns, event.step.check
        self._hand.ask(
            event.step.check,
            event.step.control,
            control.twin if control and not event.alone else None,
            control.kind if control else "",
            view.prompt.beats_per_minute if view.prompt else 0,
            event.at_ns,
            tuple(step.control for step in event.also if step.check == event.step.check),
        )


def _goes_on(view: SessionView) -> bool:
    """What was done together with the step that ended is not done yet."""
    return view.running and not view.steps[view.current].step.person_answers


def run_visit(
    session: Session,
    source: VirtualSource,
    hand: Hand,
    step_s: float = 0.01,
    *,
    meter: Mapping[str, float] = PLAUSIBLE,
    longest_s: float = LONGEST_VISIT_S,
    watch: Callable[[Event], None] = lambda event: None,
) -> None:
    """Work through the whole visit on a source whose clock is moved here, `step_s` at a time.

    `watch` gets every event. RuntimeError if the visit is not finished after `longest_s` of the source's time: then
    the session and the hand wait for each other.
    """
    person = AutoPerson(session.sheet, hand, session.do, source.now_ns, meter=meter)
    for _ in range(int(longest_s / step_s)):
        source.advance(step_s)
        session.tick()
        for event in session.take_events():
            watch(event)
            person.handle(event, session.view())
        if session.finished:
            return
        person.act(session.view())
    raise RuntimeError(f"the visit is not finished after {longest_s:.0f} s: {session.view().message or 'no message'}")
