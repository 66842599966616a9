"""A pad, a source and checks small enough to see through: what the session does must not depend on the real ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from station.bench.memory import MemoryRecorder
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.timekeeping import Clocks
from station.bench.types import Command, Event, Step
from station.capture.file import make_block
from station.checks.limits import load_limits
from station.checks.registry import CHECKS, describe
from station.checks.types import Assessment, Finding, Limits, Outcome, Progress, Prompt, Reading, Take
from station.errors import RecordError
from station.hid.types import Field, Layout, ReportBlock, ReportLayout
from station.records.types import Result, Unit, Visit
from station.sheets.bind import bind
from station.sheets.model import Ask, Control, Part, Place, Sheet
from station.sheets.signals import ButtonSignal
from station.sources.port import Answer, DeviceInfo, Request, SourceStatus

S = 1_000_000_000
MS = 1_000_000

UNIT = Unit("unit-1", "SM-07-01", "Plover T2")
INFO = DeviceInfo("fake:", 0x1209, 1, "Plover T2", "0001", "simulated", b"")
FIELDS = (
    Field("input", 0, 0x90001, 0, 1, False, 0, 1),
    Field("input", 0, 0x90002, 1, 1, False, 0, 1),
    Field("input", 0, 0x10030, 8, 8, False, 0, 255),
    Field("input", 0, 0x10031, 16, 8, False, 0, 255),
)
LAYOUT = Layout((ReportLayout("input", 0, 3, FIELDS),), (0x10005,), False)
SHEET = Sheet(
    "Plover T2",
    ((0x1209, 1),),
    controls=(
        Control("left", "button", "Left shoulder", "top", "right", at=Place(0x90001)),
        Control("right", "button", "Right shoulder", "top", "left", at=Place(0x90002)),
        Control("stick", "stick", "Stick", "left hand", x=Place(0x10030), y=Place(0x10031)),
        Control("paddle", "button", "Paddle", "back", seen_as="left"),
    ),
    asks=(Ask("charge", "Charge light on", ("V",)), Ask("smell", "No smell of smoke")),
    parts=(Part("left_contact", "Left contact", ("left",)),),
)


class FakeSource:
    """A source whose clock and reports are moved by hand."""

    def __init__(self) -> None:
        self.info = INFO
        self.time_ns = 0
        self.reports: list[tuple[int, bytes]] = []
        self._later: list[tuple[int, bytes]] = []
        self.state = "live"
        self.message = ""
        self.lost = 0
        self.last: tuple[tuple[bytes, bool], ...] = ()

    def now_ns(self) -> int:
        return self.time_ns

    def advance(self, seconds: float) -> None:
        self.time_ns += round(seconds * S)
        due = sorted(item for item in self._later if item[0] <= self.time_ns)
        self._later = [item for item in self._later if item[0] > self.time_ns]
        self.reports += due if self.state == "live" else []

    def later(self, at_ns: int, buttons: int) -> None:
        """A report that will arrive at that moment."""
        self._later.append((at_ns, bytes((buttons, 128, 128))))

    def report(self, buttons: int = 0, x: int = 128, y: int = 128, at_ns: int | None = None) -> None:
        self.reports.append((self.time_ns if at_ns is None else at_ns, bytes((buttons, x, y))))

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        cursor = min(cursor, len(self.reports))
        fresh = self.reports[cursor : cursor + limit]
        block = make_block([t for t, _ in fresh], [r for _, r in fresh], cursor, self.lost)
        return block, cursor + len(fresh)

    def status(self) -> SourceStatus:
        return SourceStatus(self.state, self.lost, "simulated", 3.0, self.message)  # type: ignore[arg-type]

    def send(self, report: bytes, *, feature: bool = False) -> None:
        raise NotImplementedError

    def at_end(self, reports: Sequence[tuple[bytes, bool]]) -> None:
        self.last = tuple(reports)

    def ask_feature(self, report_id: int) -> Request:
        raise NotImplementedError

    def ask_system(self) -> Request:
        return Request(Answer())

    def close(self) -> None:
        self.state = "lost"


@dataclass
class FakeCheck:
    """Counts closures of its control; complete at `wanted`. Each other closure of any button is a finding."""

    name: str
    kinds: tuple[str, ...] = ("button",)
    wanted: int = 2
    beats_per_minute: int = 0
    title: str = ""
    takes: list[Take] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.title = self.name.capitalize()
        self.about = replace(describe(self.name), readings=(), findings=())

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return (control.kind if control else "whole") in self.kinds

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, "Press.", beats_per_minute=self.beats_per_minute)

    def progress(self, take: Take, limits: Limits) -> Progress:
        self.takes.append(take)
        done = self._closures(take)
        marks = {"beats": tuple((t, "registered") for t in take.beats_ns)}
        return Progress(done >= self.wanted, "more", done / self.wanted, self._readings(done), marks)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        self.takes.append(take)
        done = self._closures(take)
        if take.disconnects_ns:
            return Assessment(Outcome.FAIL, (), (Finding("disconnect", "it went away"),))
        if 0 < done < self.wanted:
            return Assessment(Outcome.NOT_DONE, self._readings(done), (), "again, please: press more")
        return Assessment(Outcome.PASS if done else Outcome.FAIL, self._readings(done))

    @staticmethod
    def _readings(done: int) -> tuple[Reading, ...]:
        return (Reading("closures", float(done), "", n=done),)

    @staticmethod
    def _closures(take: Take) -> int:
        if take.control is None:
            return len(take.report_t_ns)
        signal = take.signals.get(take.control.id)
        if not isinstance(signal, ButtonSignal):
            return 0 if signal is None else len(signal.t_ns)
        return int((np.diff(signal.closed.astype(np.int8)) > 0).sum())


def fake_checks() -> dict[str, FakeCheck]:
    checks = (
        FakeCheck("contact"),
        FakeCheck("light", wanted=3, beats_per_minute=120),
        FakeCheck("rest", ("stick",), wanted=1),
        FakeCheck("link", ("whole",), wanted=3),
    )
    return {check.name: check for check in checks}


class FailingRecorder(MemoryRecorder):
    """Records that refuse while `broken` says why."""

    broken = ""

    def keep_capture(self, npz: bytes) -> str:
        self._refuse()
        return super().keep_capture(npz)

    def add_result(self, result: Result) -> Result:
        self._refuse()
        return super().add_result(result)

    def finish_visit(self, visit_id: str) -> Visit:
        self._refuse()
        return super().finish_visit(visit_id)

    def _refuse(self) -> None:
        if self.broken:
            raise RecordError(self.broken)


class Bench:
    """A session on the fakes with the moves of a test."""

    def __init__(
        self,
        *,
        recorder: MemoryRecorder | None = None,
        steps: tuple[Step, ...] | None = None,
        resume: Visit | None = None,
        auto_go: bool = False,
        together: bool = False,
        rested: bool = True,
        real: bool = False,
    ) -> None:
        """`rested`: the pad has reported once, a second ago, with nothing pressed. `real`: with the real checks."""
        self.source = FakeSource()
        if rested:
            self.source.report()
        self.source.advance(1.0)
        self.recorder = recorder or MemoryRecorder()
        self.checks = fake_checks()
        self.wall = datetime(2026, 3, 6, 10, 0, tzinfo=UTC)
        self.slept_ns = self.set_ns = 0
        """the computer slept so long so far; its clock was set forward by so much"""
        self.session = Session(
            UnitOnBench(UNIT, self.source, bind(SHEET, LAYOUT)),
            VisitPlan(steps=steps, resume=resume),
            BenchSetup(
                self.recorder,
                checks=CHECKS if real else self.checks,
                limits=load_limits(),
                auto_go=auto_go,
                together=together,
                wall_clock=self.clock,
                clocks=Clocks(
                    self.awake, lambda: self.awake() + self.slept_ns, lambda: self.awake() + self.slept_ns + self.set_ns
                ),
            ),
        )
        self.events: list[Event] = []

    def clock(self) -> datetime:
        return self.wall + timedelta(microseconds=self.source.time_ns / 1000)

    def awake(self) -> int:
        return self.source.time_ns

    def run(self, seconds: float) -> None:
        """Time passes, a tick every 10 ms."""
        for _ in range(max(1, round(seconds * 100))):
            self.source.advance(0.01)
            self.tick()

    def tick(self) -> None:
        self.session.tick()
        self.events += self.session.take_events()

    def do(self, *commands: Command) -> None:
        for command in commands:
            self.session.do(command)
            self.tick()

    def press(self, buttons: int, times: int = 1) -> None:
        for _ in range(times):
            self.run(0.01)
            self.source.report(buttons)
            self.run(0.03)
            self.source.report(0)
            self.run(0.03)

    def of(self, kind: type) -> list[Event]:
        return [event for event in self.events if isinstance(event, kind)]

    @property
    def results(self) -> list[Result]:
        return self.recorder.results
