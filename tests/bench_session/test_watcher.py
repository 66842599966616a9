"""The whole visit watched: a ghost press is found, kept with its evidence, and nothing takes it back."""

from __future__ import annotations

from station.bench.plan import plan
from station.bench.watcher import Watcher
from station.capture.file import read_capture
from station.checks.types import Outcome
from station.sheets.bind import bind
from station.sources.simulated import PadDesign, SimulatedHand, SimulatedSource, UnitSpec, faults
from tests.bench_session.test_simulated_visit import EACH_KIND, Visit, sheet_of

S = 1_000_000_000
DESIGN = PadDesign("8bit", 250)


def test_a_button_that_closes_when_a_stick_is_pushed_fails_with_its_evidence() -> None:
    visit = Visit(DESIGN, EACH_KIND, (faults.closes_when_pushed("south", "left_stick", 70.0),))
    assert visit.outcomes[".quiet"] is Outcome.FAIL
    assert visit.codes("", "quiet") == {"by_itself"}
    assert {o for key, o in visit.outcomes.items() if key != ".quiet"} == {Outcome.PASS}
    (result,) = [r for r in visit.recorder.results if r.check == "quiet"]
    capture = read_capture(visit.recorder.captures[result.capture_sha256])
    assert [m.check for m in capture.marks] == ["quiet", "quiet"]
    south = bind(visit.sheet, DESIGN.layout).signals(capture.block)["south"]
    assert south.closed.any()  # type: ignore[union-attr]


def test_a_button_that_closes_every_31_seconds_does_not_pass() -> None:
    visit = Visit(DESIGN, EACH_KIND, (faults.closes_at_times("south", 31.0, 80.0, 7.0),))
    assert visit.outcomes[".quiet"] in (Outcome.FAIL, Outcome.BORDERLINE)


def test_it_comes_last_in_the_plan() -> None:
    assert [step.check for step in plan(sheet_of(DESIGN)) if step.watches] == ["quiet"]
    assert plan(sheet_of(DESIGN))[-1].watches


def watched(*fault: faults.Fault, seconds: int = 20, design: PadDesign = DESIGN) -> Watcher:
    source = SimulatedSource(UnitSpec(design, 3, fault), SimulatedHand(1.0, 1), realtime=False)
    watcher, cursor = Watcher(bind(sheet_of(design), design.layout), 0), 0
    for _ in range(seconds * 4):
        source.advance(0.25)
        block, cursor = source.take(cursor)
        watcher.add(block)
        watcher.look(source.now_ns())
    return watcher


def test_movements_are_counted_once_across_pieces_and_for_units_that_report_on_change() -> None:
    for design in (DESIGN, PadDesign("packed", 125, on_change=True)):
        fault = faults.twitches("right_stick", "x", 5.0, 150.0, 50.0, 2.95)
        seen = watched(fault, faults.closes_at_times("south", 4.0, 60.0, 1.97), design=design).watched(20 * S)
        assert [m.control for m in seen.moved].count("right_stick") == 4
        assert [m.control for m in seen.moved].count("south") == 5
        assert seen.watched_ns == 20 * S


def test_what_is_closed_from_the_first_has_not_moved() -> None:
    assert not watched(faults.stuck("south"), faults.off_centre("left_stick", "up", 40.0)).watched(20 * S).moved
