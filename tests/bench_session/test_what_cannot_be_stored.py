"""A check with a fault in it, or a value that the records never take, costs one try and not the visit."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from station.bench.runner import SessionThread
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Choose, Go, MarkByHand, Skip
from station.checks.registry import describe
from station.checks.said import sentence
from station.checks.types import Assessment, Finding, FindingKind, Outcome, Prompt, Reading
from station.errors import RecordFull, RecordLocked
from station.records.types import Result
from station.sheets.bind import bind
from tests.bench_session.bench_fakes import (
    LAYOUT,
    SHEET,
    UNIT,
    Bench,
    FailingRecorder,
    FakeCheck,
    FakeSource,
    fake_checks,
)
from tests.bench_session.test_session import LEFT, RIGHT
from tests.records.records_kit import open_store

TWO = (LEFT, RIGHT)


@pytest.fixture
def reported(monkeypatch: pytest.MonkeyPatch) -> list[type]:
    """The kinds of error that reached the crash hook."""
    kinds: list[type] = []
    monkeypatch.setattr(threading, "excepthook", lambda told: kinds.append(told.exc_type))
    return kinds


class Gives(FakeCheck):
    """A check that makes that of any try."""

    what: object = None

    def assess(self, take: object, limits: object) -> Assessment:
        return self.what  # type: ignore[return-value]


def on_records(folder: Path, what: object) -> tuple[tuple[Result, ...], str]:
    """A visit on real records whose first check makes that of its try, and whose second one goes well: what is stored,
    and what was said after the first."""
    with open_store(folder) as store:
        unit = store.add_unit(replace(UNIT, id=""))
        source = FakeSource()
        source.report()
        checks = fake_checks()
        checks["contact"] = Gives("contact")
        checks["contact"].what = what
        session = Session(
            UnitOnBench(unit, source, bind(SHEET, LAYOUT)),
            VisitPlan(steps=TWO),
            BenchSetup(store, checks=checks, limits={}),
        )
        for command in (Go(), Go()):
            session.do(command)
            source.advance(0.01)
            session.tick()
        said = session.view().message
        for command in (Choose(1), Skip("later")):
            session.do(command)
            session.tick()
        return store.history(unit.id).results, said


FAIL = Outcome.FAIL
BAD = {
    "a reading that is no number": Assessment(FAIL, (Reading("closures", float("nan"), ""),)),
    "a finding's parameter that is no number": Assessment(FAIL, (), (Finding("x", params={"a": float("inf")}),)),
    "an outcome as text": Assessment("fail"),  # type: ignore[arg-type]
    "a parameter of no kind": Assessment(FAIL, (), (Finding("x", params={"a": object()}),)),  # type: ignore[dict-item]
    "a unit of no kind": Assessment(FAIL, (Reading("closures", 1.0, object()),)),  # type: ignore[arg-type]
}


@pytest.mark.parametrize("what", BAD.values(), ids=BAD)
def test_what_the_records_never_take_is_an_interrupted_try_and_the_visit_goes_on(
    what: object, tmp_path: Path, reported: list[type]
) -> None:
    (first, second), said = on_records(tmp_path, what)
    assert first.assessment == Assessment(Outcome.INTERRUPTED)
    assert first.capture_sha256, "its evidence is kept"
    assert "could not be written down" in first.reason
    assert said == first.reason
    assert (second.control, second.assessment.outcome, second.reason) == ("right", Outcome.NOT_DONE, "later")


def test_numbers_of_numpy_are_numbers(tmp_path: Path) -> None:
    params = {"a": np.int64(3), "b": np.bool_(True), "c": np.float32(0.5)}
    (first, _), _ = on_records(tmp_path, Assessment(FAIL, (), (Finding("x", params=params),)))  # type: ignore[arg-type]
    assert first.assessment.outcome is FAIL
    assert first.assessment.findings[0].params == {"a": 3, "b": True, "c": 0.5}


def test_the_word_of_a_person_stands_although_the_readings_beside_it_cannot_be_stored(tmp_path: Path) -> None:
    class Unsteady(FakeCheck):
        @staticmethod
        def _readings(done: int) -> tuple[Reading, ...]:
            return (Reading("closures", float("nan"), ""),)

    with open_store(tmp_path) as store:
        unit = store.add_unit(replace(UNIT, id=""))
        source = FakeSource()
        source.report()
        session = Session(
            UnitOnBench(unit, source, bind(SHEET, LAYOUT)),
            VisitPlan(steps=TWO),
            BenchSetup(store, checks={**fake_checks(), "contact": Unsteady("contact")}, limits={}),
        )
        for command in (Go(), None, MarkByHand(FAIL, "it rattles")):
            if command is not None:
                session.do(command)
            source.advance(0.2)
            session.tick()
        (stored,) = store.history(unit.id).results
    assert (stored.assessment, stored.by_hand, stored.reason) == (Assessment(FAIL), True, "it rattles")


def test_a_check_that_gives_nothing_is_interrupted(reported: list[type]) -> None:
    bench = Bench(steps=TWO)
    bench.checks["contact"] = Gives("contact")
    with pytest.raises(TypeError):
        bench.do(Go(), Go())
    assert bench.results == []


class Speechless(FakeCheck):
    """It cannot say what to do."""

    def prompt(self, control: object, sheet: object) -> Prompt:
        raise KeyError("nope")


def test_a_check_that_cannot_say_what_to_do_is_shown_as_such_and_the_others_go_on(reported: list[type]) -> None:
    bench = Bench(steps=(LEFT, replace(RIGHT, check="rest", control="stick")))
    bench.checks["contact"] = Speechless("contact")
    ticked = threading.Event()
    tick = bench.session.tick

    def watched() -> None:
        bench.source.advance(0.01)
        tick()
        if not bench.session._commands:
            ticked.set()

    bench.session.tick = watched  # type: ignore[method-assign]
    thread = SessionThread(bench.session, period_s=0.0001)
    thread.start()

    def do(*commands: object) -> None:
        for command in commands:
            bench.session.do(command)  # type: ignore[arg-type]
            ticked.clear()
            assert ticked.wait(20)

    do(Choose(0), Go())
    view = bench.session.view()
    assert view.prompt is not None
    assert view.prompt.do == "This check cannot be run."
    assert view.steps[0].outcome is Outcome.INTERRUPTED
    assert "could not be run" in view.message
    assert thread.is_alive()
    do(Choose(1), Go())
    for _ in range(2000):
        if len(bench.results) == 2:
            break
        ticked.clear()
        ticked.wait(20)
    thread.stop()
    assert [(r.check, r.assessment.outcome.value) for r in bench.results] == [
        ("contact", "interrupted"),
        ("rest", "pass"),
    ]
    assert set(reported) == {KeyError}


@pytest.mark.parametrize("fault", [KeyError("nope"), AttributeError("nope"), ZeroDivisionError()], ids=repr)
def test_a_sentence_that_cannot_be_picked_falls_back_on_what_was_written(
    fault: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    def says(params: object) -> str:
        raise fault

    about = replace(describe("rest"), findings=(FindingKind("swayed", says),))
    monkeypatch.setattr("station.checks.said.finding_kind", lambda check, code: about.findings[0])
    assert sentence("rest", Finding("swayed", "it swayed", params={"turns": 2})) == "it swayed"


class Refusing(FailingRecorder):
    """Records that raise what `why` makes."""

    why: Callable[[], Exception] | None = None

    def _refuse(self) -> None:
        if self.why is not None:
            raise self.why()


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        (RecordFull, "make room on it. Every result is kept and will be stored as soon as there is room."),
        (RecordLocked, "close it, or wait until it is done. Every result is kept and will be stored as soon as"),
    ],
)
def test_a_result_that_waits_has_not_to_be_done_again(kind: type[Exception], said: str) -> None:
    recorder = Refusing()
    bench = Bench(steps=TWO, recorder=recorder)
    bench.do(Go())
    recorder.why = lambda: kind("The disk is full; do the last step again.")
    bench.do(Go())
    message = bench.session.view().message
    assert said in message
    assert "again" not in message
