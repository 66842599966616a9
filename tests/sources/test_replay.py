"""A capture replayed: on its own clock, or all at once."""

from __future__ import annotations

import math

import pytest

from station.capture.file import Capture, CaptureMeta, make_block
from station.errors import InputError
from station.sources.port import Answer
from station.sources.replay import ReplaySource

CAPTURE = Capture(
    b"\x05\x01",
    make_block([0, 10, 20, 20, 30], [bytes([i]) for i in range(5)]),
    CaptureMeta(0x1209, 1, "Plover T2", "SM07-01", lost=3),
)


class Clock:
    """Nanoseconds moved by hand."""

    def __init__(self) -> None:
        self.now = 1_000

    def __call__(self) -> int:
        return self.now


def test_in_real_time_a_report_appears_when_its_stamp_has_passed() -> None:
    clock = Clock()
    source = ReplaySource(CAPTURE, clock_ns=clock)
    seen = []
    for now in (1_000, 1_009, 1_010, 1_025, 1_030):
        clock.now = now
        seen.append((source.now_ns(), len(source.take(0)[0]), source.status().state))
    assert seen == [(0, 1, "live"), (9, 1, "live"), (10, 2, "live"), (25, 4, "live"), (30, 5, "ended")]


def test_speed_stretches_the_clock() -> None:
    clock = Clock()
    source = ReplaySource(CAPTURE, 2.0, clock_ns=clock)
    clock.now += 10
    assert source.now_ns() == 20
    assert len(source.take(0)[0]) == 4


def test_as_fast_as_it_goes_everything_is_there_at_once() -> None:
    source = ReplaySource(CAPTURE, math.inf)
    block, cursor = source.take(0)
    assert (len(block), cursor, source.now_ns(), source.status().state) == (5, 5, 30, "ended")
    assert block.lost == source.status().lost == 3


def test_cursors_are_independent_and_the_limit_holds() -> None:
    source = ReplaySource(CAPTURE, math.inf)
    first, cursor = source.take(0, limit=2)
    second, cursor = source.take(cursor, limit=2)
    assert [first.raw[:, 0].tolist(), second.raw[:, 0].tolist(), second.seq0, cursor] == [[0, 1], [2, 3], 2, 4]
    assert len(source.take(5)[0]) == 0
    assert source.take(99)[1] == 5


def test_a_cursor_beyond_the_present_counts_as_the_present() -> None:
    clock = Clock()
    source = ReplaySource(CAPTURE, clock_ns=clock)
    clock.now += 10
    assert source.take(99)[1] == len(source.take(0)[0]) == 2


def test_who_was_recorded_is_known() -> None:
    info = ReplaySource(CAPTURE, key="sm07.npz").info
    assert (info.key, info.vendor_id, info.product, info.serial, info.descriptor) == (
        "sm07.npz",
        0x1209,
        "Plover T2",
        "SM07-01",
        b"\x05\x01",
    )


def test_a_command_to_a_recording_is_only_remembered() -> None:
    source = ReplaySource(CAPTURE, math.inf)
    source.send(b"\x02\x40", feature=True)
    assert source.sent == [(b"\x02\x40", True)]


def test_a_recording_has_no_answers() -> None:
    source = ReplaySource(CAPTURE)
    assert source.ask_feature(3).answer == Answer(problem="a recording cannot be asked")
    assert source.ask_system().answer == Answer()


@pytest.mark.parametrize("speed", [0.0, -1.0, math.nan])
def test_a_speed_that_goes_nowhere_is_refused(speed: float) -> None:
    with pytest.raises(InputError, match="above zero"):
        ReplaySource(CAPTURE, speed)


def test_an_empty_recording_has_ended() -> None:
    source = ReplaySource(Capture(b"", make_block([], []), CaptureMeta(1, 1)))
    assert source.status().state == "ended"
    assert source.take(0)[1] == 0
