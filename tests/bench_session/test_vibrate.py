"""The rumble ask with units that vibrate by the standards: readied, run by turns, always stopped, never waited for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.bench.memory import MemoryRecorder
from station.bench.motors import ON_NS, PAUSE_NS, ROUNDS
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Again, Answer, Choose, Fault, Finish, Step
from station.bench.vibrate import PATIENCE_NS, WIND_UP_S
from station.sheets.bind import bind
from station.sheets.drawup import draw_up
from station.sources.port import Answer as Told
from station.sources.port import Request
from station.words import bench as words
from station.words import vibration
from tests.bench_session.bench_fakes import INFO, UNIT, FakeSource, fake_checks
from tests.rig.feel import HapticPad, PidPad, haptic_descriptor, pid_descriptor

RUMBLE = Step("rumble", "", "Rumble", "whole unit", "whole unit", True)
LOOK = Step("look", "", "Look", "whole unit", "whole unit", True)
TURN_S = (ON_NS + PAUSE_NS) / 1e9
BY_TURNS = [{0}, set(), {1}, set(), {0}, {0, 1}, {1}, set()]
"""both are started, and stopped, one after the other"""


class Plugged(FakeSource):
    """A source on a made-up device; requests are answered a tick later, or not while it hangs."""

    def __init__(self, device: PidPad | HapticPad) -> None:
        super().__init__()
        self.device = device
        self.hangs = False
        self.refuses = ""
        self._asked: list[tuple[int, Request]] = []

    def advance(self, seconds: float) -> None:
        super().advance(seconds)
        while self._asked and not self.hangs:
            report_id, request = self._asked.pop(0)
            found = self.device.get(report_id)
            request.answer = Told(problem="read error") if found is None or self.refuses else Told(found)

    def send(self, report: bytes, *, feature: bool = False) -> None:
        (self.device.feature if feature else self.device.written)(report)

    def ask_feature(self, report_id: int) -> Request:
        self._asked.append((report_id, Request()))
        return self._asked[-1][1]


class Ask:
    """A visit of two asks, the first of them rumble."""

    def __init__(self, device: PidPad | HapticPad) -> None:
        self.device = device
        self.unit = Plugged(device)
        sheet = replace(draw_up(device.layout, INFO), asks=())
        self.session = Session(
            UnitOnBench(UNIT, self.unit, bind(sheet, device.layout)),
            VisitPlan(steps=(RUMBLE, LOOK)),
            BenchSetup(MemoryRecorder(), checks=fake_checks(), limits={}),
        )

    def run(self, seconds: float) -> None:
        for _ in range(round(seconds * 100)):
            self.unit.advance(0.01)
            self.session.tick()

    def do(self, command: object) -> None:
        self.session.do(command)  # type: ignore[arg-type]
        self.session.tick()

    @property
    def hint(self) -> str:
        prompt = self.session.view().prompt
        assert prompt is not None
        return prompt.hint

    @property
    def faults(self) -> list[str]:
        return [e.message for e in self.session.take_events() if isinstance(e, Fault)]


def pid_ask(**more: int) -> Ask:
    return Ask(PidPad(pid_descriptor(), **more))


@pytest.mark.parametrize(
    ("device", "caution"),
    [(PidPad(pid_descriptor()), f" {vibration.IT_MAY_MOVE}"), (HapticPad(haptic_descriptor()), "")],
    ids=["effects", "haptics"],
)
def test_one_the_other_and_both_come_by_turns_and_are_said(device: PidPad | HapticPad, caution: str) -> None:
    ask = Ask(device)
    ask.session.tick()
    assert ask.hint == words.MOTORS_READYING
    said = []
    for _ in range(round(ROUNDS * 3 * TURN_S * 100) + 100):
        ask.run(0.01)
        if not said or said[-1] != ask.hint:
            said.append(ask.hint)
    turns = [
        "Now: first motor only.",
        "Now: pause.",
        "Now: second motor only.",
        "Now: pause.",
        "Now: both.",
        "Now: pause.",
    ]
    assert said == [words.MOTORS_READYING, *[turn + caution for turn in turns] * ROUNDS, words.MOTORS_STOPPED]
    assert device.felt == BY_TURNS * ROUNDS
    assert device.faults == []
    ask.do(Again())
    ask.run(0.2)
    assert device.felt[-1] == {0}, "once more from the first"


@pytest.mark.parametrize("leave", [Answer("pass"), Choose(1), Finish()], ids=["answered", "another step", "finished"])
@pytest.mark.parametrize(
    "running_s", [0.2, TURN_S + 0.2, 2 * TURN_S + 0.2], ids=["the first runs", "the second runs", "both run"]
)
def test_leaving_the_ask_stops_them_and_gives_back_what_was_taken(leave: object, running_s: float) -> None:
    ask = pid_ask()
    ask.run(running_s)
    assert ask.device.felt[-1]
    ask.do(leave)
    ask.run(5.0)
    assert ask.device.felt[-1] == set()
    assert (ask.device.effects, ask.device.faults) == ({}, [])


def test_closing_the_bench_stops_them() -> None:
    ask = pid_ask()
    ask.run(0.2)
    ask.session.close()
    assert (ask.device.felt[-1], ask.device.effects) == (set(), {})


def test_while_they_may_run_the_source_knows_how_to_stop_them_should_the_program_be_killed() -> None:
    ask = pid_ask()
    ask.run(0.2)
    for report, feature in ask.unit.last:
        ask.unit.send(report, feature=feature)
    assert (ask.device.felt[-1], ask.device.effects, ask.device.faults) == (set(), {}, [])
    ask = pid_ask()
    ask.run(0.2)
    ask.do(Answer("pass"))
    assert ask.unit.last == ()


def test_left_while_they_are_made_ready_they_never_run_and_nothing_stays_taken() -> None:
    ask = pid_ask()
    ask.device.slow = 5
    ask.run(0.03)
    ask.do(Choose(1))
    ask.run(3.0)
    assert (ask.device.felt, ask.device.effects, ask.device.faults) == ([], {}, [])


@pytest.mark.parametrize("finish", [True, False], ids=["the visit ends", "the bench is closed"])
def test_closed_while_they_are_made_ready_nothing_stays_taken(monkeypatch: pytest.MonkeyPatch, finish: bool) -> None:
    ask = pid_ask()
    ask.device.slow = 5
    ask.run(0.03)
    assert ask.device.effects, "one is taken by now"
    if finish:
        ask.do(Finish())
    monkeypatch.setattr("station.bench.vibrate.time.sleep", ask.unit.advance)  # time passes for the unit alone
    ask.session.close()
    assert (ask.device.felt, ask.device.effects, ask.device.faults) == ([], {}, [])


def test_a_unit_that_never_answers_holds_nothing_up_when_the_bench_is_closed(monkeypatch: pytest.MonkeyPatch) -> None:
    ask = pid_ask()
    ask.unit.hangs = True
    ask.run(0.03)
    slept: list[float] = []
    monkeypatch.setattr("station.bench.vibrate.time.sleep", slept.append)
    ask.session.close()
    assert sum(slept) == pytest.approx(WIND_UP_S)


def test_left_and_come_back_to_while_they_are_made_ready_they_run() -> None:
    ask = pid_ask()
    ask.device.slow = 5
    ask.run(0.02)
    ask.do(Choose(1))
    ask.do(Choose(0))
    ask.run(0.3)
    assert ask.device.felt == [{0}]


def test_a_full_pool_is_said_once_and_the_ask_stays() -> None:
    ask = pid_ask(room=0)
    ask.run(5.0)
    (said,) = ask.faults
    assert said.startswith("The unit has no room for a vibration effect; close other programs")
    assert ask.hint == words.MOTORS_STOPPED
    ask.device.room = 4
    ask.do(Again())
    ask.run(0.2)
    assert ask.device.felt == [{0}]


def test_room_for_one_effect_is_said_with_the_turn() -> None:
    ask = pid_ask(room=1)
    ask.run(0.2)
    assert ask.hint.startswith("Now: the motor. ")
    assert ask.hint.endswith("The unit has room for one effect only: its second motor is not run.")


def test_a_unit_that_does_not_answer_is_said_once_and_waited_for_in_vain() -> None:
    ask = pid_ask()
    ask.unit.hangs = True
    ask.run(PATIENCE_NS / 1e9 - 0.5)
    assert (ask.hint, ask.faults) == (words.MOTORS_READYING, [])
    ask.run(2.0)
    (said,) = ask.faults
    assert said == "The unit does not tell how it vibrates (it does not answer); plug it in again, then do it again."
    ask.unit.hangs = False
    ask.run(2.0)
    assert ask.device.felt == []


def test_a_unit_that_refuses_the_request_is_said() -> None:
    ask = pid_ask()
    ask.unit.refuses = "yes"
    ask.run(1.0)
    assert ask.faults == ["The unit does not tell how it vibrates (read error); plug it in again, then do it again."]


def test_nothing_is_sent_to_a_unit_that_went_away_and_it_is_readied_anew_when_it_is_back() -> None:
    ask = pid_ask()
    ask.run(0.2)
    ask.unit.state = "lost"
    ask.unit.device = ask.device = PidPad(pid_descriptor())
    ask.run(3.0)
    ask.unit.state = "live"
    ask.run(1.0)
    assert (ask.device.felt, ask.device.faults, ask.hint) == ([], [], words.MOTORS_STOPPED)
    ask.do(Again())
    ask.run(0.2)
    assert ask.device.felt == [{0}]
