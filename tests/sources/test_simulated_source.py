"""The simulated unit as a source: clock, cursors, unplugging, link, and recordings."""

from __future__ import annotations

import numpy as np
import pytest

from station.capture.file import read_capture, write_capture
from station.errors import DeviceLost
from station.hid.descriptor import parse_descriptor
from station.sources.port import Answer
from station.sources.simulated import Item, PadDesign, SimulatedHand, SimulatedSource, UnitSpec, faults, make_capture
from station.sources.simulated.store import ReportStore

NS = 1_000_000_000
MS = 1_000_000


class Clock:
    """Nanoseconds moved by hand."""

    def __init__(self) -> None:
        self.now = 5 * NS

    def __call__(self) -> int:
        return self.now


def virtual(design: PadDesign, *found: faults.Fault, skill: float = 0.9) -> SimulatedSource:
    return SimulatedSource(UnitSpec(design, 3, found, "SM-07-99"), SimulatedHand(skill, 3), realtime=False)


def ask(source: SimulatedSource, check: str, control: str = "") -> None:
    source.hand.ask(check, control, None, "", 0, source.now_ns())


def test_it_says_what_it_is() -> None:
    info = virtual(PadDesign("16bit")).info
    assert (info.vendor_id, info.product_id, info.bus, info.serial) == (0x1209, 2, "simulated", "SM-07-99")
    assert info.usages == (0x1_0005,)
    assert parse_descriptor(info.descriptor).numbered


@pytest.mark.parametrize("rate", [125, 250, 1000, 8000])
def test_reports_come_at_their_rate(rate: int) -> None:
    source = virtual(PadDesign("8bit", rate))
    source.advance(2.0)
    block, _ = source.take(0)
    assert len(block) == pytest.approx(2 * rate, abs=2)
    assert (np.diff(block.t_ns) >= 0).all()
    assert np.median(np.diff(block.t_ns)) == pytest.approx(NS / rate, rel=0.02)
    assert block.t_ns[-1] <= source.now_ns()


def test_in_real_time_a_report_appears_when_its_stamp_has_passed() -> None:
    clock = Clock()
    source = SimulatedSource(UnitSpec(PadDesign("8bit", 1000), 1), SimulatedHand(), clock_ns=clock)
    seen = []
    for step in (0, 100, 3, 47, 850):
        clock.now += step * MS
        block, _ = source.take(0)
        assert source.now_ns() == clock.now - 5 * NS
        assert not len(block) or block.t_ns[-1] <= source.now_ns()
        seen.append(len(block))
    assert seen == pytest.approx([0, 100, 103, 150, 1000], abs=2)


def test_real_time_and_own_clock_give_the_same_reports() -> None:
    spec = UnitSpec(PadDesign("packed", 500), 8)
    clock = Clock()
    live = SimulatedSource(spec, SimulatedHand(0.8, 2), clock_ns=clock)
    fast = SimulatedSource(spec, SimulatedHand(0.8, 2), realtime=False)
    for source in (live, fast):
        ask(source, "letgo", "left_stick")
    for _ in range(150):
        clock.now += 20 * MS
        live.take(0, 0)
    for _ in range(30):
        fast.advance(0.1)
    a, b = live.take(0)[0], fast.take(0)[0]
    np.testing.assert_array_equal(a.raw, b.raw)
    assert abs(a.t_ns - b.t_ns).max() < 0.3 * MS


def test_cursors_are_independent_and_the_limit_holds() -> None:
    source = virtual(PadDesign("8bit", 250))
    source.advance(1.0)
    whole, end = source.take(0)
    first, cursor = source.take(0, limit=100)
    second, cursor = source.take(cursor)
    assert (first.seq0, second.seq0, cursor) == (0, 100, end)
    np.testing.assert_array_equal(np.concatenate((first.raw, second.raw)), whole.raw)
    assert len(source.take(cursor)[0]) == 0
    assert source.take(1 << 60)[1] == end


def test_blocks_that_were_taken_stay_as_they_were() -> None:
    source = virtual(PadDesign("16bit", 1000))
    source.advance(0.5)
    block, _ = source.take(0)
    before = block.raw.copy()
    source.advance(30.0)
    source.take(0)
    np.testing.assert_array_equal(block.raw, before)
    assert not block.raw.flags.writeable


def test_a_reader_far_behind_gets_the_oldest_there_is() -> None:
    store = ReportStore(1, most=10_000)
    for k in range(40):
        store.add(np.arange(1000) + 1000 * k, np.full((1000, 1), k, np.uint8))
    block, cursor = store.read(0, 10**9, 10**9)
    assert cursor == store.end == 40_000
    assert block.seq0 == block.t_ns[0] > 29_000
    assert block.lost == 0, "others had them: it is no loss of the unit"
    assert (block.raw[:, 0] == block.t_ns // 1000).all()


def test_a_unit_that_reports_on_change_is_silent_until_something_changes() -> None:
    quiet = virtual(PadDesign("8bit", 250, on_change=True))
    quiet.advance(1.0)
    reports = quiet.take(0)[0]
    assert len(reports) < 250
    ask(quiet, "contact", "south")
    quiet.advance(3.0)
    block, _ = quiet.take(0)
    assert (np.diff(block.raw.astype(int), axis=0) != 0).any(axis=1).all()
    assert (block.raw[:, 5] & 1).any()


def test_unplugged_it_is_lost_silent_and_refuses_reports_and_replugged_it_goes_on() -> None:
    source = virtual(PadDesign("8bit", 1000))
    source.advance(1.0)
    source.unplug()
    source.advance(2.0)
    assert source.status().state == "lost"
    with pytest.raises(DeviceLost, match="plug it in again"):
        source.send(b"\x01")
    assert source.take(0)[0].t_ns[-1] <= NS
    source.replug()
    source.advance(1.0)
    t_ns = source.take(0)[0].t_ns
    assert source.status().state == "live"
    assert np.diff(t_ns).max() == pytest.approx(2 * NS, rel=0.03)
    source.send(b"\x02\x03", feature=True)
    assert list(source.sent) == [(b"\x02\x03", True)]


def test_asked_it_gives_the_features_it_was_given() -> None:
    source = virtual(PadDesign("8bit", 250))
    source.features[3] = b"\x03\x2a"
    assert source.ask_feature(3).answer == Answer(b"\x03\x2a")
    assert source.ask_feature(4).answer == Answer(problem="it has no such feature report")
    assert source.ask_system().answer == Answer()
    source.unplug()
    with pytest.raises(DeviceLost):
        source.ask_feature(3)


def test_put_away_it_stands_still_and_can_still_be_read() -> None:
    source = virtual(PadDesign("8bit", 250))
    source.advance(1.0)
    source.close()
    source.advance(5.0)
    assert source.status().state == "ended"
    assert source.now_ns() == NS
    assert len(source.take(0)[0]) == pytest.approx(250, abs=1)


def test_a_loose_plug_takes_the_unit_off_the_bus_while_the_cable_is_flexed() -> None:
    source = virtual(PadDesign("8bit", 500), faults.disconnect(0.4, 900.0))
    source.advance(4.0)
    assert not source.unit.wire.away
    ask(source, "link")
    states = []
    for _ in range(110):
        source.advance(0.1)
        states.append(source.status().state)
    assert {"live", "lost"} == set(states)
    gaps = np.diff(source.take(0)[0].t_ns)
    assert gaps.max() == pytest.approx(900 * MS, rel=0.02)


def test_by_radio_reports_are_late_merged_and_silently_lost() -> None:
    spec = UnitSpec(PadDesign("8bit", 1000), 3, by_radio=True)
    source = SimulatedSource(spec, SimulatedHand(), realtime=False)
    source.advance(60.0)
    block, _ = source.take(0)
    dropped = source.unit.wire.dropped
    assert dropped == pytest.approx(120, abs=45)
    assert len(block) + dropped == pytest.approx(60_000, abs=60)
    assert block.lost == 0
    steps = np.diff(block.t_ns)
    assert (steps == 0).mean() > 0.015
    assert steps.std() > 0.3 * MS


def test_a_fault_in_one_part_changes_nothing_in_the_others() -> None:
    sound, faulty = UnitSpec(PadDesign(), 5), UnitSpec(PadDesign(), 5, (faults.off_centre("left_stick", "up", 20.0),))
    assert sound.parts.sticks["right_stick"] == faulty.parts.sticks["right_stick"]
    assert sound.parts.contacts == faulty.parts.contacts
    assert sound.parts.sticks["left_stick"].gate == faulty.parts.sticks["left_stick"].gate


PLAN = [
    Item("contact", "south"),
    Item("light", "left_shoulder", "right_shoulder", beats=10),
    Item("rest", "left_stick"),
]


def test_a_recording_brackets_every_check_and_can_be_written_and_read() -> None:
    capture = make_capture(UnitSpec(PadDesign("packed", 250), 2, tag="SM-07-98"), SimulatedHand(0.9, 1), PLAN)
    again = read_capture(write_capture(capture))
    marks = [(m.event, m.check, m.control) for m in again.marks if m.event != "beat"]
    assert marks == [(e, item.check, item.control) for item in PLAN for e in ("begin", "end")]
    beats = [m for m in again.marks if m.event == "beat"]
    assert len(beats) == 10
    assert {m.witness for m in beats} == {"right_shoulder"}
    assert again.meta.serial == "SM-07-98"
    assert again.block.t_ns[-1] >= again.marks[-1].time_ns


def test_the_same_recording_comes_out_every_time() -> None:
    made = [
        write_capture(make_capture(UnitSpec(PadDesign("8bit", 125), 2), SimulatedHand(0.9, 1), PLAN)) for _ in range(2)
    ]
    assert made[0] == made[1]
    other = write_capture(make_capture(UnitSpec(PadDesign("8bit", 125), 2), SimulatedHand(0.9, 2), PLAN))
    assert other != made[0]
