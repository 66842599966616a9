"""Motion sensors and touch pads of simulated units: sound ones pass, each fault has its name, sloppy hands go again."""

from __future__ import annotations

import numpy as np
import pytest

from sample_units.make import sheet_of
from station.checks.motion import Sides, Still
from station.checks.registry import CHECKS, checks_of
from station.checks.said import sentence
from station.checks.takes import take_between
from station.checks.touch import Swipe, Untouched
from station.checks.types import Assessment, Outcome, Progress, Take
from station.hid.descriptor import parse_descriptor
from station.judgement.limits import in_force
from station.sheets.bind import bind
from station.sheets.model import Control, Place, Sheet
from station.sheets.signals import MotionSignal, TouchSignal
from station.sources.simulated import Item, PadDesign, SimulatedHand, UnitSpec, faults, make_capture
from station.sources.simulated.faults import Fault, expected
from tests.checks.button_moves import MS, S, polls

DESIGN = PadDesign("sensing", 250)
SHEET = sheet_of(DESIGN)
MOTION, TOUCH = SHEET.control("motion"), SHEET.control("touch_1")


def taken(check: str, fault: Fault | None = None, seconds: float = 0.0, skill: float = 0.8) -> Take:
    spec = UnitSpec(DESIGN, 5, (fault,) if fault else ())
    control = "motion" if check in ("still", "sides") else "touch_1"
    capture = make_capture(spec, SimulatedHand(skill, 5), [Item(check, control, seconds=seconds)])
    begin, end = (mark.time_ns for mark in capture.marks)
    signals = bind(SHEET, parse_descriptor(DESIGN.descriptor)).signals(capture.block)
    return take_between(SHEET, signals, begin, end, capture.block.t_ns, control=SHEET.control(control))


def assess(check: str, fault: Fault | None = None, seconds: float = 0.0) -> Assessment:
    return CHECKS[check].assess(taken(check, fault, seconds), in_force(SHEET))


def progress(take: Take, check: str) -> Progress:
    return CHECKS[check].progress(take, in_force(SHEET))


@pytest.mark.parametrize("check", ["still", "sides", "untouched", "swipe"])
def test_a_sound_one_passes_and_it_is_seen_to_be_complete(check: str) -> None:
    found = assess(check)
    assert (found.outcome, found.findings, found.again) == (Outcome.PASS, (), "")
    assert progress(taken(check), check).complete


@pytest.mark.parametrize(
    ("fault", "code", "says"),
    [
        (faults.gyro_scale("y", 0.0), "dead_gyro", "motion sensor: no turning shown about y"),
        (faults.gyro_scale("z", 0.6), "gyro_scale", "motion sensor: turning about z reads wrong by 39"),
        (faults.accel_scale("x", 0.8), "accel_scale", "motion sensor: acceleration along x reads wrong by"),
        (faults.accel_scale("z", 0.0), "dead_accel", "motion sensor: no acceleration shown along z"),
        (faults.accel_off("y", 0.3), "accel_offset", "motion sensor: acceleration along y is off by 0.3"),
        (faults.gyro_off("x", -18.0), "gyro_offset", "motion sensor: shows a turning of 1"),
        (faults.ghost_touch(0.9, 80.0), "ghost_touch", "touch pad, contact 1: feels a finger that is not there,"),
        (faults.dead_zone_of_touch(35.0), "dead_zone", "touch pad, contact 1: feels nothing over"),
        (faults.lifts(3.0, 40.0), "lost_touch", "touch pad, contact 1: loses the finger on its way,"),
    ],
    ids=lambda value: value.kind if isinstance(value, Fault) else "",
)
def test_each_fault_has_its_name(fault: Fault, code: str, says: str) -> None:
    check = expected(fault).check
    found = assess(check, fault)
    assert found.outcome is Outcome.FAIL
    (named,) = (f for f in found.findings if f.code == code)
    assert sentence(check, named).startswith(says)


def test_an_offset_of_either_sign_is_one() -> None:
    assert assess("sides", faults.accel_off("z", -0.3)).outcome is Outcome.FAIL


# --- hands --------------------------------------------------------------------------------------------------


def test_a_unit_that_is_moved_is_not_at_rest() -> None:
    take = taken("sides")
    found = Still().assess(take, in_force(SHEET))
    assert (found.outcome, found.again) == (
        Outcome.NOT_DONE,
        "again, please: lay it down and leave it alone for three seconds",
    )


def test_four_sides_are_not_six() -> None:
    found = assess("sides", seconds=8.0)
    assert found.outcome is Outcome.NOT_DONE
    assert found.again.startswith("again, please: ")
    assert "of six sides seen" in found.again


def test_half_a_swipe_goes_again_and_says_where() -> None:
    found = assess("swipe", seconds=2.0)
    assert found.outcome is Outcome.NOT_DONE
    assert found.again.startswith("again, please: swipe over the ")


def test_a_finger_that_leaves_in_time_is_no_ghost() -> None:
    t_ns = polls(4 * S)
    for until_ms, outcome in ((300, Outcome.PASS), (3900, Outcome.FAIL)):
        signal = TouchSignal(t_ns, t_ns < until_ms * MS, np.full(len(t_ns), 50.0), np.full(len(t_ns), 50.0))
        take = take_between(SHEET, {"touch_1": signal}, 0, 4 * S, t_ns, control=TOUCH)
        assert Untouched().assess(take, in_force(SHEET)).outcome is outcome


def test_it_takes_less_than_forty_seconds() -> None:
    """The length of a go of a middling hand, its reaction included."""
    capture = make_capture(
        UnitSpec(DESIGN, 1),
        SimulatedHand(0.6, 1),
        [Item("still", "motion"), Item("sides", "motion"), Item("untouched", "touch_1"), Item("swipe", "touch_1")],
    )
    assert capture.block.t_ns[-1] < 40 * S


# --- without a unit, without a sensor -----------------------------------------------------------------------


def relative(values: np.ndarray) -> Take:
    t_ns = polls(len(values) * MS - 1)
    signal = MotionSignal(t_ns, values, np.zeros((len(values), 0)), (0.01, 0.01, 0.01), (), "", "")
    axes = tuple((f"accel_{a}", Place(usage=0x1_0040 + k)) for k, a in enumerate("xyz"))
    control = Control("motion", "motion", "Motion sensor", axes=axes)
    sheet = Sheet("Plover T2", controls=(control,))
    return take_between(sheet, {"motion": signal}, 0, len(values) * MS, t_ns, control=control)


def test_without_a_unit_nothing_is_judged_and_it_says_so() -> None:
    rng = np.random.default_rng(2)
    lying = np.tile((0.0, 0.0, 25.0), (4000, 1)) + rng.normal(0.0, 0.05, (4000, 3))
    found = Still().assess(relative(lying), in_force(SHEET))
    assert (found.outcome, {r.limit for r in found.readings}) == (Outcome.PASS, {None})
    assert {r.reason for r in found.readings} == {"the device gives no unit, so this is not judged"}
    pieces = [np.tile(25.0 * s * np.eye(3)[k] * (0.8 if k == 0 else 1.0), (1000, 1)) for k in range(3) for s in (1, -1)]
    turned = np.concatenate(pieces) + rng.normal(0.0, 0.05, (6000, 3))
    sides = {r.name: r.value for r in Sides().assess(relative(turned), in_force(SHEET)).readings}
    assert sides["relative_sensitivity_x"] == pytest.approx(100.0 * 0.8 / (2.8 / 3.0), abs=0.5)
    assert "sensitivity_error_x" not in sides


def test_a_pad_without_such_usages_has_none_of_it() -> None:
    names = {check.name for check, _ in checks_of(sheet_of(PadDesign("8bit")))}
    assert not names & {"still", "sides", "untouched", "swipe"}
    assert {"still", "sides", "untouched", "swipe"} <= {check.name for check, _ in checks_of(SHEET)}


def test_the_contacts_of_one_pad_are_checked_once() -> None:
    assert [c.id for check, c in checks_of(SHEET) if c is not None and check.name == "swipe"] == ["touch_1"]
    assert Swipe().progress(taken("untouched"), in_force(SHEET)).missing == "swipe over the touch pad"
