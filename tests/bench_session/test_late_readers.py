"""Nothing that a consumer of reports comes too late for is charged to the unit: not to a try, a result or a lesson.

What the device's own queue loses still is: see `test_lost_reports_are_counted_for_the_try_alone`.
"""

from __future__ import annotations

import os
from collections.abc import Callable

import numpy as np
import pytest

from station.bench.memory import MemoryRecorder
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.teaching import Teaching
from station.bench.types import Fault, Go, Step, StepStarted
from station.capture.file import read_capture
from station.checks.types import Outcome
from station.sheets.bind import bind
from station.sheets.learn import LearnStep
from station.sources.ring import MAX_CAPACITY, W_LOST, RingWriter, create_ring, map_ring
from station.sources.ring_view import RingView
from station.sources.usb import UsbSource
from tests.bench_session.bench_fakes import INFO, LAYOUT, MS, SHEET, UNIT, FakeSource, S, fake_checks

CONTACT = Step("contact", "left", "Contact", "Left shoulder", "top")
LINK = Step("link", "", "Link", "whole unit", "whole unit")
REST, PRESSED = bytes((0, 128, 128)), bytes((1, 128, 128))


class Plugged(UsbSource):
    """The parent's side of the reader process, with the ring written by hand and no process."""

    def __init__(self, capacity: int | None = None) -> None:
        self.time_ns = 0
        path = create_ring(4, capacity)
        self.ring, self._view = RingWriter(map_ring(path)), RingView(path)
        os.unlink(path)
        self._info, self._overrun, self._closed = INFO, 0, False  # `_overrun`: so that it runs on older code too
        self._trouble: Callable[[], str] = lambda: ""  # type: ignore[method-assign]
        self._remark: Callable[[], str] = lambda: ""  # type: ignore[method-assign]

    def now_ns(self) -> int:
        return self.time_ns

    def ask_system(self):  # type: ignore[no-untyped-def]
        return FakeSource().ask_system()

    def come(self, n: int, report: bytes = REST) -> None:
        """`n` reports at 1 kHz."""
        for _ in range(n):
            self.time_ns += MS
            self.ring.write(self.time_ns, report)


class Visit:
    """A visit on such a device, and a window that looks at it now and then."""

    def __init__(self, source: Plugged, *steps: Step) -> None:
        self.source, self.recorder, self.checks = source, MemoryRecorder(), fake_checks()
        self.session = Session(
            UnitOnBench(UNIT, source, bind(SHEET, LAYOUT)),
            VisitPlan(steps=steps),
            BenchSetup(self.recorder, checks=self.checks, limits={}),
        )
        self.events: list[object] = []

    def tick(self) -> None:
        self.session.tick()
        self.events += self.session.take_events()

    def go(self) -> None:
        self.session.do(Go())
        self.tick()

    def run(self, ms: int, report: bytes = REST, every_ms: int = 20) -> None:
        for _ in range(ms // every_ms):
            self.source.come(every_ms, report)
            self.tick()

    def press(self) -> None:
        self.run(60)
        self.run(60, PRESSED)
        self.run(60)


def test_a_ring_s_worth_at_1_khz_with_a_slow_second_consumer_loses_nothing_in_try_and_result() -> None:
    visit = Visit(Plugged(), CONTACT)
    window = 0
    visit.go()
    for _ in range(MAX_CAPACITY // 1000 + 2):
        visit.run(1000, every_ms=200)
        if visit.source.time_ns == 1 * S:
            _, window = visit.source.take(window)  # then it stands still
    block, _ = visit.source.take(window)
    assert block.seq0 > window, "the window's place has been written over"
    visit.press()
    visit.press()
    assert [(r.assessment.outcome, r.lost, r.attempt) for r in visit.recorder.results] == [(Outcome.PASS, 0, 1)]
    assert visit.checks["contact"].takes[-1].lost == 0
    capture = read_capture(visit.recorder.captures[visit.recorder.results[0].capture_sha256])
    assert (capture.meta.lost, len(np.unique(np.diff(capture.block.t_ns)))) == (0, 1)
    assert visit.source.status().lost == 0


def test_a_visit_on_a_device_that_was_plugged_in_long_ago_begins_with_nothing_lost() -> None:
    source = Plugged(512)
    source.come(2000)
    visit = Visit(source, CONTACT)
    visit.tick()
    visit.go()
    visit.press()
    visit.press()
    assert [(r.assessment.outcome, r.lost) for r in visit.recorder.results] == [(Outcome.PASS, 0)]
    assert source.status().lost == 0


def test_what_a_control_holds_when_the_visit_begins_is_known_from_before() -> None:
    source = Plugged()
    source.come(1, PRESSED)  # it tells its changes only, and is held down from now on
    visit = Visit(source, CONTACT)
    visit.tick()
    source.time_ns += S
    visit.go()
    visit.run(40)
    visit.run(40, PRESSED)
    visit.run(200, PRESSED)
    signal = visit.checks["contact"].takes[-1].signals["left"]
    assert signal.closed[0], "held from before the try"


@pytest.mark.parametrize("step", [CONTACT, LINK], ids=["a button", "the link"])
def test_a_visit_that_came_too_late_itself_starts_the_try_again_and_blames_nobody(step: Step) -> None:
    source = Plugged(512)
    visit = Visit(source, step)
    visit.checks["link"].wanted = 10_000
    visit.tick()
    visit.go()
    visit.run(100)
    source.come(700)  # nothing ticks meanwhile
    visit.tick()
    (late,) = visit.recorder.results
    assert (late.assessment.outcome, late.assessment.findings, late.lost) == (Outcome.INTERRUPTED, (), 0)
    assert "no fault of the unit" in late.reason
    kept = read_capture(visit.recorder.captures[late.capture_sha256])
    assert (len(kept.block) >= 100, kept.meta.lost) == (True, 0), "what was read in time is kept"
    assert [e.message for e in visit.events if isinstance(e, Fault)] == [
        f"{late.reason} The check starts again; close other programs if it happens more often."
    ]
    visit.tick()
    assert visit.session.view().running
    assert len([e for e in visit.events if isinstance(e, StepStarted)]) == 2
    if step is CONTACT:
        visit.press()
        visit.press()
        assert [(r.assessment.outcome, r.lost) for r in visit.recorder.results[1:]] == [(Outcome.PASS, 0)]


def test_between_two_tries_coming_late_changes_nothing() -> None:
    source = Plugged(512)
    visit = Visit(source, CONTACT)
    visit.tick()
    source.come(700)
    visit.tick()
    assert (visit.recorder.results, visit.session.view().running, visit.session.view().message) == ([], False, "")
    visit.go()
    visit.press()
    visit.press()
    assert [(r.assessment.outcome, r.lost) for r in visit.recorder.results] == [(Outcome.PASS, 0)]


def test_what_the_device_s_queue_lost_is_still_charged_to_the_try_it_was_lost_in() -> None:
    source = Plugged(512)
    visit = Visit(source, CONTACT)
    source.ring.set_word(W_LOST, 4)
    visit.tick()
    visit.go()
    visit.press()
    source.ring.set_word(W_LOST, 7)
    visit.press()
    assert [r.lost for r in visit.recorder.results] == [3]


# --- a lesson ----------------------------------------------------------------------------------------


SCRIPT = (
    LearnStep("rest", "rest", "Hands off.", 1.0),
    LearnStep("rest.again", "rest", "Hands off again.", 1.0),
)


class Lesson:
    """A lesson on such a device."""

    def __init__(self, source: Plugged) -> None:
        self.source = source
        self.jobs: list[Callable[[], None]] = []
        self.teaching = Teaching(source, SCRIPT, layout=None, later=self.jobs.append)

    def run(self, ms: int) -> None:
        for _ in range(ms // 50):
            self.source.come(50)
            self.teaching.tick(self.source.now_ns())


def test_a_lesson_that_came_too_late_asks_for_the_step_again() -> None:
    lesson = Lesson(Plugged(512))
    lesson.run(1000)
    lesson.run(300)
    lesson.source.come(700)
    lesson.teaching.tick(lesson.source.now_ns())
    view = lesson.teaching.view()
    assert (view.state, view.number, view.seen) == ("paused", 2, 1)
    assert view.message.endswith("The step that was interrupted is asked again.")
    lesson.teaching.press("next")
    lesson.run(1000)
    assert [len(o.block) for o in lesson.teaching.seen] == [1000, 1000]
    assert (np.diff(lesson.teaching.seen[1].block.t_ns) == MS).all(), "no hole in it"


def test_a_lesson_holds_what_was_lost_in_its_steps_and_nothing_from_before_or_between() -> None:
    source = Plugged(512)
    source.ring.set_word(W_LOST, 50)
    source.come(2000)
    lesson = Lesson(source)
    lesson.run(500)
    source.ring.set_word(W_LOST, 53)
    lesson.run(500)
    assert [o.block.lost for o in lesson.teaching.seen] == [3]
    lesson.run(200)
    lesson.teaching.press("pause")
    source.ring.set_word(W_LOST, 60)
    lesson.run(200)
    lesson.teaching.press("next")
    lesson.run(500)
    source.ring.set_word(W_LOST, 61)
    lesson.run(500)
    assert [o.block.lost for o in lesson.teaching.seen] == [3, 4], "counted up over the steps, as a stream does"
