"""Whole visits of simulated units with the real checks: completion, faults found, evidence that says the same again."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from sample_units.make import sheet_of as sample_sheet_of
from station.bench.auto import run_visit
from station.bench.memory import MemoryRecorder
from station.bench.plan import plan
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Event, SourceBack, SourceLost, Step
from station.capture.file import read_capture
from station.checks.said import sentence
from station.checks.strengths import CHECK_OF
from station.checks.types import Outcome
from station.evidence.assess import assess_capture
from station.records.types import FIRST_LOOK, Result, Unit
from station.sheets.bind import bind
from station.sheets.model import Ask, Control, Place, Sheet
from station.sources.simulated import Fault, PadDesign, SimulatedHand, SimulatedSource, UnitSpec, faults

S = 1_000_000_000
EACH_KIND = ("left_stick", "left_trigger", "hat", "left_shoulder", "")


def sheet_of(design: PadDesign) -> Sheet:
    """The sheet that describes a simulated model."""
    controls = []
    for c in design.controls:
        if c.kind in ("motion", "touch"):
            controls.append(sample_sheet_of(design).control(c.id))
            continue
        x, y = (Place(c.usages[0]), Place(c.usages[1], up=c.up)) if c.kind == "stick" else (None, None)
        at = None if c.kind == "stick" else Place(c.usages[0])
        controls.append(Control(c.id, c.kind, c.name, c.zone, c.twin, at=at, x=x, y=y))  # type: ignore[arg-type]
    return Sheet(
        design.name, (design.ids,), controls=tuple(controls), asks=(Ask("charge", "Charge light", ("V", "A")),)
    )


class Visit:
    """A visit of a simulated unit, worked through at once."""

    def __init__(
        self,
        design: PadDesign,
        controls: tuple[str, ...],
        broken: tuple[Fault, ...] = (),
        watch: Callable[[SimulatedSource, Event], None] = lambda source, event: None,
        kind: str = "intake",
    ) -> None:
        self.sheet = sheet_of(design)
        self.hand = SimulatedHand(skill=0.9, seed=5)
        self.source = SimulatedSource(UnitSpec(design, 11, broken, "SM-07-01"), self.hand, realtime=False)
        self.recorder = MemoryRecorder()
        self.events: list[Event] = []
        steps: tuple[Step, ...] = tuple(step for step in plan(self.sheet, kind) if step.control in controls)
        unit = Unit("u", "SM-07-01", design.name)
        self.session = Session(
            UnitOnBench(unit, self.source, bind(self.sheet, design.layout)),
            VisitPlan(kind, steps),
            BenchSetup(self.recorder, auto_go=kind == FIRST_LOOK, together=kind == FIRST_LOOK),
        )

        def seen(event: Event) -> None:
            self.events.append(event)
            watch(self.source, event)

        run_visit(self.session, self.source, self.hand, watch=seen)

    @property
    def outcomes(self) -> dict[str, Outcome]:
        return {f"{v.step.control}.{v.step.check}": v.outcome for v in self.session.view().steps}

    def codes(self, control: str, check: str) -> set[str]:
        counted = [v for v in self.session.view().steps if (v.step.control, v.step.check) == (control, check)]
        assert counted[0].assessment is not None
        return {finding.code for finding in counted[0].assessment.findings}

    def measured_again(self, result: Result) -> object:
        capture = read_capture(self.recorder.captures[result.capture_sha256])
        return assess_capture(capture, self.sheet).checks[0].assessment


@pytest.mark.parametrize(
    "design",
    [PadDesign("8bit", 250), PadDesign("16bit", 1000), PadDesign("packed", 125, on_change=True)],
    ids=["8 bits at 250 Hz", "16 bits signed with report id at 1 kHz", "packed, on change, at 125 Hz"],
)
def test_a_sound_unit_passes_every_kind_of_check(design: PadDesign) -> None:
    visit = Visit(design, EACH_KIND)
    assert visit.session.finished
    assert set(visit.outcomes.values()) == {Outcome.PASS}
    assert len(visit.outcomes) == 14
    for result in visit.recorder.results:
        if result.check not in ("charge", "quiet"):  # no recording holds what was asked
            assert visit.measured_again(result) == result.assessment, result.check


def test_faults_are_found_where_they_are_and_nowhere_else() -> None:
    broken = (faults.off_centre("left_stick", "right", 14.0), faults.weak_contact("left_shoulder", 0.4))
    visit = Visit(PadDesign("8bit", 250), ("left_stick", "left_shoulder", "right_shoulder"), broken)
    assert visit.codes("left_stick", "rest") == {"offset"}
    assert "misses" in visit.codes("left_shoulder", "light")
    failed = {step.split(".")[0] for step, outcome in visit.outcomes.items() if outcome is Outcome.FAIL}
    assert failed == {"left_stick", "left_shoulder"}


def test_light_fails_and_firm_passes_on_a_weak_contact() -> None:
    visit = Visit(PadDesign("8bit", 250), ("left_shoulder",), (faults.weak_contact("left_shoulder", 0.5),))
    presses = {check: o for name, o in visit.outcomes.items() if (check := name.split(".")[1]) in CHECK_OF.values()}
    assert presses == {"light": Outcome.FAIL, "firm_press": Outcome.PASS}
    firm = next(r for r in visit.recorder.results if r.check == "firm_press")
    assert [sentence("firm_press", f) for f in firm.assessment.findings] == [
        "left shoulder: light presses fail, firm ones pass: weak contact or worn actuator"
    ]


def test_a_contact_that_breaks_up_does_so_at_any_strength() -> None:
    visit = Visit(PadDesign("8bit", 250), ("left_shoulder",), (faults.split("left_shoulder", 0.5, 25.0),))
    assert visit.outcomes["left_shoulder.firm_press"] is Outcome.FAIL
    assert visit.codes("left_shoulder", "firm_press") == {"splits"}


def test_a_dead_button_is_ended_by_the_key_and_fails() -> None:
    visit = Visit(PadDesign("8bit", 250, on_change=True), ("start",), (faults.never("start"),))
    assert visit.outcomes["start.contact"] is Outcome.FAIL
    assert visit.codes("start", "contact") == {"never"}


def test_an_unplug_in_the_middle_of_a_check_interrupts_it_and_it_is_done_again() -> None:
    beats = 0

    def pull_the_cable(source: SimulatedSource, event: Event) -> None:
        nonlocal beats
        beats += type(event).__name__ == "Beat"
        if beats == 5:
            beats += 1
            source.unplug()
        elif isinstance(event, SourceLost):
            source.advance(2.0)
            source.replug()

    visit = Visit(PadDesign("8bit", 250), ("left_shoulder",), watch=pull_the_cable)
    assert [type(e) for e in visit.events if isinstance(e, SourceLost | SourceBack)] == [SourceLost, SourceBack]
    lights = [r for r in visit.recorder.results if r.check == "light"]
    assert [r.assessment.outcome for r in lights] == [Outcome.INTERRUPTED, Outcome.PASS]
    assert len(read_capture(visit.recorder.captures[lights[0].capture_sha256]).block) > 500
    assert set(visit.outcomes.values()) == {Outcome.PASS}


def test_a_pad_with_motion_and_touch_passes_and_the_turning_about_moves_nothing_by_itself() -> None:
    visit = Visit(PadDesign("sensing", 250), ("motion", "touch_1", "left_shoulder", ""))
    assert visit.session.finished
    checks = {f"motion.{c}" for c in ("still", "sides")} | {f"touch_1.{c}" for c in ("untouched", "swipe")}
    assert checks <= visit.outcomes.keys()
    assert set(visit.outcomes.values()) == {Outcome.PASS}


def test_a_dead_axis_and_a_ghost_touch_are_found_in_a_visit() -> None:
    broken = (faults.gyro_scale("y", 0.0), faults.ghost_touch(0.8, 60.0))
    visit = Visit(PadDesign("sensing", 250), ("motion", "touch_1"), broken)
    assert "dead_gyro" in visit.codes("motion", "sides")
    assert "ghost_touch" in visit.codes("touch_1", "untouched")


def test_a_first_look_works_everything_once_in_one_round_and_names_what_is_bad() -> None:
    controls = ("left_stick", "right_stick", "left_trigger", "hat", "south", "east", "")
    broken = (
        faults.off_centre("left_stick", "right", 16.0), faults.rest_high("left_trigger", 12.0), faults.never("east"),
    )  # fmt: skip
    visit = Visit(PadDesign("8bit", 250), controls, broken, kind=FIRST_LOOK)
    assert visit.outcomes == {
        "left_stick.glance": Outcome.FAIL,
        "right_stick.glance": Outcome.PASS,
        "left_trigger.glance": Outcome.FAIL,
        "hat.glance": Outcome.PASS,
        "south.glance": Outcome.PASS,
        "east.glance": Outcome.FAIL,
        ".link": Outcome.PASS,
        ".charge": Outcome.PASS,
    }
    assert "offset" in visit.codes("left_stick", "glance")
    assert visit.codes("left_trigger", "glance") == {"rest_high"}
    assert visit.codes("east", "glance") == {"never"}
    for result in visit.recorder.results:
        if result.check == "glance":
            assert visit.measured_again(result) == result.assessment, result.control
