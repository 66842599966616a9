"""A unit is asked for its cell when it is there and now and then, never while a check runs."""

from __future__ import annotations

import pytest

from station.bench.cell import EVERY_NS, MOST_FAILURES, CellWatch
from station.bench.memory import MemoryRecorder
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Go, Step
from station.errors import DeviceBusy
from station.hid.descriptor import parse_descriptor
from station.sheets.bind import bind
from station.sheets.drawup import draw_up
from station.sheets.power import Power
from station.sources.port import Answer, Request
from tests.bench_session.bench_fakes import INFO, UNIT, FakeSource
from tests.sheets.test_power import ASKED, PAD

LAYOUT = parse_descriptor(bytes.fromhex(PAD + ASKED + "C0"))
CHARGE = b"\x07\x4b\x05"


class Cell(FakeSource):
    """Notes what it is asked for; answers when the test says so."""

    def __init__(self) -> None:
        super().__init__()
        self.features: list[tuple[int, Request]] = []
        self.systems: list[Request] = []
        self.busy = False

    def ask_feature(self, report_id: int) -> Request:
        if self.busy:
            raise DeviceBusy("The pad does not take commands; plug it in again.")
        self.features.append((report_id, Request()))
        return self.features[-1][1]

    def ask_system(self) -> Request:
        self.systems.append(Request())
        return self.systems[-1]

    def answer(self, feature: Answer, system: Answer | None = None) -> None:
        self.features[-1][1].answer = feature
        self.systems[-1].answer = system or Answer()


def watched() -> tuple[Cell, CellWatch]:
    source = Cell()
    return source, CellWatch(source, LAYOUT)


def test_it_is_asked_at_once_and_every_half_minute_when_no_check_runs() -> None:
    source, cell = watched()
    times = []
    for now_ns in range(0, 200_000_000_000, 1_000_000_000):
        cell.tick(now_ns, live=True, calm=not 40_000_000_000 <= now_ns < 100_000_000_000)
        if source.features and source.features[-1][1].answer is None:
            times.append(now_ns // 10**9)
            source.answer(Answer(CHARGE))
    assert EVERY_NS == 30 * 10**9
    assert times == [0, 30, 100, 130, 160, 190]
    assert [report for report, _ in source.features] == [7] * 6
    assert len(source.systems) == 6, "its battery may come later"


def test_the_device_counts_before_the_system_and_both_add_up() -> None:
    source, cell = watched()
    cell.tick(0, live=True, calm=True)
    assert cell.told() == Power()
    source.answer(Answer(b"\x07\x4b"), Answer(system={"capacity": "99", "status": "Charging"}))
    cell.tick(1, live=True, calm=False)
    assert cell.told() == Power(75.0, 1.0, charging=True)


def test_what_it_no_longer_says_is_forgotten() -> None:
    source, cell = watched()
    cell.tick(0, live=True, calm=True)
    source.answer(Answer(CHARGE), Answer(system={"capacity": "70"}))
    cell.tick(1, live=True, calm=True)
    assert cell.told().level_pct == 75.0
    cell.tick(EVERY_NS, live=True, calm=True)
    source.answer(Answer(problem="read error"), Answer(system={"capacity": "70"}))
    cell.tick(EVERY_NS + 1, live=True, calm=True)
    assert cell.told() == Power(70.0, 1.0)


def test_a_refusal_is_told_and_after_some_it_is_left_in_peace() -> None:
    source, cell = watched()
    for turn in range(10):
        cell.tick(turn * EVERY_NS, live=True, calm=True)
        if source.features[-1][1].answer is None:
            source.answer(Answer(problem="read error"))
        cell.tick(turn * EVERY_NS + 1, live=True, calm=True)
    assert len(source.features) == MOST_FAILURES
    assert cell.told() == Power(reason="the unit was asked and did not say it (read error)")


def test_while_an_answer_is_out_nothing_more_is_asked() -> None:
    source, cell = watched()
    for turn in range(10):
        cell.tick(turn * EVERY_NS, live=True, calm=True)
    assert len(source.features) == 1


def test_a_device_that_takes_no_commands_is_told() -> None:
    source, cell = watched()
    source.busy = True
    cell.tick(0, live=True, calm=True)
    assert "does not take commands" in cell.told().reason


def test_plugged_in_again_it_is_asked_anew() -> None:
    source, cell = watched()
    cell.tick(0, live=True, calm=True)
    source.answer(Answer(CHARGE))
    cell.tick(1, live=True, calm=True)
    cell.tick(2, live=False, calm=True)
    assert cell.told() == Power()
    cell.tick(3, live=True, calm=True)
    assert len(source.features) == 2


@pytest.mark.parametrize(
    ("answer", "expected"),
    [
        (Answer(CHARGE), {"battery": 75.0, "charging": 1.0, "fully_charged": 0.0, "powered": 1.0}),
        (Answer(problem="read error"), {"battery": None}),
    ],
    ids=["answered", "refused"],
)
def test_the_result_of_the_link_check_holds_it(answer: Answer, expected: dict[str, float | None]) -> None:
    source, recorder = Cell(), MemoryRecorder()
    link = Step("link", "", "Link", "whole unit", "whole unit")
    session = Session(
        UnitOnBench(UNIT, source, bind(draw_up(LAYOUT, INFO), LAYOUT)),
        VisitPlan(steps=(link,)),
        BenchSetup(recorder, limits={}),
    )
    session.tick()
    source.answer(answer)
    session.tick()
    session.do(Go())
    for n in range(3000):
        source.reports.append((source.time_ns, bytes((1, n * 3 % 200, n * 7 % 200))))
        source.advance(0.004)
        session.tick()
    (result,) = recorder.results
    told = {
        r.name: r.value
        for r in result.assessment.readings
        if r.name in ("battery", "charging", "fully_charged", "powered")
    }
    assert told == expected
