"""Tries at a press that go on from each other: without the twin, after a fail, after a treatment; and the long form."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from station.bench.auto import AutoPerson
from station.bench.plan import plan
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Again, Beat, Command, Finish, Go, LongForm, TakeBack
from station.capture.file import read_capture
from station.checks.light import LONG
from station.checks.types import Outcome
from station.evidence.assess import assess_capture
from station.records.store import Store
from station.records.types import Result, Treatment
from station.sheets.bind import bind
from station.sources.simulated import Fault, PadDesign, SimulatedHand, SimulatedSource, UnitSpec, faults
from tests.bench_session.bench_fakes import UNIT
from tests.bench_session.test_simulated_visit import sheet_of
from tests.records.records_kit import open_store

SHOULDER = "left_shoulder"
AWAY_NS = 2_000_000_000


class Bench:
    """The light press of one shoulder of a simulated unit, on real records; nothing but what is asked for is done."""

    def __init__(self, store: Store, *broken: Fault) -> None:
        design = PadDesign("16bit", 1000)
        self.store = store
        self.unit = store.add_unit(replace(UNIT, id="", model=design.name))
        sheet = sheet_of(design)
        self.hand = SimulatedHand(skill=1.0, seed=3)
        self.source = SimulatedSource(UnitSpec(design, 11, broken), self.hand, realtime=False)
        steps = [s for s in plan(sheet) if (s.control, s.check) == (SHOULDER, "light")]
        self.session = Session(
            UnitOnBench(self.unit, self.source, bind(sheet, design.layout)), VisitPlan(steps=steps), BenchSetup(store)
        )
        self.person = AutoPerson(sheet, self.hand, self.session.do, self.source.now_ns)

    def one_try(self, first: Command) -> Result:
        """Begin by this command and let the person press until there is a result."""
        before = len(self.results)
        self.session.do(first)
        self._tick()
        for _ in range(12_000):
            if len(self.results) > before:
                return self.results[-1]
            self._tick()
        raise AssertionError("no result in two minutes")

    def _tick(self) -> None:
        self.source.advance(0.01)
        self.session.tick()
        if self.hand.takes_back(self.source.now_ns()):
            self.session.do(TakeBack())
        for event in self.session.take_events():
            self.person.handle(event, self.session.view())

    @property
    def results(self) -> tuple[Result, ...]:
        return self.store.results_of_visit(self.session.view().visit.id)


def counts(result: Result) -> dict[str, float | None]:
    return {r.name: r.value for r in result.assessment.readings}


@pytest.fixture
def store(tmp_path: Path):
    with open_store(tmp_path) as opened:
        yield opened


def test_twins_that_miss_together_are_looked_at_one_by_one_and_fail(store: Store) -> None:
    bench = Bench(store, faults.missed_together(SHOULDER, 0.4), faults.missed_together("right_shoulder", 0.4))
    first = bench.one_try(Again())
    assert [f.code for f in first.assessment.findings] == ["neither"]
    assert first.assessment.outcome is Outcome.NOT_DONE
    prompt = bench.session.view().prompt
    assert prompt is not None
    assert "right shoulder" not in prompt.do
    second = bench.one_try(Again())
    assert second.assessment.outcome is Outcome.FAIL
    assert counts(second)["neither"] == 0
    marks = read_capture(store.capture_path(second.capture_sha256)).marks
    assert {m.witness for m in marks} == {None}


def test_a_second_try_goes_on_from_the_first_and_none_after_a_treatment(store: Store) -> None:
    bench = Bench(store, faults.missed_in_runs(SHOULDER, 0.2, 1.2))
    first, second = bench.one_try(Again()), bench.one_try(Again())
    assert first.assessment.outcome is Outcome.FAIL
    assert counts(second)["tries"] == 2
    assert (counts(second)["beats"] or 0) > (counts(first)["beats"] or 0)
    store.add_treatment(Treatment("", bench.unit.id, "open and clean", "", "Left shoulder contact"))
    third = bench.one_try(Again())
    assert counts(third)["tries"] == 1


def test_the_long_form_counts_100_presses_and_reads_the_same_again(store: Store) -> None:
    bench = Bench(store)
    bench.session.do(LongForm())
    done = bench.one_try(Go())
    assert (done.check, done.assessment.outcome) == (LONG, Outcome.PASS)
    assert (counts(done)["beats"], counts(done)["missed"]) == (100, 0)
    assert counts(done)["miss_rate_upper"] == pytest.approx(100 * (1 - 0.05**0.01))
    capture = read_capture(store.capture_path(done.capture_sha256))
    again = assess_capture(capture, sheet_of(PadDesign("16bit", 1000)))
    assert again.checks[0].assessment == done.assessment
    bench.session.do(Finish())
    bench.session.tick()
    visit = bench.session.view().visit
    back = Session(
        UnitOnBench(bench.unit, bench.source, bind(bench.session.sheet, PadDesign("16bit", 1000).layout)),
        VisitPlan(steps=[s.step for s in bench.session.view().steps if s.step.check == "light"], resume=visit),
        BenchSetup(store),
    )
    assert [v.step.check for v in back.view().steps] == ["light", LONG]


def test_a_button_that_stays_closed_is_named(store: Store) -> None:
    done = Bench(store, faults.stays_closed(SHOULDER, 0.15, 320.0)).one_try(Again())
    assert done.assessment.outcome is Outcome.FAIL
    assert "stays_closed" in {f.code for f in done.assessment.findings}


def test_one_key_takes_back_what_went_by_while_the_hand_was_at_the_keyboard(store: Store) -> None:
    bench = Bench(store)
    bench.session.do(Again())
    begun_ns, left_ns, taken = bench.source.now_ns(), 0, False
    states: list[str] = []
    while states.count("registered") < 16 and bench.source.now_ns() - begun_ns < 60e9:
        bench.source.advance(0.01)
        bench.session.tick()
        away = bool(left_ns) and not taken
        for event in bench.session.take_events():
            if not (away and isinstance(event, Beat)):  # nobody presses on it
                bench.person.handle(event, bench.session.view())
        states = [beat.state for beat in bench.session.view().beats]
        if not left_ns and states.count("registered") >= 8:
            left_ns = bench.source.now_ns()
        if away and bench.source.now_ns() - left_ns > AWAY_NS:
            assert states.count("neither") >= 2
            bench.session.do(TakeBack())
            taken = True
    assert taken
    assert not bench.results, "two that neither registered would have had it done alone"
    assert (states.count("neither"), states.count("count-in")) == (0, 6), "all with one key, and two clicks lead in"
    assert states.count("void") >= 3


def test_a_slip_of_two_beats_waits_for_the_key_while_the_hand_still_presses(store: Store) -> None:
    """Who noticed that a beat went by presses on until the hand goes to the key."""
    bench = Bench(store)
    bench.session.do(Again())
    begun_ns, slipped_ns, taken = bench.source.now_ns(), 0, False
    states: list[str] = []
    left_out = 0
    while states.count("registered") < 20 and bench.source.now_ns() - begun_ns < 60e9:
        bench.source.advance(0.01)
        bench.session.tick()
        for event in bench.session.take_events():
            if isinstance(event, Beat) and states.count("registered") >= 8 and left_out < 2:
                left_out += 1
                slipped_ns = slipped_ns or bench.source.now_ns()
                bench.hand.rest(event.at_ns)
            elif isinstance(event, Beat) and left_out == 2 and not taken:
                bench.hand.ask("light", SHOULDER, "right_shoulder", "button", 120, event.at_ns)
                bench.person.handle(event, bench.session.view())
                left_out += 1
            else:
                bench.person.handle(event, bench.session.view())
        states = [beat.state for beat in bench.session.view().beats]
        if slipped_ns and not taken and bench.source.now_ns() - slipped_ns > AWAY_NS:
            assert states.count("neither") == 2
            assert states[-2] == "registered"
            bench.session.do(TakeBack())
            taken = True
    assert taken
    assert not bench.results, "two that neither registered would have had it done alone"
    assert states.count("neither") == 0
