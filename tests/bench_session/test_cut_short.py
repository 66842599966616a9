"""A try that was cut short has no end in its capture: measured again it is what the record says, interrupted."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.app.shelf_of_sheets import SheetShelf
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Choose, Command, Go, MarkByHand, Skip
from station.capture.file import read_capture
from station.checks.types import Outcome
from station.evidence.assess import assess_file, takes_of
from station.records.store import Store
from station.records.types import Result, Unit
from station.sources.simulated.samples import sample, sample_hand
from station.sources.simulated.source import SimulatedSource
from tests.records.records_kit import open_store


class Visit:
    """The real session and the real checks on a simulated unit that a hand presses for as long as it is asked to."""

    def __init__(self, store: Store, folder: Path) -> None:
        one = sample("SM-07-01")
        self.store, self.hand = store, sample_hand(one)
        self.source = SimulatedSource(one.spec, self.hand, realtime=False)
        self.known = SheetShelf(folder / "sheets").know(self.source.info)
        self.unit = store.add_unit(Unit("", "SM-07-01", "Plover T2", sheet=self.known.sheet.name))
        self.session = Session(UnitOnBench(self.unit, self.source, self.known.binding), VisitPlan(), BenchSetup(store))
        self.run(0.5)

    def run(self, seconds: float) -> None:
        for _ in range(round(seconds / 0.02)):
            self.source.advance(0.02)
            self.session.tick()

    def do(self, command: Command) -> None:
        self.session.do(command)
        self.run(0.1)

    def begin(self, check: str, control: str, until: float) -> None:
        """Start a try and let the hand do what it asks for, until the check has seen so much of it (0…1)."""
        steps = self.session.view().steps
        self.do(Choose(next(i for i, v in enumerate(steps) if (v.step.check, v.step.control) == (check, control))))
        self.do(Go())
        wanted = self.known.sheet.control(control)
        self.hand.ask(check, control, wanted.twin, wanted.kind, 0, self.source.now_ns())
        for _ in range(1000):
            self.run(0.02)
            progress = self.session.view().progress
            if progress is None or progress.share >= until:
                break

    def last(self) -> Result:
        self.hand.rest(self.source.now_ns())
        self.run(0.3)
        return self.store.history(self.unit.id).results[-1]

    def measured_again(self, result: Result) -> Outcome:
        (check,) = assess_file(self.store.capture_path(result.capture_sha256)).checks
        return check.assessment.outcome


@pytest.fixture
def visit(tmp_path: Path):
    with open_store(tmp_path) as store:
        yield Visit(store, tmp_path)


@pytest.mark.parametrize(("check", "control"), [("contact", "east"), ("rest", "left_stick")])
def test_a_try_that_the_loss_of_the_unit_cut_short_stays_interrupted(visit: Visit, check: str, control: str) -> None:
    """It was measured again as a fail or a pass, whatever had been seen of it so far."""
    visit.begin(check, control, 0.5)
    visit.source.unplug()
    result = visit.last()
    assert (result.check, result.assessment.outcome) == (check, Outcome.INTERRUPTED)
    assert visit.measured_again(result) is Outcome.INTERRUPTED


def test_a_try_that_another_step_cut_short_stays_interrupted(visit: Visit) -> None:
    visit.begin("rest", "left_stick", 0.5)
    visit.do(Choose(0))
    assert visit.measured_again(visit.last()) is Outcome.INTERRUPTED


def test_a_try_that_was_skipped_while_it_ran_is_not_judged_either(visit: Visit) -> None:
    visit.begin("contact", "east", 0.3)
    visit.do(Skip("no time"))
    result = visit.last()
    assert (result.by_hand, result.assessment.outcome) == (True, Outcome.NOT_DONE)
    assert visit.measured_again(result) is Outcome.INTERRUPTED


def test_a_try_that_came_to_a_verdict_is_measured_again_as_it_was(visit: Visit) -> None:
    visit.begin("rest", "left_stick", 1.1)
    result = visit.last()
    assert result.assessment.outcome in (Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL)
    assert visit.measured_again(result) is result.assessment.outcome


def test_the_evidence_under_a_mark_by_hand_is_still_read(visit: Visit) -> None:
    """A verdict by hand ends the try: a certificate draws its dial from what was recorded until then."""
    visit.begin("rest", "left_stick", 0.5)
    visit.do(MarkByHand(Outcome.PASS, "held still by the hand"))
    result = visit.last()
    capture = read_capture(visit.store.capture_path(result.capture_sha256))
    assert [key for key, _ in takes_of(capture, visit.known.sheet)] == [("rest", "left_stick")]
