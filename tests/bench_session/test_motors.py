"""The rumble ask runs the motors of the sheet by turns and never leaves them running."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.bench.memory import MemoryRecorder
from station.bench.motors import ON_NS, PAUSE_NS, ROUNDS, Motors
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Again, Answer, Choose, Fault, Finish, Step
from station.errors import DeviceBusy
from station.sheets.bind import bind
from station.sheets.vibration import Ready, Send, Turn
from tests.bench_session.bench_fakes import LAYOUT, SHEET, UNIT, FakeSource, fake_checks

LEFT, RIGHT, BOTH, OFF = b"\x02\x80\x00", b"\x02\x00\x80", b"\x02\x80\x80", b"\x02\x00\x00"
REPORTS = {"left": LEFT, "right": RIGHT, "both": BOTH, "off": OFF}
RUMBLE = Step("rumble", "", "Rumble", "whole unit", "whole unit", True)
LOOK = Step("look", "", "Look", "whole unit", "whole unit", True)
TURN_S = (ON_NS + PAUSE_NS) / 1e9


class Pad(FakeSource):
    """Remembers what it was sent, or refuses it."""

    def __init__(self) -> None:
        super().__init__()
        self.sent: list[bytes] = []
        self.refuses = False

    def send(self, report: bytes, *, feature: bool = False) -> None:
        if self.refuses:
            raise DeviceBusy("The pad does not take commands; plug it in again.")
        assert not feature
        self.sent.append(report)


class Ask:
    """A visit of two asks, the first of them rumble."""

    def __init__(self, reports: dict[str, bytes] | None = None) -> None:
        self.pad = Pad()
        sheet = replace(SHEET, rumble=REPORTS if reports is None else reports)
        self.session = Session(
            UnitOnBench(UNIT, self.pad, bind(sheet, LAYOUT)),
            VisitPlan(steps=(RUMBLE, LOOK)),
            BenchSetup(MemoryRecorder(), checks=fake_checks(), limits={}),
        )

    def run(self, seconds: float) -> None:
        for _ in range(round(seconds * 100)):
            self.pad.advance(0.01)
            self.session.tick()

    def do(self, command: object) -> None:
        self.session.do(command)  # type: ignore[arg-type]
        self.session.tick()

    @property
    def hint(self) -> str:
        prompt = self.session.view().prompt
        assert prompt is not None
        return prompt.hint


def test_left_right_and_both_come_by_turns_and_are_said() -> None:
    ask = Ask()
    ask.run(0.2)
    assert (ask.pad.sent, ask.hint) == ([LEFT], "Now: left only.")
    ask.run(TURN_S)
    assert (ask.pad.sent, ask.hint) == ([LEFT, OFF, RIGHT], "Now: right only.")
    ask.run(TURN_S)
    assert (ask.pad.sent[3:], ask.hint) == ([OFF, BOTH], "Now: both.")


def test_they_stop_after_some_rounds_and_run_again_when_asked() -> None:
    ask = Ask()
    ask.run(3 * ROUNDS * TURN_S + 1)
    assert ask.pad.sent == [LEFT, OFF, RIGHT, OFF, BOTH, OFF] * ROUNDS
    assert ask.hint.startswith("The motors have stopped")
    ask.do(Again())
    ask.run(0.1)
    assert ask.pad.sent[-1] == LEFT


@pytest.mark.parametrize("leave", [Answer("pass"), Choose(1), Finish()], ids=["answered", "another step", "finished"])
def test_leaving_the_ask_stops_them(leave: object) -> None:
    ask = Ask()
    ask.run(0.2)
    ask.do(leave)
    ask.run(5.0)
    assert ask.pad.sent == [LEFT, OFF]


def test_closing_the_bench_stops_them() -> None:
    ask = Ask()
    ask.run(0.2)
    ask.session.close()
    assert ask.pad.sent == [LEFT, OFF]


def test_nothing_is_sent_to_a_unit_that_went_away() -> None:
    ask = Ask()
    ask.run(0.2)
    ask.pad.state = "lost"
    ask.run(3.0)
    assert ask.pad.sent == [LEFT]


def test_a_unit_that_takes_no_commands_is_said_once() -> None:
    ask = Ask()
    ask.pad.refuses = True
    ask.run(10.0)
    assert [type(e) for e in ask.session.take_events()].count(Fault) == 1


def test_a_sheet_without_motors_leaves_the_ask_as_it_was() -> None:
    ask = Ask({})
    ask.run(3.0)
    assert (ask.pad.sent, ask.hint) == ([], "")


def test_only_the_motors_of_the_sheet_run() -> None:
    motors = Motors(Ready((Turn("both", (Send(BOTH),)),), (Send(OFF),)), 0)
    sent = [motors.due(t) for t in range(0, 10_000_000_000, 10_000_000)]
    assert [send.report for sends in sent for send in sends] == [BOTH, OFF] * ROUNDS
