"""Learning pads of one odd trait each, with a hand that makes no slip: everything right, nothing asked."""

from __future__ import annotations

import pytest

from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout
from station.sheets.learn import Learned, Observed, again, duration_s, learn, walk
from tests.sheets.learn_hand import NO_SLIPS, walked
from tests.sheets.learn_pads import Pad, random_pad
from tests.sheets.learn_truth import judged

PLAIN: dict[str, object] = {
    "width": 8, "aligned": True, "left_justified": False, "big": False, "signed": False, "symmetric": False,
    "up": "low", "right": "high", "odd_range": False, "deadzone": 0.0, "noise": 0.002, "trigger_width": 8,
    "trigger_kind": "analog", "triggers_rest": "low", "triggers_signed": False, "clicks": False, "hat": "nibble",
    "hat_base": 0, "active_low": False, "faces": 4, "paddles": 2, "centre": 2, "copying": "none", "mirror": "none",
    "reports": "one id", "counter": "none", "clock": "none", "sensors": False, "battery": False, "checksum": "none",
    "rate_hz": 250, "on_change": False, "descriptor": "none",
}  # fmt: skip
ODD: dict[str, dict[str, object]] = {
    "nothing odd at all": {},
    "reports without an id": {"reports": "plain"},
    "two reports in turn": {"reports": "two ids", "interleaved": True},
    "10 bits packed": {"width": 10, "aligned": False, "trigger_width": 10},
    "12 bits packed, signed": {"width": 12, "aligned": False, "signed": True},
    "12 bits sign-extended into 16": {"width": 12, "signed": True},
    "10 bits at the upper end of 16": {"width": 10, "left_justified": True},
    "16 bits": {"width": 16, "trigger_width": 16},
    "16 bits, high byte first": {"width": 16, "big": True},
    "16 bits signed, high byte first": {"width": 16, "big": True, "signed": True},
    "12 bits in two bytes, high byte first": {"width": 12, "big": True},
    "up is high": {"up": "high"},
    "right is low": {"right": "low"},
    "a dead zone": {"deadzone": 0.06},
    "triggers that rest high": {"triggers_rest": "high"},
    "signed triggers": {"triggers_signed": True},
    "triggers with switches": {"clicks": True, "click_at": 0.4},
    "triggers that are switches only": {"trigger_kind": "digital", "click_at": 0.4},
    "both triggers on one axis": {"trigger_kind": "shared"},
    "a direction pad of four bits": {"hat": "four bits"},
    "a direction pad of a byte": {"hat": "byte"},
    "a direction pad of four codes": {"hat": "four codes"},
    "a direction pad of two axes": {"hat": "two axes"},
    "direction codes from 1 on": {"hat_base": 1},
    "bits that are 1 while released": {"active_low": True},
    "sticks told twice": {"mirror": "sticks", "width": 16},
    "buttons told twice": {"mirror": "buttons"},
    "paddles that move another bit too": {"copying": "as well"},
    "counter, clock, sensors and a CRC": {
        "counter": "byte", "clock": "32", "clock_hz": 1e6, "sensors": True, "sensor_noise": 20.0, "checksum": "crc32",
    },
    "a sum and reports on change only": {"checksum": "sum8", "on_change": True},
    "30 reports a second": {"rate_hz": 30},
    "a right descriptor": {"descriptor": "right"},
    "a list of what is pressed, described": {"descriptor": "right", "listed": True},
}  # fmt: skip


def pad_with(odd: dict[str, object], number: int = 7) -> Pad:
    return random_pad(number, **{**PLAIN, **odd})


def layout_of(pad: Pad) -> Layout | None:
    return parse_descriptor(pad.descriptor) if pad.descriptor else None


def steps_of(pad: Pad) -> tuple[Observed, ...]:
    return walked(pad, walk(pad.controls), slips=NO_SLIPS)


def verdicts(pad: Pad, learned: Learned) -> dict[str, str]:
    return {c: v for c, v in judged(pad, learned).items() if v != "right"}


@pytest.mark.parametrize("odd", ODD.values(), ids=ODD.keys())
def test_a_clean_walk_reads_every_control_of_a_pad_with(odd: dict[str, object]) -> None:
    pad = pad_with(odd)
    learned = learn(steps_of(pad), layout=layout_of(pad))
    assert [q.text for q in learned.questions] == []
    assert verdicts(pad, learned) == {}


def test_a_right_descriptor_keeps_its_usages() -> None:
    pad = pad_with({"descriptor": "right", "width": 16, "odd_range": True})
    sheet = learn(steps_of(pad), layout=layout_of(pad)).sheet
    stick, trigger, button = (sheet.control(c) for c in ("left_stick", "left_trigger", "left_shoulder"))
    assert stick.x is not None
    assert (stick.x.usage, stick.x.field) == (0x10030, None)
    assert trigger.at is not None
    assert trigger.at.usage == 0x10033
    assert button.at is not None
    assert button.at.usage is not None
    assert button.at.usage >> 16 == 0x09


def test_a_lying_descriptor_is_not_believed() -> None:
    for number in range(4):
        pad = pad_with({"descriptor": "wrong", "width": 16}, number)
        assert verdicts(pad, learn(steps_of(pad), layout=layout_of(pad))) == {}


def test_a_paddle_that_only_repeats_a_button_is_asked_for_again_and_then_said_to_be_a_copy() -> None:
    pad = pad_with({"copying": "instead"})
    steps = list(steps_of(pad))
    first = learn(steps)
    paddles = {c.id for c in pad.controls if c.zone == "back"}
    originals = {c.seen_as for c in pad.truth.controls if c.id in paddles}
    assert {q.control for q in first.questions} == paddles | originals
    steps += walked(pad, again(first), seed=1, slips=NO_SLIPS, begin_s=duration_s(walk(pad.controls)))
    second = learn(steps)
    assert second.questions == ()
    assert verdicts(pad, second) == {}


def test_triggers_on_one_axis_are_said_to_be() -> None:
    pad = pad_with({"trigger_kind": "shared"})
    (note,) = learn(steps_of(pad)).notes
    assert "presented as one axis" in note
    assert "cannot be measured" in note


def test_a_range_that_does_not_fill_its_bits_is_asked_about() -> None:
    pad = pad_with({"odd_range": True})
    learned = learn(steps_of(pad))
    assert {q.control for q in learned.questions} == {"left_stick", "right_stick"}
    assert {c.id for c in learned.guesses} == {"left_stick", "right_stick"}
    assert all(learned.confidences[c] < 0.9 for c in ("left_stick", "right_stick"))


def test_a_range_that_is_the_same_when_done_again_is_put_to_the_person() -> None:
    pad = pad_with({"odd_range": True})
    steps = list(steps_of(pad))
    more = again(learn(steps))
    assert {s.action for s in more} == {"roll"}
    steps += walked(pad, more, seed=1, slips=NO_SLIPS, begin_s=duration_s(walk(pad.controls)))
    learned = learn(steps)
    assert {q.control for q in learned.questions} == {"left_stick", "right_stick"} == {c.id for c in learned.guesses}
    assert again(learned) == ()


def test_a_list_of_what_is_pressed_without_a_description_gives_no_button_and_asks() -> None:
    pad = pad_with({"listed": True})
    learned = learn(steps_of(pad))
    buttons = {c.id for c in pad.controls if c.kind == "button"}
    assert buttons & {c.id for c in learned.sheet.controls} == set()
    assert {q.control for q in learned.questions} == buttons
    assert all("list" in q.text for q in learned.questions)


def test_what_is_not_a_control_is_named() -> None:
    pad = pad_with({"counter": "byte", "clock": "16", "clock_hz": 1e4, "sensors": True, "sensor_noise": 20.0,
                    "checksum": "crc8"})  # fmt: skip
    found = {i.what for i in learn(steps_of(pad)).ignored}
    assert {"counter", "checksum", "sensor"} <= found
