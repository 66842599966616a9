"""What was learned is held against itself and against the walk; each contradiction is asked about."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from station.sheets.learn import Observed, learn, usual_controls
from station.sheets.learn.crosscheck import cross_checked
from station.sheets.learn.result import Outcome
from station.sheets.learn.streams import streams
from station.sheets.learn.walked import Walked
from station.sheets.model import Control, ExplicitField, Kind, Place
from tests.sheets.test_learn_traits import pad_with, steps_of

NAMED = {c.id: c for c in usual_controls()}


def stick(name: str, x: tuple[int, int], y: tuple[int, int]) -> Outcome:
    made = replace(NAMED[name], x=_at(*x), y=_at(*y))
    return Outcome(NAMED[name], (made,), 0.99)


def single(name: str, bit: int, bits: int, kind: Kind | None = None) -> Outcome:
    made: Control = replace(NAMED[name], kind=kind or NAMED[name].kind, at=_at(bit, bits))
    return Outcome(NAMED[name], (made,), 0.99)


def _at(bit: int, bits: int) -> Place:
    return Place(field=ExplicitField(1, bit, bits, False, 0, (1 << bits) - 1))


@pytest.mark.parametrize(
    ("outcomes", "doubts"),
    [
        ([stick("left_stick", (8, 8), (16, 8)), stick("right_stick", (24, 8), (32, 8))], {}),
        (
            [stick("left_stick", (8, 10), (18, 10)), stick("right_stick", (28, 12), (40, 10))],
            {},
        ),
        ([single("left_trigger", 8, 8), single("right_trigger", 19, 5)], {"right_trigger": "coarse"}),
        (
            [single("left_trigger", 8, 5), single("right_trigger", 16, 5)],
            {"left_trigger": "coarse", "right_trigger": "coarse"},
        ),
        (
            [single("left_trigger", 8, 8), single("left_shoulder", 15, 1)],
            {"left_trigger": "shared", "left_shoulder": "shared"},
        ),
        ([single("left_trigger", 8, 8), single("right_trigger", 8, 8)], {}),
        (
            [single("left_trigger", 8, 8), single("right_trigger", 16, 1, "button")],
            {"left_trigger": "unlike", "right_trigger": "unlike"},
        ),
    ],
    ids=[
        "all fits", "one axis is finer", "one trigger is coarser", "hardly any steps", "a bit with two owners",
        "two triggers on one axis", "a switch beside a range",
    ],
)  # fmt: skip
def test_contradictions(outcomes: list[Outcome], doubts: dict[str, str]):
    made = cross_checked(Walked([], (), None), outcomes, set())
    assert {o.asked.id: o.doubt for o in made if o.doubt} == doubts


def test_bits_that_move_with_a_control_and_are_nobodys_are_asked_about():
    steps = [_with_a_flicker(s) if s.step.id == "left_trigger.pull" else _widened(s) for s in steps_of(pad_with({}))]
    (question,) = learn(steps).questions
    assert question.control == "left_trigger"
    assert "no control accounts for" in question.text


def _widened(step: Observed) -> Observed:
    """With a byte more in each report."""
    block = step.block
    return replace(step, block=replace(block, raw=np.pad(block.raw, ((0, 0), (0, 1))), size=block.size + np.uint16(1)))


def _with_a_flicker(step: Observed) -> Observed:
    wide = _widened(step)
    wide.block.raw[::9, -1] = 4
    return wide


def test_the_byte_below_an_axis_may_hold_more_of_it():
    """A trigger of which only the upper byte was found: the lower one moves along, and that is no contradiction."""
    pad = pad_with({"trigger_width": 16, "rate_hz": 60, "noise": 1e-6})
    steps = steps_of(pad)
    seen = Walked(steps, streams(steps, None), None)
    slot = next(s for s in pad.slots if s.what == "left_trigger")
    own = steps[next(i for i, s in enumerate(steps) if s.step.id == "left_trigger.pull")]
    assert own.step.control is not None
    place = Place(field=ExplicitField(slot.report, slot.bit + 8, 8, False, 0, 255))
    outcome = Outcome(own.step.control, (replace(own.step.control, at=place),), 0.99)
    for bit in set(range(seen.streams[0].width)) - set(range(slot.bit, slot.bit + 8)):
        seen.taken[0].add(bit)
    assert [o.doubt for o in cross_checked(seen, [outcome], set())] == [""]
    away = replace(place, field=ExplicitField(slot.report, slot.bit + 24, 8, False, 0, 255))
    outcome = Outcome(own.step.control, (replace(own.step.control, at=away),), 0.99)
    assert [o.doubt for o in cross_checked(seen, [outcome], set())] == ["beside"]
