"""A visit being worked through: the values that the window, the command line and the tests share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, Protocol

from station.checks.strengths import PressStrength, strength_of
from station.checks.types import Assessment, Outcome, Progress, Prompt
from station.judgement.claimed import LookState
from station.records.types import Result, Treatment, Unit, Visit

StepState = Literal["waiting", "running", "done"]


@dataclass(frozen=True, slots=True)
class Step:
    """One item of the checklist. `control` is "" for the whole unit; `group` is the zone or "whole unit".

    `mass_g`: the mass, in grams, that presses in the finger's place. `offered`: made because of an earlier step's
    result; the visit is complete without it. `turn`: what has a lower one is done before it, wherever it is listed.
    """

    check: str
    control: str
    title: str
    control_name: str
    group: str
    person_answers: bool = False
    meter: tuple[str, ...] = ()
    mass_g: float | None = None
    offered: bool = False
    watches: bool = False
    """judged from the whole visit when all else is done"""
    turn: int = field(default=0, compare=False)

    @property
    def strength(self) -> PressStrength | None:
        """How hard the control is pressed; None where nothing is pressed on beats."""
        return strength_of(self.check)


@dataclass(frozen=True, slots=True)
class StepView:
    """A step as it stands. `assessment` is that of the last counted try."""

    step: Step
    state: StepState
    outcome: Outcome
    attempts: int = 0
    assessment: Assessment | None = None
    by_hand: bool = False
    reason: str = ""


@dataclass(frozen=True, slots=True)
class BeatView:
    """One beat of a light press: `state` is one of count-in, waiting, registered, missed, neither, split,
    short, stays, void."""

    t_ns: int
    state: str


@dataclass(frozen=True, slots=True)
class SessionView:
    """An immutable picture of the whole visit, made after each change."""

    unit: Unit
    visit: Visit
    steps: tuple[StepView, ...]
    current: int
    """index into steps; −1 when the visit is finished"""
    running: bool
    """True while the current step records (False: waiting for "start", or the device is away)"""
    prompt: Prompt | None
    progress: Progress | None
    beats: tuple[BeatView, ...] = ()
    again: str = ""
    """ "again, please: …" of the last try, if it did not count"""
    device: str = "live"
    """live, lost or ended, with `message`"""
    message: str = ""
    finished: bool = False
    together: tuple[int, ...] = ()
    """the steps that run at the same time, if more than one does"""
    along: Mapping[str, Progress] = field(default_factory=dict)
    """control → how far its check is, of all that run"""
    by_itself: bool = False
    """the next step begins by itself after a pause …"""
    begins: bool = False
    """… and is about to, or the visit ends that way; the one key makes it wait"""
    last: int = -1
    """index of the step that got a result last; −1: none did"""
    claim: LookState = ""
    """what a first look that is over says of the seller's claim"""
    waits: bool = False
    """a result could not be stored yet: until it is, nothing begins, and the one key tries again"""


@dataclass(frozen=True, slots=True)
class PlannedVisit:
    """What a visit will ask before it begins, or goes on."""

    kind: str
    steps: tuple[StepView, ...]


# --- commands: what a person (or the simulated person) can do -------------------------------------


@dataclass(frozen=True, slots=True)
class Go:
    """The one key: start the current step, or end it now and assess, or go to the next; make one wait that was about
    to begin by itself."""


@dataclass(frozen=True, slots=True)
class BeginSoon:
    """A key asked for the visit: its first step begins by itself after a pause, where the steps do; a key that comes
    for it begins it at once, or does nothing more."""


@dataclass(frozen=True, slots=True)
class Choose:
    """Make this step the current one."""

    index: int


@dataclass(frozen=True, slots=True)
class Again:
    """Do the current (or the last finished) step again."""


@dataclass(frozen=True, slots=True)
class TakeBack:
    """Withdraw the last beat."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The person's word on an ask: "pass" or "fail", and what a meter showed; of a look, what it stops by (one of
    `checks.ask.SIGNS`). `of`: the check that the question stood there of; "" for whatever is asked."""

    word: Literal["pass", "fail"]
    meter: Mapping[str, float] = field(default_factory=dict)
    sign: str = ""
    of: str = ""


@dataclass(frozen=True, slots=True)
class NotSeen:
    """A control was pressed and did not come, in a first look: the one that the hand is at, or else the one that comes
    next."""


@dataclass(frozen=True, slots=True)
class MarkByHand:
    """Set the outcome of a step by hand, with a reason. `of`: (check, control) of the step; None: the current one."""

    outcome: Outcome
    reason: str
    of: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Skip:
    """Leave a step not done, with a reason, and go on. `of`: (check, control) of the step; None: the current one."""

    reason: str
    of: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Finish:
    """End the visit; what is not done stays not done."""


@dataclass(frozen=True, slots=True)
class Strength:
    """Press the current control (or the last one pressed) at this strength next; it becomes the current step.

    `mass_g`: a known mass, in grams, presses in the finger's place; None: the finger.
    """

    strength: PressStrength
    mass_g: float | None = None


@dataclass(frozen=True, slots=True)
class LongForm:
    """Press the current control (or the last one pressed) lightly so many times that rare and clustered misses show; it
    becomes the current step."""


@dataclass(frozen=True, slots=True)
class ByItself:
    """From now on the next step begins by itself after a pause, or waits for the key."""

    on: bool


@dataclass(frozen=True, slots=True)
class ReadAgain:
    """The records say otherwise of this visit than before: a result was withdrawn, or counts again. `unit`: as it is
    written now; None where nothing of it changed."""

    unit: Unit | None = None


@dataclass(frozen=True, slots=True)
class Hold:
    """Something stands in front of the bench, or no longer: until then nothing begins by itself and no beat is given. A
    press on beats that is under way ends as interrupted and begins again afterwards."""

    on: bool


Command = (
    Hold
    | ReadAgain
    | ByItself
    | Go
    | BeginSoon
    | Choose
    | Again
    | TakeBack
    | Answer
    | NotSeen
    | MarkByHand
    | Skip
    | Finish
    | Strength
    | LongForm
)


# --- events: what happened (in order; results only after they are committed) ------------------------


@dataclass(frozen=True, slots=True)
class VisitStarted:
    visit: Visit


@dataclass(frozen=True, slots=True)
class StepStarted:
    index: int
    step: Step
    at_ns: int
    alone: bool = False
    """its twin is not to be pressed along"""
    also: tuple[Step, ...] = ()
    """the steps that are done at the same time"""


@dataclass(frozen=True, slots=True)
class Beat:
    """A press is called for now (the window clicks and flashes). `counted` False: it is one of the count-in."""

    at_ns: int
    counted: bool = True


@dataclass(frozen=True, slots=True)
class AgainPlease:
    """The try did not count: say why; the step stays current."""

    index: int
    text: str


@dataclass(frozen=True, slots=True)
class ResultCommitted:
    index: int
    result: Result


@dataclass(frozen=True, slots=True)
class SourceLost:
    message: str


@dataclass(frozen=True, slots=True)
class SourceBack:
    pass


@dataclass(frozen=True, slots=True)
class VisitFinished:
    visit: Visit


@dataclass(frozen=True, slots=True)
class Noticed:
    """What was asked for is understood: what to do next."""

    message: str


@dataclass(frozen=True, slots=True)
class Fault:
    """Something went wrong that the person must read; nothing recorded was lost."""

    message: str


Event = (
    VisitStarted
    | StepStarted
    | Beat
    | AgainPlease
    | ResultCommitted
    | SourceLost
    | SourceBack
    | VisitFinished
    | Noticed
    | Fault
)


class Recorder(Protocol):
    """What a session needs of the records. Every call returns only after the commit."""

    def start_visit(self, unit_id: str, kind: str, person: str, bench: str, treatment_id: str | None) -> Visit: ...

    def keep_capture(self, npz: bytes) -> str:
        """Store a capture file under its SHA-256 and return that."""
        ...

    def add_result(self, result: Result) -> Result: ...

    def finish_visit(self, visit_id: str) -> Visit: ...

    def results_of_visit(self, visit_id: str) -> tuple[Result, ...]: ...

    def treatments_of(self, unit_id: str) -> tuple[Treatment, ...]: ...
