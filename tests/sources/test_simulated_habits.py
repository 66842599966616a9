"""What firmware and hands do of their own, and what moves by itself: measured by plain means against what was set."""

from __future__ import annotations

import numpy as np
import pytest

from station.hid.decode import column
from station.hid.types import ReportBlock
from station.sources.simulated import Item, PadDesign, SimulatedHand, UnitSpec, faults, make_capture
from station.sources.simulated.by_itself import Push, Spell
from station.sources.simulated.faults import Fault
from station.sources.simulated.firmware import PLAIN as FIRMWARE
from station.sources.simulated.firmware import AxisFirmware, Firmware
from station.sources.simulated.habits import Habits
from station.sources.simulated.hand import PLAIN

DESIGN = PadDesign("8bit", 1000)
SWEEP = Item("sweep", "left_stick")


def block_of(
    plan: list[Item], fault: Fault | None = None, firmware: Firmware = FIRMWARE, habits: Habits = PLAIN
) -> ReportBlock:
    spec = UnitSpec(DESIGN, 3, (fault,) if fault else (), firmware=firmware)
    return make_capture(spec, SimulatedHand(1.0, 1, habits), plan).block


def codes_of(block: ReportBlock, control: str, k: int = 0) -> np.ndarray:
    return np.asarray(column(DESIGN.fields[DESIGN.control(control).usages[k]], block).value)


def closings(block: ReportBlock, control: str) -> tuple[np.ndarray, np.ndarray]:
    """(begin, length) of each closure in s."""
    closed = codes_of(block, control).astype(bool)
    edges = np.flatnonzero(np.diff(closed.astype(int))) + 1
    t = block.t_ns[edges] / 1e9
    t = t[1:] if closed[0] else t
    ends = t[1::2]
    return t[::2][: len(ends)], ends - t[::2][: len(ends)]


# --- firmware -----------------------------------------------------------------------------------------


def test_a_scale_keeps_all_four_ends_off_the_range() -> None:
    block = block_of([SWEEP], firmware=Firmware(scale=231 / 255))
    for k in (0, 1):
        code = codes_of(block, "left_stick", k)
        assert (code.min(), code.max()) == (12, 243)


def test_a_dead_zone_says_middle_and_jumps() -> None:
    x = codes_of(block_of([SWEEP], firmware=Firmware(dead_zone_pct=12.0)), "left_stick")
    away = np.abs(x / 127.5 - 1.0)
    assert away[away > 0.005].min() > 0.11
    assert (away < 0.005).sum() > 500


def test_a_low_pass_reaches_63_percent_after_its_time_constant_whatever_the_chunks() -> None:
    step = np.full(100, 50.0)
    whole = AxisFirmware(Firmware(smooth_s=0.02), 0.001).run(np.append(0.0, step))
    one = AxisFirmware(Firmware(smooth_s=0.02), 0.001)
    parts = np.concatenate([one.run(np.append(0.0, step[:30])), one.run(step[30:])])
    assert whole[20] == pytest.approx(50.0 * (1.0 - np.exp(-1.0)), rel=1e-6)
    np.testing.assert_allclose(parts, whole)


def test_hysteresis_sends_no_small_step() -> None:
    sent = AxisFirmware(Firmware(hysteresis_pct=3.0), 0.001).run(np.linspace(0.0, 31.0, 249))
    assert np.unique(sent) == pytest.approx(3.125 * np.arange(10), abs=1e-9)


def test_reports_in_bursts_come_at_one_moment_and_none_is_missing() -> None:
    plain, bursts = (
        block_of([Item("rest", "left_stick")]),
        block_of([Item("rest", "left_stick")], None, Firmware(burst=4)),
    )
    assert len(bursts) >= len(plain) - 4
    assert np.median(np.diff(bursts.t_ns)[3::4]) > 3e6 or np.quantile(np.diff(bursts.t_ns), 0.9) > 3e6
    assert np.median(np.diff(bursts.t_ns)) < 0.3e6


def test_lost_reports_are_missing() -> None:
    plain, fewer = block_of([SWEEP]), block_of([SWEEP], None, Firmware(lost=0.1))
    assert len(fewer) / len(plain) == pytest.approx(0.9, abs=0.01)


# --- by itself ----------------------------------------------------------------------------------------


def test_spells_and_pushes_are_on_when_they_say() -> None:
    t = np.arange(0.0, 20.0, 0.01)
    assert Spell(5.0, 0.5, 2.0).at(t).mean() == pytest.approx(4 * 0.5 / 20.0, abs=0.002)
    assert not Spell().at(t).any()
    assert Push("left_stick", 50.0).at(np.array([[0.0, 0.0], [30.0, 40.0], [20.0, 20.0]])).tolist() == [
        False,
        True,
        False,
    ]


def test_a_button_closes_by_itself_at_its_times() -> None:
    block = block_of([SWEEP], faults.closes_at_times("south", 6.0, 80.0, 2.0))
    begin, length = closings(block, "south")
    assert begin == pytest.approx(begin[0] + 6.0 * np.arange(len(begin)), abs=0.01)
    assert len(begin) == 1 + int((block.t_ns[-1] / 1e9 - 2.0) / 6.0)
    assert length == pytest.approx(0.08, abs=0.002)


def test_a_button_closes_when_a_stick_is_pushed_and_only_then() -> None:
    block = block_of([SWEEP], faults.closes_when_pushed("south", "left_stick", 60.0))
    x, y = (np.abs(codes_of(block, "left_stick", k) / 127.5 - 1.0) for k in (0, 1))
    south = codes_of(block, "south").astype(bool)
    assert south[np.hypot(x, y) > 0.75].all()
    assert not south[np.hypot(x, y) < 0.5].any()


def test_a_track_twitches() -> None:
    x = codes_of(
        block_of([Item("contact", "south", seconds=10.0)], faults.twitches("right_stick", "x", 3.0, 50.0, 30.0)),
        "right_stick",
    )
    assert (np.abs(x - np.median(x)) > 25).sum() == pytest.approx(4 * 50, abs=55)


# --- contacts and triggers ------------------------------------------------------------------------------


def test_a_button_stays_closed_after_a_share_of_presses() -> None:
    plan = [Item("light", "south", beats=60)]
    _, length = closings(block_of(plan, faults.stays_closed("south", 0.3, 300.0)), "south")
    assert 9 <= (length > 0.28).sum() <= 27


def presses_that_register(fault: Fault, control: str) -> np.ndarray:
    """bool[60]: by beat."""
    plan = [Item("light", control, "right_shoulder" if control == "left_shoulder" else None, beats=60)]
    begin, _ = closings(block_of(plan, fault), control)
    beats = np.round(begin * 2).astype(int)
    return np.isin(np.arange(60) + beats.min(), beats)


def test_misses_come_in_runs() -> None:
    hit = presses_that_register(faults.missing_runs("left_shoulder", 0.3, 4), "left_shoulder")
    edges = np.flatnonzero(np.diff(np.concatenate(([0], (~hit).astype(int), [0]))))
    runs = (edges[1::2] - edges[::2])[:-1]
    assert len(runs) >= 2
    assert (runs >= 3).all()


def test_two_contacts_miss_together() -> None:
    fault = faults.missing_together("left_shoulder", "right_shoulder", 0.4)
    block = block_of([Item("light", "left_shoulder", "right_shoulder", beats=60)], fault)
    left, right = (np.round(closings(block, c)[0] * 2).astype(int) for c in ("left_shoulder", "right_shoulder"))
    assert set(left) ^ set(right) == set()
    assert 25 <= len(set(left)) <= 48


def test_a_trigger_hangs_and_comes_back() -> None:
    block = block_of([Item("trigger", "left_trigger")], faults.hanging_trigger("left_trigger", 1.0, 30.0, 500.0))
    pct = codes_of(block, "left_trigger") / 2.55
    hanging = (np.abs(pct - 30.0) < 1.5).sum()
    assert hanging == pytest.approx(3 * 500, rel=0.15)
    assert pct[-100:].max() < 2.0


# --- hands ----------------------------------------------------------------------------------------------


def test_a_leaning_thumb_pushes_the_stick_that_is_to_be_left_alone_and_lets_go_when_asked_to() -> None:
    habits = Habits(lean_pct=6.0)
    block = block_of([Item("rest", "left_stick"), Item("letgo", "left_stick")], habits=habits)
    x, y = (codes_of(block, "left_stick", k) / 127.5 - 1.0 for k in (0, 1))
    away = 100.0 * np.hypot(x, y)
    assert np.median(away[2000:3500]) == pytest.approx(6.0, abs=2.5)
    plain = 100.0 * np.hypot(
        *(codes_of(block_of([Item("rest", "left_stick")]), "left_stick", k) / 127.5 - 1 for k in (0, 1))
    )
    assert np.quantile(away[-6000:], 0.2) == pytest.approx(np.median(plain[-1000:]), abs=2.0)


def test_a_wrong_hand_presses_another_button() -> None:
    pressed = [
        len(closings(block_of([Item("contact", "south")], habits=Habits(wrong=share)), "south")[0])
        for share in (0.0, 1.0)
    ]
    assert pressed == [3, 0]


def test_a_late_hand_begins_and_presses_late() -> None:
    plan = [Item("light", "south", beats=40)]
    at = [closings(block_of(plan, habits=Habits(late_s=late)), "south")[0] for late in (0.0, 0.15)]
    delay = [float(np.median((begin - 1.5 + 0.2) % 0.5)) for begin in at]
    assert delay[1] - delay[0] == pytest.approx(0.15, abs=0.04)


def test_a_brush_presses_a_neighbour_for_a_moment() -> None:
    block = block_of([Item("contact", "south"), Item("hold", "south")], habits=Habits(brush=1.0))
    others = [c.id for c in DESIGN.controls if c.zone == "right hand" and c.kind == "button" and c.id != "south"]
    lengths = np.concatenate([closings(block, other)[1] for other in others])
    assert 1 <= len(lengths) <= 3
    assert lengths.max() < 0.13


def test_a_lazy_roll_leaves_the_gate() -> None:
    def reach(habits: Habits) -> np.ndarray:
        block = block_of([Item("rim", "left_stick")], habits=habits)
        x, y = (codes_of(block, "left_stick", k) / 127.5 - 1.0 for k in (0, 1))
        return np.hypot(x, y)[1500:5000]

    held, lazy = (np.quantile(reach(Habits(lazy=share)), 0.1) for share in (0.0, 1.0))
    assert lazy < held - 0.03
