"""A lesson without a window: a made-up pad, a hand that does what is prompted, time that the test moves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import pytest

from station.bench.teaching import Teaching
from station.bench.teaching_types import TeachState
from station.hid.descriptor import parse_descriptor
from station.sheets.learn import Observed, learn, walk
from station.words import bench as words
from tests.app.taught_pad import PadSource, steady_pad
from tests.sheets.learn_truth import judged

TICK_S = 0.05
PAD = steady_pad(9001, descriptor="right")


class Lesson:
    """A lesson and the one who is taught; jobs wait until `work` is called when `beside` is set."""

    def __init__(
        self, source: PadSource, seen: Sequence[Observed] = (), *, beside: bool = False, layout: bool = True
    ) -> None:
        self.source = source
        self.jobs: list[Callable[[], None]] = []
        self.teaching = Teaching(
            source, walk(source.pad.controls),
            layout=parse_descriptor(source.pad.descriptor) if layout and source.pad.descriptor else None,
            later=self.jobs.append if beside else lambda job: job(), seen=seen,
        )  # fmt: skip

    def pass_(self, seconds: float) -> None:
        for _ in range(round(seconds / TICK_S)):
            self.source.follow(self.teaching.view())
            self.source.advance(TICK_S)
            self.teaching.tick(self.source.now_ns())

    def until(self, state: TeachState, number: int = 0, longest_s: float = 400.0) -> None:
        for _ in range(round(longest_s / TICK_S)):
            view = self.teaching.view()
            if view.state == state and number in (0, view.number):
                return
            self.pass_(TICK_S)
        raise AssertionError(f"not {state}: {self.teaching.view()}")


def ids(lesson: Lesson) -> list[str]:
    return [o.step.id for o in lesson.teaching.seen]


def test_a_walk_from_the_first_prompt_to_a_sheet_that_reads_the_pad_rightly():
    lesson = Lesson(PadSource(PAD))
    script = [s.id for s in walk(PAD.controls)]
    assert (lesson.teaching.view().number, lesson.teaching.view().count) == (1, len(script))
    lesson.until("answering")
    result = lesson.teaching.result()
    assert ids(lesson) == script
    assert not lesson.teaching.doubts()
    assert set(judged(PAD, result).values()) == {"right"}
    assert lesson.teaching.view().learned == result


def test_time_runs_down_and_the_sign_says_when_something_moved():
    lesson = Lesson(PadSource(PAD))
    lesson.until("walking", 3)
    step = lesson.teaching.view().step
    assert step.action == "push"
    first = lesson.teaching.view()
    assert first.left_s == pytest.approx(step.seconds, abs=TICK_S)
    assert not first.moved
    lesson.pass_(3.0)
    later = lesson.teaching.view()
    assert later.left_s == pytest.approx(step.seconds - 3.0, abs=0.05)
    assert first.to_go_s - later.to_go_s == pytest.approx(3.0, abs=0.05)
    assert later.moved
    assert later.reports > 0


def test_a_step_that_is_done_early_ends_at_its_least_time_and_hands_off_never_does():
    lesson = Lesson(PadSource(PAD))
    lesson.teaching.press("next")
    lesson.pass_(2.9)
    assert lesson.teaching.view().number == 1
    lesson.until("walking", 3)
    lesson.teaching.press("next")
    assert lesson.teaching.view().ends_soon
    seconds = lesson.teaching.view().step.seconds
    lesson.pass_(seconds * 0.5 - 0.15)
    assert lesson.teaching.view().number == 3
    lesson.pass_(0.25)
    assert lesson.teaching.view().number == 4


def test_an_unplug_keeps_the_steps_and_asks_the_interrupted_one_again():
    source = PadSource(PAD)
    lesson = Lesson(source)
    lesson.until("walking", 5)
    lesson.pass_(1.0)
    source.plugged = False
    lesson.pass_(1.0)
    view = lesson.teaching.view()
    assert (view.state, view.number, view.seen) == ("away", 5, 4)
    assert "unplugged" in view.message
    source.plugged = True
    lesson.pass_(3.0)
    assert lesson.teaching.view().state == "paused", "the person says when the hands are ready"
    lesson.teaching.press("next")
    lesson.until("answering")
    assert ids(lesson) == [s.id for s in walk(PAD.controls)]
    assert set(judged(PAD, lesson.teaching.result()).values()) == {"right"}


def test_a_pause_a_step_again_and_the_step_before_again_leave_each_step_once():
    lesson = Lesson(PadSource(PAD))
    lesson.until("walking", 4)
    lesson.pass_(2.0)
    lesson.teaching.press("pause")
    lesson.pass_(20.0)
    assert lesson.teaching.view().number == 4
    lesson.teaching.press("next")
    lesson.pass_(2.0)
    lesson.teaching.press("again")
    assert lesson.teaching.view().left_s == lesson.teaching.view().step.seconds
    lesson.until("walking", 6)
    lesson.teaching.press("back")
    assert lesson.teaching.view().number == 5
    lesson.until("answering")
    assert ids(lesson) == [s.id for s in walk(PAD.controls)]
    assert set(judged(PAD, lesson.teaching.result()).values()) == {"right"}


def test_a_walk_that_was_stopped_goes_on_with_what_was_kept():
    first = Lesson(PadSource(PAD))
    first.until("walking", 9)
    first.teaching.press("stop")
    assert first.teaching.view().state == "stopped"
    kept = first.teaching.seen
    assert len(kept) == 8
    second = Lesson(PadSource(PAD, begin_ns=5_000_000_000), seen=kept)
    assert second.teaching.view().step.id == walk(PAD.controls)[8].id
    second.until("answering")
    times = [(o.begin_ns, o.end_ns) for o in second.teaching.seen]
    assert times == sorted(times)
    assert all(a[1] <= b[0] for a, b in pairwise(times))
    assert set(judged(PAD, second.teaching.result()).values()) == {"right"}


DOUBTFUL = steady_pad(9002, odd_range=True, descriptor="none", copying="none")


def doubtful() -> Lesson:
    """Sticks whose range is doubtful, and one button that was not pressed."""
    source = PadSource(DOUBTFUL)
    button = next(c.id for c in DOUBTFUL.controls if c.kind == "button")
    source.clumsy.append(f"{button}.press")
    lesson = Lesson(source)
    lesson.until("answering")
    return lesson


def test_each_question_is_answered_in_one_of_three_ways():
    lesson = doubtful()
    options = {d.question.control: d.options for d in lesson.teaching.doubts()}
    button = next(c.id for c in DOUBTFUL.controls if c.kind == "button")
    assert options["left_stick"] == ("again", "write", "leave")
    assert options[button] == ("again", "leave"), "nothing was seen that could be written"
    lesson.teaching.answer("left_stick", "write")
    lesson.teaching.answer("right_stick", "leave")
    lesson.teaching.answer(button, "again")
    result = lesson.teaching.result()
    assert "left_stick" in {c.id for c in result.sheet.controls}
    left = [q.control for q in result.questions]
    assert button in left
    assert not {"left_stick", "right_stick"} & set(left), "those are answered"
    lesson.teaching.press("next")
    view = lesson.teaching.view()
    assert (view.state, view.round, view.number) == ("walking", 2, 1)
    assert view.count < len(walk(DOUBTFUL.controls)) / 4, "only what is in doubt is done again"
    lesson.until("answering")
    assert f"{button}.press" in ids(lesson)[-view.count :]
    result = lesson.teaching.result()
    controls = {c.id for c in result.sheet.controls}
    assert {"left_stick", button} <= controls
    assert "right_stick" not in controls
    assert not result.questions, "the answers of the first round still hold"


def test_an_answer_that_a_question_does_not_have_changes_nothing():
    lesson = doubtful()
    before = lesson.teaching.doubts()
    button = next(c.id for c in DOUBTFUL.controls if c.kind == "button")
    lesson.teaching.answer(button, "write")
    lesson.teaching.answer("no such control", "leave")
    assert lesson.teaching.doubts() == before


def test_learning_is_done_beside_and_can_be_stopped():
    lesson = Lesson(PadSource(PAD), beside=True)
    lesson.until("learning")
    lesson.pass_(1.0)
    assert lesson.teaching.view().state == "learning"
    lesson.teaching.press("stop")
    lesson.jobs.pop()()
    lesson.pass_(0.1)
    assert lesson.teaching.view().state == "stopped"
    lesson.teaching.press("next")
    lesson.jobs.pop()()
    lesson.pass_(0.1)
    assert lesson.teaching.view().state == "answering"


def test_a_fault_of_learning_keeps_the_walk(monkeypatch: pytest.MonkeyPatch):
    lesson = Lesson(PadSource(PAD), beside=True)
    lesson.until("learning")

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("station.bench.teaching.learn", broken)
    with pytest.raises(ZeroDivisionError):
        lesson.jobs.pop()()
    lesson.pass_(0.1)
    view = lesson.teaching.view()
    assert (view.state, view.message) == ("paused", words.LESSON_FAILED)
    assert learn(lesson.teaching.seen).sheet.controls
