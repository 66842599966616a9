"""A visit on fakes: every way in which a step can go, and nothing shown before it is in the records."""

from __future__ import annotations

import pytest

from station.bench.session import ALL_DONE
from station.bench.types import (
    Again,
    AgainPlease,
    Answer,
    Beat,
    Choose,
    Fault,
    Finish,
    Go,
    MarkByHand,
    ResultCommitted,
    Skip,
    SourceBack,
    SourceLost,
    Step,
    StepStarted,
    TakeBack,
    VisitFinished,
    VisitStarted,
)
from station.capture.file import Mark, read_capture
from station.checks.types import Outcome
from station.sheets.signals import ButtonSignal, StickSignal
from tests.bench_session.bench_fakes import MS, SHEET, Bench, FailingRecorder, S

LEFT = Step("contact", "left", "Contact", "Left shoulder", "top")
RIGHT = Step("contact", "right", "Contact", "Right shoulder", "top")
LIGHT = Step("light", "left", "Light", "Left shoulder", "top")
LINK = Step("link", "", "Link", "whole unit", "whole unit")
CHARGE = Step("charge", "", "Charge", "whole unit", "whole unit", True, ("V",))
TWO = (LEFT, RIGHT)


def outcomes(bench: Bench) -> list[tuple[str, str]]:
    return [(step.state, step.outcome.value) for step in bench.session.view().steps]


def test_a_step_ends_by_itself_when_its_check_is_complete() -> None:
    bench = Bench(steps=TWO)
    assert isinstance(bench.session.take_events()[0], VisitStarted)
    bench.do(Go())
    assert bench.session.view().running
    bench.press(1, 2)
    bench.run(0.2)
    view = bench.session.view()
    assert outcomes(bench) == [("done", "pass"), ("waiting", "not done")]
    assert (view.current, view.running, view.steps[0].attempts) == (1, False, 1)
    assert [(e.index, e.result.check) for e in bench.of(ResultCommitted)] == [(0, "contact")]
    assert bench.results[0].at == "2026-03-06T10:00:01.100Z"
    assert (bench.results[0].clock, bench.results[0].stamp_error_p99_us) == ("simulated", 3.0)


def test_the_view_shows_prompt_and_progress_while_it_runs() -> None:
    bench = Bench(steps=TWO)
    assert bench.session.view().prompt is not None
    assert bench.session.view().progress is None
    bench.do(Go())
    bench.press(1)
    bench.run(0.15)
    view = bench.session.view()
    assert view.steps[0].state == "running"
    assert view.progress is not None
    assert view.progress.share == 0.5


def test_a_running_check_is_looked_at_ten_times_a_second() -> None:
    bench = Bench(steps=TWO)
    bench.do(Go())
    bench.run(2.0)
    assert len(bench.checks["contact"].takes) == 20


def test_the_key_ends_a_running_check_and_judges_it() -> None:
    bench = Bench(steps=TWO)
    bench.do(Go())
    bench.run(0.5)
    bench.do(Go())
    assert outcomes(bench)[0] == ("done", "fail")


def test_a_try_that_does_not_count_is_kept_and_the_step_stays() -> None:
    bench = Bench(steps=TWO)
    bench.do(Go())
    bench.press(1)
    bench.do(Go())
    view = bench.session.view()
    assert (view.current, view.again) == (0, "again, please: press more")
    assert outcomes(bench)[0] == ("waiting", "not done")
    assert [(e.index, e.text) for e in bench.of(AgainPlease)] == [(0, "again, please: press more")]
    assert len(bench.results) == 1
    bench.do(Go())
    assert bench.session.view().again == ""
    bench.press(1, 2)
    bench.run(0.2)
    assert [(r.attempt, r.assessment.outcome.value) for r in bench.results] == [(1, "not done"), (2, "pass")]
    assert outcomes(bench)[0] == ("done", "pass")


def test_the_last_try_that_counts_is_the_outcome() -> None:
    bench = Bench(steps=TWO)
    bench.do(Go())
    bench.press(1, 2)
    bench.run(0.2)
    bench.do(Again())  # the right one has not been tried, so the last finished step is meant
    assert (bench.session.view().current, bench.session.view().running) == (0, True)
    bench.do(Go())  # nothing pressed
    assert outcomes(bench)[0] == ("done", "fail")
    bench.do(Again())
    bench.press(1)
    bench.do(Go())  # sloppy: does not count
    assert outcomes(bench)[0] == ("done", "fail")
    assert bench.session.view().steps[0].attempts == 3


def test_again_while_it_runs_starts_the_try_afresh() -> None:
    bench = Bench(steps=TWO)
    bench.do(Go())
    bench.press(1)
    bench.do(Again())
    assert bench.session.view().running
    assert [(r.assessment.outcome.value, r.reason) for r in bench.results] == [("interrupted", "Started again.")]
    bench.press(1, 2)
    bench.run(0.2)
    assert outcomes(bench)[0] == ("done", "pass")


def test_any_step_can_be_chosen_and_the_rest_follows_round_the_end() -> None:
    bench = Bench(steps=(LEFT, RIGHT, LINK))
    bench.do(Choose(2), Go())
    for _ in range(3):
        bench.source.report()
    bench.run(0.2)
    assert outcomes(bench)[2] == ("done", "pass")
    assert bench.session.view().current == 0
    bench.do(Choose(7))
    assert bench.session.view().current == 0


def test_choosing_another_step_keeps_what_ran_as_interrupted() -> None:
    bench = Bench(steps=TWO)
    bench.do(Go())
    bench.press(1)
    bench.do(Choose(1))
    assert (bench.session.view().current, bench.session.view().running) == (1, False)
    assert outcomes(bench)[0] == ("waiting", "interrupted")
    assert bench.results[0].reason == "Another step was chosen."
    assert bench.results[0].capture_sha256 in bench.recorder.captures


def test_a_step_is_marked_by_hand_with_a_reason_and_names_what_it_corrects() -> None:
    bench = Bench(steps=TWO)
    bench.do(MarkByHand(Outcome.PASS, " "))
    assert "needs one" in bench.session.view().message
    assert bench.results == []
    bench.do(Go(), Go())  # a fail
    bench.do(Choose(0), MarkByHand(Outcome.PASS, "the cable was loose"))
    first, second = bench.results
    assert (second.by_hand, second.reason, second.replaces) == (True, "the cable was loose", first.id)
    view = bench.session.view().steps[0]
    assert (view.outcome, view.by_hand, view.reason) == (Outcome.PASS, True, "the cable was loose")


def test_marking_by_hand_while_it_runs_keeps_evidence_and_readings() -> None:
    bench = Bench(steps=TWO)
    bench.do(Go())
    bench.press(1)
    bench.run(0.1)
    bench.do(MarkByHand(Outcome.BORDERLINE, "feels gritty"))
    assert [r.value for r in bench.results[0].assessment.readings] == [1.0]
    assert bench.results[0].capture_sha256 in bench.recorder.captures


def test_a_skipped_step_stays_not_done_and_is_not_asked_for_again() -> None:
    bench = Bench(steps=TWO)
    bench.do(Skip("no paddle on this unit"))
    assert bench.session.view().current == 1
    assert outcomes(bench)[0] == ("done", "not done")
    assert bench.results[0].reason == "no paddle on this unit"
    bench.do(Skip("nor here"))
    view = bench.session.view()
    assert (view.current, view.prompt, view.finished) == (1, ALL_DONE, False)


def test_a_question_is_asked_at_once_and_takes_the_persons_word() -> None:
    bench = Bench(steps=(CHARGE, LEFT))
    bench.tick()
    assert [e.index for e in bench.of(StepStarted)] == [0]
    assert bench.session.view().running
    bench.do(Go())
    assert bench.session.view().message == "Say whether it is right: pass or fail."
    bench.do(Answer("pass", {"V": 5.0}))
    assert outcomes(bench)[0] == ("done", "pass")
    assert [r.value for r in bench.results[0].assessment.readings][:1] == [5.0]
    assert (bench.results[0].by_hand, bench.results[0].capture_sha256) == (False, "")
    bench.do(Answer("pass"))
    assert "Nothing was asked here" in bench.session.view().message


def test_good_without_a_figure_is_kept_as_looked_at_and_not_measured() -> None:
    bench = Bench(steps=(CHARGE, LEFT))
    bench.do(Answer("pass"))
    assert outcomes(bench)[0] == ("done", "not done")
    (result,) = bench.results
    assert (result.by_hand, result.reason) == (True, "looked at, not measured")
    assert {r.reason for r in result.assessment.readings} == {"no meter reading was typed in"}
    assert bench.session.view().current == 1


def test_a_visit_of_which_nothing_is_left_but_a_figure_nobody_typed_ends_by_itself() -> None:
    bench = Bench(steps=(CHARGE,), auto_go=True)
    bench.do(Answer("pass"))
    bench.run(3.2)  # after a key it waits for second thoughts
    assert bench.session.finished


def test_beats_come_at_their_rate_and_the_last_can_be_taken_back() -> None:
    bench = Bench(steps=(LIGHT,))
    bench.do(Go())
    begin_ns = bench.source.time_ns
    bench.run(2.9)
    bench.do(TakeBack())  # there is nothing to take back yet
    bench.run(1.2)
    at = [(e.at_ns - begin_ns, e.counted) for e in bench.of(Beat)]
    assert at == [(t * MS, t >= 3000) for t in range(1000, 4001, 500)]
    bench.do(TakeBack())
    bench.run(0.02)
    states = [beat.state for beat in bench.session.view().beats]
    assert states == [*["count-in"] * 4, "registered", "registered", "void"]
    assert [t - begin_ns for t in bench.checks["light"].takes[-1].beats_ns] == [3000 * MS, 3500 * MS]
    assert bench.checks["light"].takes[-1].witness == "right"
    bench.do(Go())
    capture = read_capture(next(iter(bench.recorder.captures.values())))
    assert [mark.event for mark in capture.marks] == ["begin", "beat", "beat", "beat", "void", "end"]
    assert {mark.witness for mark in capture.marks} == {"right"}


def test_a_bench_that_was_held_up_gives_no_burst_of_beats() -> None:
    bench = Bench(steps=(LIGHT,))
    bench.do(Go())
    bench.source.advance(5.0)
    bench.tick()
    bench.run(0.3)
    assert len(bench.of(Beat)) == 1
    assert bench.of(Beat)[0].at_ns == bench.source.time_ns - 300 * MS


def test_the_evidence_says_what_was_held_before_it_began() -> None:
    bench = Bench(steps=TWO)
    bench.source.report(buttons=2, x=255)
    bench.run(3.0)
    bench.do(Go())
    take_from = bench.source.time_ns
    bench.press(1, 2)
    bench.run(0.2)
    take = bench.checks["contact"].takes[-1]
    right, stick = take.signals["right"], take.signals["stick"]
    assert isinstance(right, ButtonSignal)
    assert isinstance(stick, StickSignal)
    assert (right.t_ns[0], bool(right.closed[0])) == (take_from, True)
    assert stick.x_pct[0] == pytest.approx(100)
    capture = read_capture(bench.recorder.captures[bench.results[0].capture_sha256])
    assert capture.block.raw[0].tolist() == [2, 255, 128]
    assert (capture.block.t_ns[0], capture.marks[0]) == (0, Mark(3000 * MS, "begin", "contact", "left"))
    assert capture.meta.sheet == SHEET.name
    assert capture.meta.started_at == "2026-03-06T10:00:01.000Z"


def test_a_control_that_never_reported_is_unknown() -> None:
    bench = Bench(steps=TWO, rested=False)
    bench.do(Go())
    bench.run(0.2)
    assert bench.checks["contact"].takes[-1].signals == {}


def test_unplugging_interrupts_keeps_the_evidence_and_goes_on_by_itself() -> None:
    bench = Bench(steps=TWO)
    bench.do(Go())
    bench.press(1)
    bench.source.state, bench.source.message = "lost", "Plover T2 was unplugged."
    bench.tick()
    view = bench.session.view()
    assert (view.running, view.device, view.message) == (False, "lost", "Plover T2 was unplugged.")
    assert outcomes(bench)[0] == ("waiting", "interrupted")
    assert bench.results[0].reason == "The unit went away: Plover T2 was unplugged."
    assert (
        len(read_capture(bench.recorder.captures[bench.results[0].capture_sha256]).block) == 3
    )  # one of them from before
    assert len(bench.of(SourceLost)) == 1
    bench.do(Go())
    assert "Plug it in" in bench.session.view().message
    bench.source.state, bench.source.message = "live", ""
    bench.tick()
    assert len(bench.of(SourceBack)) == 1
    assert (bench.session.view().running, bench.session.view().message) == (True, "")
    bench.press(1, 3)  # the first closure after the unplug may have been held all along
    bench.run(0.2)
    assert outcomes(bench)[0] == ("done", "pass")


def test_what_was_held_before_an_unplug_is_not_known_after_it() -> None:
    bench = Bench(steps=TWO)
    bench.source.report(buttons=1)
    bench.do(Go())
    for state in ("lost", "live"):
        bench.source.state = state
        bench.tick()
    bench.run(0.2)
    assert bench.checks["contact"].takes[-1].signals == {}


def test_for_the_link_check_the_unplug_is_its_result() -> None:
    bench = Bench(steps=(LINK,))
    bench.do(Go())
    bench.source.state = "lost"
    bench.tick()
    assert bench.results[0].assessment.findings[0].code == "disconnect"
    assert outcomes(bench) == [("done", "fail")]


def test_a_recording_that_ends_is_judged() -> None:
    bench = Bench(steps=TWO)
    bench.do(Go())
    for buttons in (1, 0, 1):
        bench.source.advance(0.01)
        bench.source.report(buttons)
    bench.source.state, bench.source.message = "ended", "The recording has ended."
    bench.tick()
    assert outcomes(bench)[0] == ("done", "pass")
    assert bench.session.view().message == "The recording has ended."


def test_lost_reports_are_counted_for_the_try_alone() -> None:
    bench = Bench(steps=TWO)
    bench.source.lost = 5
    bench.do(Go())
    bench.source.lost = 7
    bench.press(1, 2)
    bench.run(0.2)
    assert bench.results[0].lost == 2
    assert bench.checks["contact"].takes[-1].lost == 2


def test_nothing_is_shown_as_done_before_it_is_in_the_records() -> None:
    recorder = FailingRecorder()
    bench = Bench(steps=TWO, recorder=recorder)
    bench.do(Go())
    recorder.broken = "The disk is full; make room."
    bench.press(1, 2)
    bench.run(0.2)
    view = bench.session.view()
    assert outcomes(bench)[0] == ("waiting", "not done")
    assert (view.current, view.running) == (0, False)
    assert view.message.startswith("The disk is full; make room. Every result is kept")
    assert bench.of(ResultCommitted) == []
    bench.run(3.0)
    assert len(bench.of(Fault)) == 1  # said once, although it is tried again and again
    recorder.broken = ""
    bench.do(Go())  # the key tries at once, and starts nothing meanwhile
    assert outcomes(bench)[0] == ("done", "pass")
    assert (bench.session.view().message, bench.session.view().running) == ("", False)
    assert len(bench.of(ResultCommitted)) == 1
    assert len(bench.results) == 1


def test_a_result_that_could_not_be_stored_is_stored_later_without_being_asked() -> None:
    recorder = FailingRecorder()
    bench = Bench(steps=TWO, recorder=recorder)
    bench.do(Go())
    recorder.broken = "Locked; close the other program."
    bench.do(Go())
    recorder.broken = ""
    bench.run(1.5)
    assert outcomes(bench)[0] == ("done", "fail")


def test_commands_wait_while_a_result_waits_for_the_disk() -> None:
    recorder = FailingRecorder()
    bench = Bench(steps=TWO, recorder=recorder)
    bench.do(Go())
    recorder.broken = "Full; make room."
    bench.do(Go(), Finish())
    assert not bench.session.finished
    recorder.broken = ""
    bench.run(1.5)
    assert bench.session.finished
    assert [r.assessment.outcome.value for r in bench.results] == ["fail"]


def test_a_visit_goes_on_where_it_stopped_after_a_restart() -> None:
    before = Bench(steps=(LEFT, RIGHT, LINK))
    before.do(Go())
    before.press(1, 2)
    before.run(0.2)
    before.do(Go())
    before.press(2)
    before.session.close()  # the bench is closed in the middle of a try
    visit = next(iter(before.recorder.visits.values()))
    after = Bench(steps=(LEFT, RIGHT, LINK), recorder=before.recorder, resume=visit)
    assert outcomes(after) == [("done", "pass"), ("waiting", "interrupted"), ("waiting", "not done")]
    assert (after.session.view().current, len(after.recorder.visits)) == (1, 1)
    after.do(Go())
    after.press(2, 2)
    after.run(0.2)
    assert [(r.check, r.control, r.attempt) for r in after.results] == [
        ("contact", "left", 1),
        ("contact", "right", 1),
        ("contact", "right", 2),
    ]


def test_the_visit_is_finished_by_the_key_when_everything_is_done() -> None:
    bench = Bench(steps=(LEFT,))
    bench.do(Go(), Go(), Go())
    assert bench.session.finished
    view = bench.session.view()
    assert (view.finished, view.current, view.message) == (True, -1, "")
    assert bench.of(VisitFinished)[0].visit.finished_at
    bench.do(Go(), Choose(0), Again())
    assert len(bench.results) == 1


def test_finishing_in_the_middle_keeps_the_running_try() -> None:
    bench = Bench(steps=TWO)
    bench.do(Go(), Finish())
    assert bench.session.finished
    assert [(r.assessment.outcome.value, r.reason) for r in bench.results] == [
        ("interrupted", "The visit was finished.")
    ]


def test_a_visit_that_cannot_be_finished_stays_open() -> None:
    recorder = FailingRecorder()
    bench = Bench(steps=TWO, recorder=recorder)
    recorder.broken = "Full; make room."
    bench.do(Finish())
    assert bench.session.view().message == "Full; make room. The visit stays open; finish it again."
    recorder.broken = ""
    bench.do(Finish())
    assert bench.session.finished


def test_a_done_step_can_be_done_again_when_everything_is_done() -> None:
    bench = Bench(steps=(LEFT,))
    bench.do(Go(), Go(), Choose(0), Go())
    assert bench.session.view().running
    bench.press(1, 2)
    bench.run(0.2)
    assert outcomes(bench) == [("done", "pass")]


def test_with_auto_go_the_next_step_starts_after_a_pause() -> None:
    bench = Bench(steps=TWO, auto_go=True)
    bench.do(Go())
    bench.press(1, 2)
    bench.run(0.3)
    assert not bench.session.view().running
    bench.run(1.6)
    assert (bench.session.view().current, bench.session.view().running) == (1, True)


def test_a_forgotten_try_ends_by_itself() -> None:
    bench = Bench(steps=TWO)
    bench.do(Go())
    bench.source.advance(15 * 60 + 1)
    bench.run(0.2)
    assert [(r.assessment.outcome, r.reason) for r in bench.results] == [
        (Outcome.INTERRUPTED, "It ran for longer than any check lasts; start it again.")
    ]


def test_a_long_try_keeps_every_report_in_order() -> None:
    bench = Bench(steps=TWO, rested=False)
    bench.do(Go())
    for i in range(3000):
        bench.source.report(x=i % 256)
        if i % 40 == 0:
            bench.run(0.01)
    bench.run(0.2)
    stick = bench.checks["contact"].takes[-1].signals["stick"]
    assert isinstance(stick, StickSignal)
    assert stick.x_code.tolist() == [i % 256 for i in range(3000)]
    assert len(bench.checks["contact"].takes[-1].report_t_ns) == 3000
    assert bench.source.time_ns < 10 * S
