"""Where the hand is for each step, and that a visit changes it as seldom as it can."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.bench.auto import run_visit
from station.bench.checklist import Checklist
from station.bench.grips import GRIPS, changes, grip_of, grip_of_step
from station.bench.memory import MemoryRecorder
from station.bench.plan import plan
from station.bench.recheck import plan_after
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Event, Step, StepStarted
from station.checks.registry import CHECKS
from station.checks.types import Grip
from station.sheets.bind import bind
from station.sheets.model import Ask
from station.sources.simulated import PadDesign, SimulatedHand, SimulatedSource, UnitSpec
from tests.bench_session.bench_fakes import UNIT
from tests.bench_session.test_simulated_visit import sheet_of

ASKS = (Ask("charge", "Charges"), Ask("look", "Nothing of it"), Ask("rumble", "Both motors run"))
PAD = replace(sheet_of(PadDesign("8bit", 250, buttons=14)), asks=ASKS)
SENSING = replace(sheet_of(PadDesign("sensing", 250)), asks=ASKS)


@pytest.mark.parametrize(
    ("check", "control", "grip"),
    [
        ("look", "", "before the plug"),
        ("contact", "left_shoulder", "everywhere"),
        ("contact", "south", "everywhere"),
        ("together", "", "everywhere"),
        ("glance", "left_stick", "everywhere"),
        ("trigger", "left_trigger", "fingers"),
        ("light", "left_shoulder", "fingers"),
        ("hold", "right_paddle", "fingers"),
        ("rest", "left_stick", "sticks"),
        ("rim", "right_stick", "sticks"),
        ("light", "left_stick_press", "sticks"),
        ("hold", "right_stick_press", "sticks"),
        ("link", "", "sticks"),
        ("hat", "hat", "left thumb"),
        ("light", "south", "right thumb"),
        ("light", "home", "middle"),
        ("quiet", "", "laid down"),
        ("alone", "", "laid down"),
        ("rumble", "", "answered"),
        ("charge", "", "answered"),
    ],
)
def test_where_the_hand_is(check: str, control: str, grip: Grip) -> None:
    assert grip_of(CHECKS[check], PAD.control(control) if control else None, PAD) == grip


def test_off_the_unit_and_turning_it_are_grips_of_their_own() -> None:
    found = {step.check: grip_of_step(step, SENSING) for step in plan(SENSING)}
    grips = {check: found[check] for check in ("still", "sides", "untouched", "swipe")}
    assert grips == {"still": "laid down", "sides": "turned", "untouched": "laid down", "swipe": "touch pad"}


def test_every_grip_has_its_turn_once() -> None:
    for sheet in (PAD, SENSING):
        steps = [step for step in plan(sheet) if not step.watches]
        assert {grip_of_step(step, sheet) for step in steps} <= set(GRIPS)
        in_order = [grip_of_step(step, sheet) for step in sorted(steps, key=lambda step: step.turn)]
        assert changes(in_order) == len(set(in_order)) - 1, "no grip comes twice"
        assert in_order[0] == "before the plug"


@pytest.mark.parametrize(
    ("grips", "expected"),
    [((), 0), (("sticks",), 0), (("sticks", "sticks", "fingers", "sticks"), 2)],
    ids=["nothing", "one", "there and back"],
)
def test_changes_are_counted(grips: tuple[Grip, ...], expected: int) -> None:
    assert changes(grips) == expected


def of(check: str, turn: int, *, watches: bool = False) -> Step:
    return Step(check, check, check, check, "top", watches=watches, turn=turn)


@pytest.mark.parametrize(
    ("turns", "index", "expected"),
    [
        ((0, 0, 0), -1, 0),
        ((0, 0, 0), 1, 2),
        ((1, 0, 0), -1, 1),
        ((1, 0, 0), 2, 0),
        ((0, 2, 1), 0, 2),
        ((0, 2, 1), 1, 0),
    ],
    ids=["as listed", "after it", "by turns", "the last by turns", "passing one over", "round the end"],
)
def test_the_next_one_is_that_of_the_next_turn(turns: tuple[int, ...], index: int, expected: int) -> None:
    steps = tuple(of(name, turn) for name, turn in zip("abc", turns, strict=True))
    assert Checklist(steps).next_after(index) == expected


def test_what_is_watched_comes_last_whatever_its_turn() -> None:
    assert Checklist((of("a", 0, watches=True), of("b", 1))).next_after(-1) == 1


def test_a_recheck_begins_with_what_had_failed_whatever_its_grip() -> None:
    due = {("hat", "hat"): "failed", ("contact", "south"): "besides", ("rest", "left_stick"): "treated"}
    steps = plan_after(due, PAD)  # type: ignore[arg-type]
    assert [step.check for step in sorted(steps, key=lambda step: step.turn)] == ["hat", "rest", "contact"]


def test_a_sound_visit_goes_through_each_grip_once() -> None:
    design, recorder = PadDesign("8bit", 250, buttons=14), MemoryRecorder()
    hand = SimulatedHand(0.95, 5)
    source = SimulatedSource(UnitSpec(design, 11, (), "SM-07-01"), hand, realtime=False)
    checks = ("contact", "trigger", "rest", "letgo", "travel", "hat", "hold")
    steps = [step for step in plan(PAD) if step.check in checks]
    session = Session(
        UnitOnBench(UNIT, source, bind(PAD, design.layout)),
        VisitPlan(steps=steps),
        BenchSetup(recorder, auto_go=True, together=True),
    )
    events: list[Event] = []
    run_visit(session, source, hand, watch=events.append)
    grips = [grip_of_step(event.step, PAD) for event in events if isinstance(event, StepStarted)]
    assert list(dict.fromkeys(grips)) == ["everywhere", "fingers", "sticks", "left thumb", "right thumb", "middle"]
    assert changes(grips) == 5
