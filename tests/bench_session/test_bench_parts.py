"""The small parts of the bench: growing arrays, held reports, the thread, records in memory."""

from __future__ import annotations

import threading
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from station.bench.growth import Growing, SignalLog
from station.bench.memory import MemoryRecorder
from station.bench.metronome import (
    COUNT_IN,
    KNOWN_COUNT_IN,
    KNOWN_LEAD_NS,
    LEAD_NS,
    SLOWEST,
    STEP,
    Metronome,
    Tempo,
)
from station.bench.runner import SessionThread
from station.bench.stretch import Held, join_blocks
from station.bench.types import Choose, Fault, Finish, Go
from station.capture.file import make_block
from station.checks.types import Limits, Outcome, Progress, Take
from station.hid.types import Layout
from station.measure.beats import BeatPress, Tally, tally
from station.measure.contacts import Closures
from station.sheets.bind import bind, join_signals
from station.sheets.model import Control, ExplicitField, Place, Sheet
from tests.bench_session.bench_fakes import LAYOUT, SHEET, Bench, FakeCheck


def _one_button(field: ExplicitField) -> Sheet:
    return Sheet("n", controls=(Control("b", "button", "B", at=Place(field=field)),))


NUMBERED = _one_button(ExplicitField(2, 8, 1))
TYPED = _one_button(ExplicitField(0, 8, 1, begins=b"\x01"))
BY_LENGTH = _one_button(ExplicitField(0, 8, 1, length=2))


@given(st.lists(st.lists(st.integers(-(2**62), 2**62), max_size=900), max_size=6))
def test_a_growing_array_is_all_that_was_appended(parts: list[list[int]]) -> None:
    growing = Growing(np.int64)
    views = []
    for part in parts:
        growing.append(np.array(part, np.int64))
        views.append((growing.values, growing.values.tolist()))
    assert growing.values.tolist() == [n for part in parts for n in part]
    assert all(view.tolist() == then for view, then in views)  # what was handed out never changes
    assert not growing.values.flags.writeable


def test_a_signal_log_is_what_joining_the_pieces_gives() -> None:
    binding = bind(SHEET, LAYOUT)
    blocks = [make_block([t, t + 1], [bytes((t % 4, t % 256, 9)), bytes((1, 2, 3))]) for t in range(0, 4000, 2)]
    log = SignalLog()
    for block in blocks:
        log.append(binding.signals(block))
    expected = join_signals(binding.signals(block) for block in blocks)
    found = log.signals()
    assert found.keys() == expected.keys()
    for control, signal in expected.items():
        for name in type(signal).__slots__:
            np.testing.assert_array_equal(getattr(found[control], name), getattr(signal, name))


@pytest.mark.parametrize(
    ("sheet", "layout", "rows"),
    [
        (SHEET, LAYOUT, [b"\x02\x08\x08"]),
        (NUMBERED, Layout((), (), False), [b"\x01\x05\x00", b"\x02\x08\x08"]),
        (SHEET, Layout(LAYOUT.reports, (), True), [b"\x01\x05\x00", b"\x02\x08\x08"]),
        (TYPED, Layout((), (), False), [b"\x01\x05\x00", b"\x02\x08\x08"]),
        (BY_LENGTH, Layout((), (), False), [b"\x01\x05\x00", b"\x02\x08\x08"]),
    ],
    ids=[
        "without report ids the last report",
        "the last of each id that a sheet names",
        "the last of each id",
        "the last that begins as a sheet says",
        "the last that is as long as a sheet says",
    ],
)
def test_held_is(sheet: Sheet, layout: Layout, rows: list[bytes]) -> None:
    held = Held(bind(sheet, layout))
    held.update(make_block([1, 2], [b"\x01\x04\x00", b"\x02\x07\x07"]))
    held.update(make_block([3, 4], [b"\x01\x05", b"\x02\x08\x08"]))
    held.update(make_block([], []))
    block = held.block()
    assert [bytes(row) for row in block.raw] == rows
    assert block.t_ns.tolist() == [3, 4][-len(rows) :]


def test_blocks_of_different_width_are_joined_with_padding() -> None:
    block = join_blocks([make_block([1], [b"\x01"]), make_block([2], [b"\x02\x03\x04"], lost=3)])
    assert block.raw.tolist() == [[1, 0, 0], [2, 3, 4]]
    assert (block.size.tolist(), block.lost) == ([1, 3], 3)
    assert len(join_blocks([])) == 0


def test_a_metronome_without_a_rate_is_silent() -> None:
    assert Metronome(0, 0).due(10 * LEAD_NS) is None


def test_a_metronome_keeps_its_rate_when_it_is_asked_a_little_late() -> None:
    metronome = Metronome(120, 0)
    given_at = [t for t in range(0, LEAD_NS + 2_010_000_000, 7_000_000) if metronome.due(t) is not None]
    assert len(given_at) == 5
    assert all(0 <= at - (LEAD_NS + i * 500_000_000) < 7_000_000 for i, at in enumerate(given_at))


def test_a_metronome_counts_in_before_the_first_beat() -> None:
    metronome = Metronome(120, 0)
    counting = [metronome.counting_in for t in range(0, 6_000_000_000, 10_000_000) if metronome.due(t) is not None]
    assert counting == [True] * COUNT_IN + [False] * (len(counting) - COUNT_IN)


def test_records_in_memory_count_visits_of_a_unit() -> None:
    recorder = MemoryRecorder(lambda: datetime(2026, 3, 6, tzinfo=UTC))
    numbers = [recorder.start_visit(unit, "intake", "", "", None).number for unit in ("a", "b", "a")]
    assert numbers == [1, 1, 2]
    first = next(iter(recorder.visits))
    assert recorder.finish_visit(first).finished_at == "2026-03-06T00:00:00.000Z"


class Stumbling(FakeCheck):
    """A check with a fault of its own."""

    def progress(self, take: Take, limits: Limits) -> Progress:
        raise ZeroDivisionError


def wait_for(bench: Bench, *, ticks: int = 2000) -> threading.Event:
    """An event that is set once the session has been ticked `ticks` times or is finished."""
    done, tick = threading.Event(), bench.session.tick
    left = [ticks]

    def counted() -> None:
        left[0] -= 1
        bench.source.advance(0.01)
        try:
            tick()
        finally:
            if left[0] <= 0 or bench.session.finished:
                done.set()

    bench.session.tick = counted  # type: ignore[method-assign]
    return done


def test_the_thread_works_through_the_visit_and_ends_with_it() -> None:
    bench = Bench()
    done = wait_for(bench)
    thread = SessionThread(bench.session, period_s=0.0001)
    thread.start()
    bench.session.do(Go())
    bench.session.do(Finish())
    assert done.wait(30)
    thread.stop()
    assert not thread.is_alive()
    assert bench.session.finished
    assert [r.assessment.outcome for r in bench.results] == [Outcome.INTERRUPTED]


def test_stopping_the_thread_keeps_the_running_try() -> None:
    bench = Bench()
    done = wait_for(bench, ticks=5)
    thread = SessionThread(bench.session, period_s=0.0001)
    bench.session.do(Go())
    thread.start()
    assert done.wait(30)
    thread.stop()
    thread.stop()
    assert [r.reason for r in bench.results] == ["The bench was closed."]
    assert bench.results[0].capture_sha256 in bench.recorder.captures
    assert not bench.session.finished  # the visit can be gone on with


def test_a_fault_of_a_check_interrupts_that_check_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[type] = []
    monkeypatch.setattr(threading, "excepthook", lambda args: told.append(args.exc_type))
    bench = Bench()
    bench.checks["contact"] = Stumbling("contact")
    done = wait_for(bench, ticks=300)
    thread = SessionThread(bench.session, period_s=0.0001)
    bench.session.do(Go())
    thread.start()
    assert done.wait(30)
    bench.session.do(Choose(1))
    thread.stop()
    assert told == [ZeroDivisionError], "the crash hook leaves a report"
    assert [(r.assessment.outcome, r.reason) for r in bench.results] == [
        (Outcome.INTERRUPTED, "Interrupted by: an error of the program (ZeroDivisionError).")
    ]
    faults = [e.message for e in bench.session.take_events() if isinstance(e, Fault)]
    assert faults == [
        "The check was interrupted by this: an error of the program (ZeroDivisionError). "
        "What was recorded is kept; start it again."
    ]


def test_a_hand_that_is_in_the_tempo_is_counted_in_more_quickly() -> None:
    metronome = Metronome(180, 0, known=True)
    given = [(t, metronome.counting_in) for t in range(0, 3_000_000_000, 5_000_000) if metronome.due(t) is not None]
    assert given[0][0] == KNOWN_LEAD_NS
    assert [counting for _, counting in given] == [True] * KNOWN_COUNT_IN + [False] * (len(given) - KNOWN_COUNT_IN)


def followed(*answers: tuple[bool, float], closed_ms: float = 110.0) -> float:
    """Beats a minute after beats at 120 that were answered so many ms late, or to which nothing closed."""
    beats = tuple(
        BeatPress(500_000_000 * (k + 1), "registered", True, 1, round(closed_ms * 1e6), round(late_ms * 1e6))
        if answered
        else BeatPress(500_000_000 * (k + 1), "neither", True)
        for k, (answered, late_ms) in enumerate(answers)
    )
    tempo = Tempo()
    return [tempo.follow(beats[: k + 1], 120) for k in range(len(beats)) for _ in range(2)][-1]


def alternately(rms_ms: float, count: int, late_ms: float = 40.0) -> list[tuple[bool, float]]:
    return [(True, late_ms + rms_ms * (-1) ** k) for k in range(count)]


@pytest.mark.parametrize(
    ("answers", "expected"),
    [
        (alternately(10, 7), 120.0),
        (alternately(10, 8), 129.6),
        (alternately(10, 9), 139.968),
        (alternately(10, 40), 180.0),
        (alternately(53, 40), 60e3 / (110 + 60 + 5.5 * 53)),
        (alternately(73, 40), 60e3 / (110 + 60 + 5.5 * 73)),
        (alternately(100, 40), 90.0),
        (alternately(10, 40, late_ms=300.0), 60e3 / (2 * 300)),
        (alternately(10, 40, late_ms=-200.0), 60e3 / (2 * 200)),
        ([*alternately(53, 12), *alternately(2, 4)], 60e3 / (110 + 60 + 5.5 * 46)),
        ([(True, 40), (False, 0), (True, 40), (True, 40)], 120.0),
        ([(True, 40), (False, 0), (False, 0), (True, 40)], 120.0 / 1.08),
        ([(False, 0)] * 40, 90.0),
    ],
    ids=[
        "too few", "in step", "a step a beat", "fastest", "uneven", "torn", "slowest", "late", "early", "a lucky run",
        "a slip", "two", "away",
    ],
)  # fmt: skip
def test_the_tempo_follows_the_person(answers: list[tuple[bool, float]], expected: float) -> None:
    """As fast as there is room for, or less by up to the step that it does not go back for."""
    assert max(expected / STEP, SLOWEST) - 1e-6 <= followed(*answers) <= expected + 1e-6


def test_a_press_that_is_held_longer_needs_slower_beats() -> None:
    short, long = (followed(*alternately(20, 40), closed_ms=ms) for ms in (300.0, 450.0))
    assert 60e3 / (450 + 60 + 5.5 * 20) / STEP < long < 60e3 / (450 + 60 + 5.5 * 20) + 1e-6 < short


def test_what_was_pressed_in_one_try_tells_the_tempo_of_the_next() -> None:
    """Four presses of an uneven hand that happen to lie near their beats make nothing faster."""
    rng = np.random.default_rng(5)
    tempo = Tempo()
    for first in (0, 100):
        late = rng.normal(40.0, 75.0, 31)
        late[-4:] = 40.0
        beats = [
            BeatPress((first + k + 1) * 600_000_000, "registered", True, 1, 110_000_000, round(ms * 1e6))
            for k, ms in enumerate(late.tolist())
        ]
        slowest = min(tempo.follow(beats[: k + 1], 120) for k in range(len(beats)))
        assert slowest < 120.0
        assert tempo.of(120) < 130.0


def pressed_in_tempo(rng: np.random.Generator, tempo: Tempo, begin_ns: int, rms_ms: float) -> list[str]:
    """What became of 31 beats at a sound button, in the tempo that follows a hand of that scatter about its beats.

    Presses that run into each other are one closure.
    """
    beats, ends = [begin_ns], np.empty(0)
    starts = np.empty(0)
    told = Tally((), vouched=False, offset_ns=0)
    while True:
        at_ns = beats[-1] + round(rng.normal(60.0, rms_ms) * 1e6)
        starts, ends = np.append(starts, at_ns), np.append(ends, at_ns + rng.uniform(90.0, 140.0) * 1e6)
        order = np.argsort(starts)
        start, end = starts[order], np.maximum.accumulate(ends[order])
        apart = start[1:] > end[:-1]
        made = Closures(start[np.append(True, apart)].astype(np.int64), end[np.append(apart, True)].astype(np.int64))
        last = len(beats) == 31
        told = tally(made, None, beats, beats[-1] + (10**9 if last else 0))
        if last:
            return [beat.state for beat in told.beats]
        beats_per_minute = tempo.follow([beat for beat in told.beats if beat.settled], 120)
        beats.append(beats[-1] + round(60e9 / beats_per_minute))


@pytest.mark.parametrize("rms_ms", [18, 40, 53, 75, 95])
def test_the_presses_of_an_uneven_hand_do_not_run_into_each_other(rms_ms: float) -> None:
    rng, tempo = np.random.default_rng(rms_ms), Tempo()
    states = [s for k in range(20) for s in pressed_in_tempo(rng, tempo, k * 60 * 10**9, rms_ms)]
    assert sum(state != "registered" for state in states) <= 2, "of 620 beats at a sound button"
