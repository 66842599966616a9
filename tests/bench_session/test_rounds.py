"""What hands can do at the same time runs at the same time, and each step still has its own result and evidence."""

from __future__ import annotations

import pytest

from station.bench.auto import AutoPerson, run_visit
from station.bench.engine import PAUSE_NS
from station.bench.memory import MemoryRecorder
from station.bench.plan import plan
from station.bench.rounds import joined, lead_of, prompt_for, round_of
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import (
    Again,
    Beat,
    Choose,
    Event,
    Go,
    Hold,
    MarkByHand,
    ResultCommitted,
    SourceBack,
    Step,
    StepStarted,
)
from station.capture.file import read_capture
from station.checks.link import FLEXED_S
from station.checks.registry import CHECKS, known
from station.checks.types import Outcome, Progress
from station.evidence.assess import assess_capture
from station.sheets.bind import bind
from station.sources.simulated import Fault, PadDesign, SimulatedHand, SimulatedSource, UnitSpec, faults
from tests.bench_session.bench_fakes import SHEET, UNIT, Bench, FailingRecorder
from tests.bench_session.test_simulated_visit import sheet_of

LEFT = Step("contact", "left", "Contact", "Left shoulder", "top")
RIGHT = Step("contact", "right", "Contact", "Right shoulder", "top")
LIGHT_LEFT = Step("light", "left", "Light", "Left shoulder", "top")
LIGHT_RIGHT = Step("light", "right", "Light", "Right shoulder", "top")
LINK = Step("link", "", "Link", "whole unit", "whole unit")
BOTH = (LEFT, RIGHT, LINK)


def at(bench: Bench) -> list[tuple[str, str]]:
    return [(step.state, step.outcome.value) for step in bench.session.view().steps]


def begun(*, steps: tuple[Step, ...] = BOTH, recorder: FailingRecorder | None = None) -> Bench:
    bench = Bench(steps=steps, together=True, recorder=recorder)
    bench.do(Go())
    return bench


@pytest.mark.parametrize(
    ("steps", "free", "index", "expected"),
    [
        (BOTH, {0, 1, 2}, 0, (0, 1)),
        (BOTH, {0, 1, 2}, 1, (0, 1)),
        (BOTH, {0, 1, 2}, 2, (2,)),
        (BOTH, {0, 2}, 0, (0,)),
        (BOTH, {1, 2}, 0, (0,)),
        ((LIGHT_LEFT, LIGHT_RIGHT, LEFT), {0, 1, 2}, 1, (0, 1)),
        ((LIGHT_LEFT, LIGHT_RIGHT, LEFT), {0, 2}, 0, (0,)),
    ],
    ids=["all", "all from the second", "the whole unit", "one is done", "tried before", "twins", "the twin is done"],
)
def test_which_steps_are_done_together(
    steps: tuple[Step, ...], free: set[int], index: int, expected: tuple[int, ...]
) -> None:
    assert round_of(steps, index, free, SHEET, lambda step: known(step.check)) == expected


def test_both_run_and_each_ends_when_it_is_complete() -> None:
    bench = begun()
    assert [(e.index, e.also) for e in bench.of(StepStarted)] == [(0, (RIGHT,))]
    assert bench.session.view().together == (0, 1)
    assert [state for state, _ in at(bench)] == ["running", "running", "waiting"]
    bench.press(2, 2)
    bench.run(0.2)
    assert at(bench) == [("running", "not done"), ("done", "pass"), ("waiting", "not done")]
    view = bench.session.view()
    assert (view.running, view.current, view.together) == (True, 0, ())
    bench.press(1, 2)
    bench.run(0.2)
    view = bench.session.view()
    assert at(bench)[:2] == [("done", "pass"), ("done", "pass")]
    assert (view.running, view.current) == (False, 2)


def test_each_result_has_its_own_evidence() -> None:
    bench = begun()
    bench.press(2, 2)
    bench.run(0.2)
    bench.press(1, 2)
    bench.run(0.2)
    kept = [read_capture(bench.recorder.captures[r.capture_sha256]) for r in bench.results]
    assert [(c.marks[0].check, c.marks[0].control) for c in kept] == [("contact", "right"), ("contact", "left")]
    assert kept[0].marks[-1].time_ns < kept[1].marks[-1].time_ns
    assert kept[0].marks[0].time_ns == kept[1].marks[0].time_ns


def test_the_key_judges_what_was_moved_and_leaves_the_rest_to_be_done() -> None:
    bench = begun()
    bench.run(0.3)
    bench.press(2, 1)
    bench.do(Go())
    assert [(r.control, r.assessment.again) for r in bench.results] == [("right", "again, please: press more")]
    view = bench.session.view()
    assert (view.running, view.current, view.again) == (False, 1, "again, please: press more")
    bench.do(Go())
    assert [e.also for e in bench.of(StepStarted)][-1] == (), "what did not come out is done alone"
    bench.press(2, 2)
    bench.run(0.2)
    assert at(bench)[1] == ("done", "pass")


def test_the_key_with_nothing_moved_asks_for_the_round_again_and_only_then_for_each_alone() -> None:
    bench = begun()
    bench.run(0.3)
    for _ in range(2):
        bench.do(Go())
        assert (bench.results, bench.session.view().current) == ([], 0)
        assert not bench.session.view().running
        bench.do(Go())
        if bench.session.view().together == ():
            break
        assert bench.session.view().together == (0, 1), "nothing was done yet: it is asked again as it was"
        bench.run(0.3)
    assert bench.session.view().together == ()
    bench.run(0.3)
    bench.do(Go())
    assert [(r.control, r.assessment.outcome) for r in bench.results] == [("left", Outcome.FAIL)]
    assert bench.session.view().current == 1


def test_the_key_soon_after_the_first_move_leaves_the_round_a_round() -> None:
    bench = begun()
    for check in bench.checks.values():
        check.wanted = 5
    bench.press(1, 1)
    bench.run(0.2)
    bench.do(Go())
    assert [(r.control, r.assessment.outcome) for r in bench.results] == [("left", Outcome.NOT_DONE)]
    bench.do(Go())
    assert bench.session.view().together == (0, 1)


def test_the_last_one_that_is_missing_is_judged_by_the_key() -> None:
    bench = begun()
    bench.press(2, 2)
    bench.run(0.2)
    bench.do(Go())
    assert at(bench)[:2] == [("done", "fail"), ("done", "pass")]


def test_by_itself_the_next_begins_after_a_pause_and_the_key_makes_it_wait() -> None:
    bench = Bench(steps=BOTH, together=True, auto_go=True)
    bench.do(Go())
    bench.press(1, 2)
    bench.press(2, 2)
    bench.run(0.2)
    assert (bench.session.view().begins, bench.session.view().running) == (True, False)
    bench.do(Go())
    bench.run(3.0)
    assert (bench.session.view().begins, bench.session.view().running) == (False, False)
    bench.do(Go())
    assert bench.session.view().running


def test_one_that_is_done_again_is_done_alone() -> None:
    bench = begun()
    bench.press(1, 2)
    bench.press(2, 2)
    bench.run(0.2)
    bench.do(Choose(0), Again())
    assert [state for state, _ in at(bench)] == ["running", "done", "waiting"]


def test_the_one_at_the_front_is_chosen_without_ending_the_others() -> None:
    bench = begun()
    bench.do(Choose(1))
    view = bench.session.view()
    assert (view.current, view.together, bench.results) == (1, (0, 1), [])
    bench.press(1, 1)
    bench.run(0.2)
    bench.do(Choose(2))
    assert [r.control for r in bench.results] == ["left"], "nobody had come to the right one"
    assert {r.assessment.outcome for r in bench.results} == {Outcome.INTERRUPTED}
    assert (bench.session.view().running, bench.session.view().current) == (False, 2)


def test_one_set_by_hand_leaves_the_other_running() -> None:
    bench = begun()
    bench.do(MarkByHand(Outcome.FAIL, "sits crooked"))
    assert at(bench)[:2] == [("done", "fail"), ("running", "not done")]
    bench.press(2, 2)
    bench.run(0.2)
    assert at(bench)[:2] == [("done", "fail"), ("done", "pass")]


def test_an_unplug_interrupts_all_and_all_begin_again() -> None:
    bench = begun()
    bench.press(1, 1)
    bench.run(0.2)
    bench.source.state = "lost"
    bench.run(0.1)
    assert [(r.control, r.assessment.outcome) for r in bench.results] == [("left", Outcome.INTERRUPTED)]
    bench.source.state = "live"
    bench.run(0.1)
    assert bench.of(SourceBack)
    assert bench.session.view().together == (0, 1)


def test_results_that_wait_for_the_disk_are_stored_each_and_the_visit_goes_on() -> None:
    recorder = FailingRecorder()
    bench = begun(recorder=recorder)
    recorder.broken = "the disk is full"
    bench.press(1, 2)
    bench.press(2, 2)
    bench.run(0.2)
    assert at(bench)[:2] == [("waiting", "not done")] * 2
    recorder.broken = ""
    bench.do(Go())
    bench.run(3.0)
    assert at(bench)[:2] == [("done", "pass")] * 2
    assert bench.session.view().current == 2


def test_the_prompt_names_all_that_is_asked_for() -> None:
    bench = Bench(steps=BOTH, together=True)
    prompt = bench.session.view().prompt
    assert prompt is not None
    assert prompt.do == "Press every button three times, in any order: left shoulder and right shoulder."
    alone = prompt_for(CHECKS["rest"], [c for c in SHEET.controls if c.kind == "stick"], SHEET)
    assert alone == CHECKS["rest"].prompt(SHEET.control("stick"), SHEET)


def test_what_is_missing_is_said_once_where_it_is_the_same() -> None:
    left, right = SHEET.control("left"), SHEET.control("right")
    more, done = Progress(False, "two presses to go", 0.25), Progress(True, "", 1.0)
    other = Progress(False, "let go", 0.75)
    assert joined(more, [(left, more), (right, more)]).missing == "two presses to go"
    said = joined(more, [(left, more), (right, other)])
    assert (said.missing, said.share) == ("left shoulder: two presses to go; right shoulder: let go", 0.5)
    assert joined(more, [(left, more), (right, done)]).missing == "left shoulder: two presses to go"


SHARED = ("contact", "rest", "travel", "trigger", "hold")
CONTROLS = ("left_stick", "right_stick", "left_trigger", "right_trigger", "left_shoulder", "right_shoulder", "south")


def visit_of(broken: tuple[Fault, ...], *, together: bool) -> tuple[dict[str, Outcome], float, int]:
    """Outcomes of the checks that can be shared, how long they took, how many steps were begun."""
    design = PadDesign("16bit", 500)
    hand = SimulatedHand(0.95, seed=4)
    source = SimulatedSource(UnitSpec(design, 11, broken, "SM-07-01"), hand, realtime=False)
    sheet = sheet_of(design)
    steps = [step for step in plan(sheet) if step.check in SHARED and step.control in CONTROLS]
    recorder, events = MemoryRecorder(), list[Event]()
    on_bench = UnitOnBench(UNIT, source, bind(sheet, design.layout))
    session = Session(on_bench, VisitPlan(steps=steps), BenchSetup(recorder, together=together))
    run_visit(session, source, hand, watch=events.append)
    for result in recorder.results:
        if result.assessment.outcome is Outcome.INTERRUPTED or not result.capture_sha256:
            continue
        capture = read_capture(recorder.captures[result.capture_sha256])
        assert assess_capture(capture, sheet).checks[0].assessment == result.assessment
    outcomes = {f"{v.step.control}.{v.step.check}": v.outcome for v in session.view().steps}
    return outcomes, source.now_ns() / 1e9, len([e for e in events if isinstance(e, StepStarted)])


@pytest.mark.parametrize(
    ("broken", "share"),
    [
        ((), 2 / 3),
        ((faults.off_centre("left_stick", "right", 14.0), faults.weak_contact("left_shoulder", 0.4)), 0.95),
        ((faults.never("right_shoulder"),), 1.5),  # a hand that waits for it in vain does so twice
    ],
    ids=["sound", "an offset and a weak contact", "a dead button"],
)
def test_a_visit_together_finds_the_same_in_less_time(broken: tuple[Fault, ...], share: float) -> None:
    alone, alone_s, alone_steps = visit_of(broken, together=False)
    shared, shared_s, shared_steps = visit_of(broken, together=True)
    assert shared == alone
    assert shared_s < alone_s * share
    assert shared_steps < alone_steps


def test_what_did_not_come_out_of_a_round_comes_before_other_checks() -> None:
    steps = (LEFT, LIGHT_LEFT, RIGHT, LIGHT_RIGHT, LINK)
    bench = begun(steps=steps)
    bench.run(0.3)
    bench.do(Go())  # a slip on the key: nothing was pressed yet
    bench.do(Go())
    bench.press(1, 2)
    bench.run(0.2)
    assert (at(bench)[0][0], bench.session.view().current) == ("done", 2), "the other contact, not the light press"


def test_a_fail_is_looked_at_before_the_next_begins() -> None:
    bench = Bench(steps=(LINK, LEFT), together=True, auto_go=True)
    bench.do(Go())
    bench.run(0.2)
    bench.do(Go())
    assert bench.results[-1].assessment.outcome is Outcome.FAIL
    assert not bench.session.view().begins
    assert bench.session.view().last == 0


# --- what goes on from another's movement ---------------------------------------------------------------

STICKS = tuple(
    Step(check, control, check, control, zone)
    for control, zone in (("a", "left hand"), ("b", "right hand"))
    for check in ("rest", "letgo", "rim")
)
MOVED = (*STICKS, LINK)
PUSHED = (*STICKS[:3], Step("travel", "a", "travel", "a", "left hand"))


@pytest.mark.parametrize(
    ("index", "free", "expected"),
    [
        (1, {0, 1, 2, 3, 4, 5, 6}, (1, 4, 0, 3)),
        (1, {1, 2, 3, 4, 6}, (1, 4, 3)),
        (1, {0, 1, 3, 6}, (1, 0)),
        (0, {0, 1, 3, 4}, (0, 3)),
        (2, {0, 2, 5, 6}, (2, 5, 6)),
        (6, {2, 5, 6}, (6,)),
    ],
    ids=["both", "one rested", "one flicked", "rest itself", "the link", "the link itself"],
)
def test_what_follows_runs_along(index: int, free: set[int], expected: tuple[int, ...]) -> None:
    assert round_of(MOVED, index, free, SHEET, lambda step: known(step.check)) == expected


@pytest.mark.parametrize(
    ("index", "free", "expected"),
    [
        (0, {0, 1, 3, 4}, 1),
        (0, {0, 3, 4}, 0),
        (6, {2, 6}, 2),
        (6, {6}, 6),
        (1, {0, 1}, 1),
    ],
    ids=["its flicks wait", "those of the other stick only", "the roll waits", "nothing does", "follows nothing"],
)
def test_the_visit_begins_with_what_others_follow(index: int, free: set[int], expected: int) -> None:
    assert lead_of(MOVED, index, free, lambda step: known(step.check)) == expected


def test_what_follows_comes_in_the_order_in_which_it_does() -> None:
    assert round_of(PUSHED, 3, {0, 1, 2, 3}, SHEET, lambda step: known(step.check)) == (3, 1, 0)


@pytest.mark.parametrize(
    ("index", "free", "expected"),
    [(0, {0, 1, 3}, 3), (1, {0, 1, 3}, 3), (0, {0, 3}, 3), (0, {0, 1}, 1), (2, {0, 1, 2, 3}, 2)],
    ids=["the rest", "the flicks", "the flicks are done", "the pushes are done", "the roll"],
)
def test_what_leads_all_of_a_movement_begins_it(index: int, free: set[int], expected: int) -> None:
    assert lead_of(PUSHED, index, free, lambda step: known(step.check)) == expected


def test_one_grip_holds_at_once_and_the_other_twins_by_twos() -> None:
    design = PadDesign("8bit", 250)
    sheet = sheet_of(design)
    steps = [step for step in plan(sheet) if step.check == "hold"]

    def held_with(control: str) -> set[str]:
        index = next(i for i, step in enumerate(steps) if step.control == control)
        found = round_of(steps, index, set(range(len(steps))), sheet, lambda step: known(step.check))
        return {steps[i].control for i in found}

    fingers = {"left_shoulder", "right_shoulder", "left_paddle", "right_paddle"}
    assert held_with("left_paddle") == {*fingers, "left_stick_press", "right_stick_press"}
    assert held_with("right_stick_press") == held_with("left_paddle")
    assert held_with("south") == {"south", "east"}
    assert held_with("home") == {"home"}


def of_a_stick(*checks: str) -> tuple[Step, ...]:
    return tuple(s for s in plan(sheet_of(PadDesign("8bit", 250))) if s.check in checks and s.control != "right_stick")


def simulated(
    steps: tuple[Step, ...],
) -> tuple[Session, SimulatedSource, SimulatedHand, MemoryRecorder, list[Event]]:
    """A sound unit on a bench whose rounds begin by themselves."""
    design, recorder = PadDesign("8bit", 250), MemoryRecorder()
    hand = SimulatedHand(0.95, 5)
    source = SimulatedSource(UnitSpec(design, 11, (), "SM-07-01"), hand, realtime=False)
    on_bench = UnitOnBench(UNIT, source, bind(sheet_of(design), design.layout))
    session = Session(on_bench, VisitPlan(steps=steps), BenchSetup(recorder, auto_go=True, together=True))
    return session, source, hand, recorder, []


def test_the_rest_is_measured_after_the_flicks_without_any_of_its_own() -> None:
    session, source, hand, recorder, events = simulated(of_a_stick("rest", "letgo"))
    run_visit(session, source, hand, watch=events.append)
    starts = [event for event in events if isinstance(event, StepStarted)]
    assert [(s.step.check, [one.check for one in s.also]) for s in starts] == [("letgo", ["rest"])]
    assert [(r.check, r.assessment.outcome) for r in recorder.results] == [
        ("letgo", Outcome.PASS), ("rest", Outcome.PASS),
    ]  # fmt: skip
    flicked = next(r.n for r in recorder.results[-1].assessment.readings if r.name == "offset")
    assert flicked >= 8, "the places to which eight flicks came back, not two"
    capture = read_capture(recorder.captures[recorder.results[-1].capture_sha256])
    again = assess_capture(capture, session.sheet, PadDesign("8bit", 250).layout)
    assert again.checks[0].assessment == recorder.results[-1].assessment


def test_pushes_to_the_sides_count_as_flicks_when_let_go_and_the_corners_complete_them() -> None:
    session, source, hand, recorder, events = simulated(of_a_stick("rest", "letgo", "travel"))
    run_visit(session, source, hand, watch=events.append)
    starts = [event for event in events if isinstance(event, StepStarted)]
    assert [(s.step.check, [one.check for one in s.also]) for s in starts] == [("travel", ["letgo", "rest"])]
    assert [(r.check, r.assessment.outcome) for r in recorder.results] == [
        ("travel", Outcome.PASS), ("letgo", Outcome.PASS), ("rest", Outcome.PASS),
    ]  # fmt: skip
    for result in recorder.results:
        capture = read_capture(recorder.captures[result.capture_sha256])
        again = assess_capture(capture, session.sheet, PadDesign("8bit", 250).layout)
        assert again.checks[0].assessment == result.assessment
    returns = {r.name: r.n for r in recorder.results[1].assessment.readings}
    assert returns["repeatability"] == 8, "four of the pushes, four of the corners"
    assert source.now_ns() / 1e9 < 15.0


def test_the_link_goes_on_for_some_seconds_after_the_roll() -> None:
    session, source, hand, recorder, events = simulated(of_a_stick("rim", "link"))
    ended = {}

    def watch(event: Event) -> None:
        if isinstance(event, ResultCommitted):
            ended[event.result.check] = source.now_ns() / 1e9
            events.append(event)

    run_visit(session, source, hand, watch=watch)
    assert [r.assessment.outcome for r in recorder.results] == [Outcome.PASS, Outcome.PASS]
    assert ended["link"] - ended["rim"] >= FLEXED_S


def test_a_unit_that_goes_away_during_the_roll_costs_only_the_try() -> None:
    """The link is not blamed for it while the roll still runs: nobody flexes the cable yet."""
    session, source, hand, recorder, events = simulated(of_a_stick("rim", "link"))
    session.do(Go())
    for tick in range(200):
        if tick == 100:
            source.unplug()
        if tick == 150:
            source.replug()
        source.advance(0.01)
        session.tick()
    assert {r.assessment.outcome for r in recorder.results} <= {Outcome.INTERRUPTED}
    run_visit(session, source, hand, watch=events.append)
    assert [(r.check, r.assessment.outcome) for r in recorder.results][-2:] == [
        ("rim", Outcome.PASS), ("link", Outcome.PASS),
    ]  # fmt: skip


def test_the_card_says_what_comes_after() -> None:
    checks = [known("letgo"), known("rest")]
    prompt = prompt_for(checks[0], (), SHEET, checks[1:])
    assert prompt.hint.endswith("After the last one hands off for three seconds.")


def test_a_key_that_comes_just_after_a_step_began_by_itself_makes_it_wait() -> None:
    bench = Bench(steps=(LINK, LEFT), together=True, auto_go=True)
    bench.do(Go())
    for _ in range(3):
        bench.run(0.01)
        bench.source.report()
    bench.run(PAUSE_NS / 1e9 + 0.2)
    assert bench.session.view().running, "the contact began by itself"
    before = len(bench.results)
    bench.do(Go())
    view = bench.session.view()
    assert (view.running, view.begins, view.current) == (False, False, 1)
    assert len(bench.results) == before, "nobody had come to it: it leaves no trace"
    bench.do(Go())
    bench.press(1, 2)
    bench.run(0.2)
    assert bench.results[-1].assessment.outcome is Outcome.PASS


def test_nothing_begins_by_itself_while_something_stands_in_front() -> None:
    bench = Bench(steps=BOTH, auto_go=True)
    bench.do(Go())
    bench.press(1, 2)
    bench.run(0.2)
    bench.do(Hold(True))
    bench.run(5.0)
    assert [r.control for r in bench.results] == ["left"], "what ran is what was done"
    assert not bench.session.view().running
    bench.do(Hold(False))
    assert not bench.session.view().running, "there is time to see what comes"
    bench.run(1.0)
    assert (bench.session.view().running, bench.session.view().current) == (True, 1)


def test_a_check_ends_only_once_nothing_stands_in_front_and_keeps_what_was_done() -> None:
    bench = Bench(steps=BOTH)
    bench.do(Go())
    bench.press(1, 1)
    bench.do(Hold(True))
    bench.press(1, 1)
    bench.source.advance(20 * 60.0)
    bench.run(1.0)
    assert (bench.results, bench.session.view().running) == ([], True), "nobody would see what it came to"
    bench.do(Hold(False))
    bench.run(0.2)
    assert [(r.control, r.assessment.outcome) for r in bench.results] == [("left", Outcome.PASS)]


def test_a_press_on_beats_waits_until_nothing_stands_in_front() -> None:
    bench = Bench(steps=(LIGHT_LEFT, RIGHT))
    bench.do(Go())
    bench.run(3.0)
    bench.do(Hold(True))
    assert [r.assessment.outcome for r in bench.results] == [Outcome.INTERRUPTED]
    given = len(bench.of(Beat))
    bench.run(5.0)
    assert (len(bench.of(Beat)), bench.session.view().running) == (given, False)
    bench.do(Hold(False))
    bench.run(0.2)
    assert (bench.session.view().running, bench.session.view().current) == (True, 0)
    assert len(bench.results) == 1


def test_the_first_look_of_a_single_stick_comes_to_its_end() -> None:
    """The hand takes itself off for as long as is asked, also where no other control follows."""
    design = PadDesign("16bit", 1000)
    sheet = sheet_of(design)
    hand = SimulatedHand(skill=1.0, seed=1)
    source = SimulatedSource(UnitSpec(design, 11), hand, realtime=False)
    stick = [s for s in plan(sheet, "first look") if (s.check, s.control) == ("glance", "left_stick")]
    recorder = MemoryRecorder()
    session = Session(
        UnitOnBench(UNIT, source, bind(sheet, design.layout)),
        VisitPlan(kind="first look", steps=stick),
        BenchSetup(recorder, together=True),
    )
    person = AutoPerson(sheet, hand, session.do, source.now_ns)
    session.do(Go())
    for _ in range(4000):
        source.advance(0.01)
        session.tick()
        for event in session.take_events():
            person.handle(event, session.view())
        if recorder.results:
            break
    assert [r.assessment.outcome for r in recorder.results] == [Outcome.PASS]
