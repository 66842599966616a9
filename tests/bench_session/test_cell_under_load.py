"""The cell under load: it comes in at the end of a visit on the cell, and says no more than its steps allow."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from station.bench.memory import MemoryRecorder
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.strengths import with_strengths
from station.bench.types import Finish, Step
from station.checks.cell import Cell, told_of
from station.checks.limits import load_limits
from station.checks.said import remarks, sentence
from station.checks.takes import take_between
from station.checks.types import Assessment, Outcome
from station.checks.watched import CellTold, Watched
from station.records.types import Result
from station.sheets.bind import bind
from station.sheets.drawup import draw_up
from station.sheets.model import Sheet
from station.sheets.power import Power
from station.sources.port import Answer
from tests.bench_session.bench_fakes import INFO, UNIT
from tests.bench_session.test_cell import LAYOUT
from tests.bench_session.test_cell import Cell as AskedCell
from tests.checks.axis_moves import STICK

S = 1_000_000_000
LIMITS = load_limits()


def judged(level: Callable[[float], float], minutes: float, step: float = 1.0) -> Assessment:
    """Of a cell that says `level` (of hours) every half minute."""
    told = tuple(CellTold(t * S, level(t / 3600), step, True) for t in range(0, int(60 * minutes) + 1, 30))
    take = take_between(Sheet("x", controls=(STICK,)), {}, 0, 0, np.zeros(0, np.int64))
    return Cell().assess(replace(take, watched=Watched(0, 0, cell=told)), LIMITS)


@pytest.mark.parametrize(
    ("level", "minutes", "outcome", "codes"),
    [
        pytest.param(lambda h: round(83 - 10 * h), 30, Outcome.PASS, [], id="ten hours to empty"),
        pytest.param(lambda h: round(83 - 45 * h), 30, Outcome.BORDERLINE, ["falls_fast"], id="two hours"),
        pytest.param(lambda h: round(83 - 90 * h), 30, Outcome.FAIL, ["falls_fast"], id="one hour"),
        pytest.param(lambda h: 75 - 25 * (h > 0.2), 20, Outcome.PASS, [], id="one step of a quarter shows nothing"),
        pytest.param(
            lambda h: 100 - 25 * (h > 0.2) - 25 * (h > 0.4), 30, Outcome.BORDERLINE, ["falls_fast"], id="two do"
        ),
    ],
)
def test_it_is_told_only_beyond_what_the_steps_allow(level, minutes, outcome, codes) -> None:
    found = judged(level, minutes)
    assert found.outcome is outcome
    assert [f.code for f in found.findings] == codes
    assert all(
        "%" in sentence("cell_under_load", f) and "{" not in sentence("cell_under_load", f) for f in found.findings
    )


def test_it_says_what_it_cannot_see() -> None:
    assert remarks("cell_under_load", judged(lambda h: 75.0, 15)) == (
        "falls at least, an hour 0\xa0%/h: told in steps of 25 %: over this time a fall by less than 82 % an hour "
        "cannot be seen",
    )


def test_too_short_is_again() -> None:
    assert (
        judged(lambda h: 75.0, 9).again == "again, please: leave the unit on its own cell for ten minutes of the visit"
    )


@pytest.mark.parametrize(
    ("power", "bus", "drains"),
    [
        (Power(80.0, 1.0), "bluetooth", True),
        (Power(80.0, 1.0), "usb", False),
        (Power(80.0, 1.0, charging=False), "usb", True),
        (Power(80.0, 1.0, charging=False, full=True), "usb", False),
        (Power(80.0, 1.0, charging=True), "bluetooth", False),
        (Power(80.0, 1.0, charging=False, powered=True), "bluetooth", False),
        (Power(None, 0.0, charging=False), "bluetooth", None),
    ],
)
def test_whether_it_lives_on_its_cell(power: Power, bus: str, drains: bool | None) -> None:
    told = told_of(power, 0, bus)
    assert (told.drains if told is not None else None) is drains


def visit(minutes: int, falls: bool) -> MemoryRecorder:
    """A visit in which nothing is done but waiting; the unit is asked and answers."""
    source, recorder = AskedCell(), MemoryRecorder()
    link = Step("link", "", "Link", "whole unit", "whole unit")
    session = Session(
        UnitOnBench(UNIT, source, bind(draw_up(LAYOUT, INFO), LAYOUT)), VisitPlan(steps=(link,)), BenchSetup(recorder)
    )
    for second in range(60 * minutes):
        session.tick()
        if source.features and source.features[-1][1].answer is None:
            level = 0x4B - (second // 30 if falls else 0)
            source.answer(Answer(bytes((7, level, 0))))
        source.advance(1.0)
    session.do(Finish())
    for _ in range(5):
        session.tick()
        source.advance(0.1)
    assert session.finished
    return recorder


def test_it_comes_in_when_the_visit_ends_and_stays_with_the_unit() -> None:
    (result,) = visit(15, falls=True).results
    assert (result.check, result.assessment.outcome) == ("cell_under_load", Outcome.FAIL)
    found = {r.name: r.value for r in result.assessment.readings}
    assert found["fall_per_hour"] == pytest.approx(120.0, rel=0.05)
    assert result.capture_sha256 in (None, "")
    assert [s.check for s in with_strengths((), (result,))] == ["cell_under_load"]


@pytest.mark.parametrize("minutes", [5, 15])
def test_a_short_visit_and_a_good_cell_are_no_finding(minutes: int) -> None:
    results: list[Result] = visit(minutes, falls=False).results
    assert [r.assessment.outcome for r in results] == ([] if minutes < 10 else [Outcome.PASS])
