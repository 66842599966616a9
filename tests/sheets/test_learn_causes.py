"""What once led learning astray, each in the smallest form that shows it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout
from station.sheets.learn import Observed, again, duration_s, learn, walk
from station.sheets.learn.axes import Axis, axes_of, beaten
from station.sheets.learn.checksum import find_checksums
from station.sheets.learn.fields import Found, Top, grow
from station.sheets.learn.late import possibly_late
from station.sheets.learn.nuisance import find_counters
from station.sheets.learn.places import described
from station.sheets.learn.sticks import find_stick
from station.sheets.learn.streams import Stream, streams
from station.sheets.learn.walked import Walked
from station.sheets.learn.widths import agreed_sticks
from tests.sheets.learn_hand import NO_SLIPS, Canvas, walked
from tests.sheets.learn_pads import Pad, Slot, emit, put
from tests.sheets.test_learn_traits import pad_with, steps_of, verdicts


def stream_of(codes: dict[Slot, np.ndarray], width: int, *, gap_ns: int = 4_000_000) -> Stream:
    """A stream of one step whose slots hold these codes, one report every `gap_ns`."""
    n = len(next(iter(codes.values())))
    raw = np.zeros((n, width), np.uint8)
    for slot, code in codes.items():
        put(raw, slot, code.astype(np.int64))
    t_ns = np.arange(n, dtype=np.int64) * gap_ns
    return Stream(0, t_ns, raw, np.zeros(n, np.int16), np.full(n, gap_ns, np.int64))


def test_a_bit_that_stands_still_is_no_part_of_a_number():
    """A trigger in bits 5…12 rests between the codes 3 and 4. Of the two ways in which its five highest bits could go
    on, bit 7 (its own) flips with the noise, and bit 23 (a button's) is quiet, hence smooth."""
    pulled = np.sin(np.linspace(0, np.pi, 900)) * 250
    course = np.concatenate([np.zeros(450), pulled, np.zeros(450)]) + 3.5
    codes = np.clip(np.round(course + np.random.default_rng(3).normal(0, 0.6, 1800)), 0, 255)
    pressed = np.arange(1800) >= 1780
    stream = stream_of({Slot("trigger", 0, 5, 8): codes, Slot("button", 0, 23, 1): pressed}, 4)
    assert grow(stream, Top(0, 12, False), slice(0, 1700), set()).bits == tuple(range(12, 4, -1))


@pytest.mark.parametrize("levels", [(3, 4), (1, 2), (7, 8)])
def test_noise_that_flips_in_every_report_on_change_is_no_counter(levels: tuple[int, int]):
    flips = np.where(np.arange(400) % 2, *levels)
    assert find_counters(stream_of({Slot("trigger", 0, 8, 8): flips}, 3)) == []


def test_a_counter_ends_before_a_neighbour_that_flips_in_every_report():
    count, flips = np.arange(800) % 256, np.arange(800) % 2
    stream = stream_of({Slot("counter", 0, 8, 8): count, Slot("noise", 0, 0, 1): flips}, 3)
    (found,) = find_counters(stream)
    assert (found[0].bit, found[0].bits) == (8, 8)


def test_a_counter_that_advances_by_three_is_found_whole():
    (found,) = find_counters(stream_of({Slot("counter", 0, 8, 8): np.arange(3000) * 3 % 256}, 3))
    assert (found[0].what, found[0].bit, found[0].bits) == ("counter", 8, 8)


def acted(pad: Pad, steps: list[Observed], identity: str, act: Callable[[Canvas], None]) -> None:
    """In place of what was done in that step, what `act` draws."""
    at = next(i for i, s in enumerate(steps) if s.step.id == identity)
    old = steps[at]
    canvas = Canvas.blank(pad, old.step.seconds)
    act(canvas)
    block = emit(pad, canvas.motion(np.arange(int(old.step.seconds * pad.rate_hz)) / pad.rate_hz), 5)
    steps[at] = replace(old, block=replace(block, t_ns=block.t_ns + old.begin_ns))


def pressed(*names: str) -> Callable[[Canvas], None]:
    """Each of the buttons pressed twice, one after the other."""

    def act(canvas: Canvas) -> None:
        for number, name in enumerate(names):
            for begin_s in (0.6, 1.1):
                canvas.buttons[name][canvas.span(begin_s + number, begin_s + number + 0.25)] = True

    return act


def test_a_trigger_leaned_on_just_below_its_switch_still_shows_the_switch():
    pad = pad_with({"clicks": True, "click_at": 0.051}, 8)
    steps = list(steps_of(pad))
    acted(
        pad, steps, "left_stick.push", lambda canvas: canvas.triggers["right_trigger"].__setitem__(slice(None), 0.049)
    )
    assert "right_trigger_switch" in {c.id for c in learn(steps).sheet.controls}


def wrong_way(pad: Pad) -> list[Observed]:
    """A clean walk in which the right trigger is pulled when the left one is asked for; then the left one, twice."""
    steps = list(walked(pad, walk(pad.controls), slips=NO_SLIPS))
    pulls = [i for i, s in enumerate(steps) if s.step.action == "pull"]
    left, right = (steps[i] for i in pulls)
    block = replace(right.block, t_ns=right.block.t_ns - right.begin_ns + left.begin_ns)
    steps[pulls[0]] = replace(left, block=block)
    begin_s = duration_s(walk(pad.controls))
    for number in (1, 2):
        steps += walked(pad, [left.step], seed=number, slips=NO_SLIPS, begin_s=begin_s)
        begin_s += left.step.seconds
    return steps


def test_two_triggers_on_one_axis_are_found_in_spite_of_a_slip():
    """Half of an axis that rests in its middle is a whole one of a bit less."""
    pad = pad_with({"trigger_kind": "shared"})
    steps = wrong_way(pad)
    assert "wrong" not in verdicts(pad, learn(steps[:-2])).values()
    assert verdicts(pad, learn(steps)) == {}


@pytest.mark.parametrize("number", [3, 4, 5])
def test_a_sign_repeated_above_its_number_is_no_checksum(number: int):
    """Ten bits in sixteen, eight of them told a second time half a step apart: the upper byte follows from the copy and
    the lower one, but all that it says is one or two different things."""
    pad = pad_with({"width": 10, "signed": True, "mirror": "sticks", "noise": 0.0057}, number)
    (stream,) = streams(steps_of(pad), None)
    assert find_checksums(stream) == []


def test_a_width_that_one_axis_shows_is_given_to_those_whose_noise_hides_it():
    pad = pad_with({"width": 16, "big": True, "signed": True, "rate_hz": 60, "noise": 0.0021}, 12116)
    sticks = [c for c in learn(steps_of(pad)).sheet.controls if c.kind == "stick"]
    assert {p.field.bits for c in sticks for p in (c.x, c.y) if p is not None and p.field is not None} == {16}


def running_on(axis: Axis, bits: int) -> Axis:
    """The axis with so many bits more below it, which are its neighbour's."""
    found = axis.found
    more = range(found.bits[-1] - 1, found.bits[-1] - 1 - bits, -1)
    return replace(axis, found=replace(found, bits=(*found.bits, *more)))


def test_bits_by_which_an_axis_is_cut_are_free_again():
    pad = pad_with({"width": 10, "aligned": False})
    steps = steps_of(pad)
    seen = Walked(steps, streams(steps, None), None)
    left, right = agreed_sticks(seen, [find_stick(seen, c) for c in seen.controls("stick")])
    assert left.x is not None
    longer = running_on(left.x, 2)
    left = replace(left, x=longer, spoken=tuple(longer if a is left.x else a for a in left.spoken))
    made = agreed_sticks(seen, [left, right])
    assert {len(a.found.bits) for s in made for a in s.spoken} == {10}


def test_an_axis_that_runs_on_into_its_neighbour_does_not_put_it_out():
    pad = pad_with({"width": 12, "aligned": False})
    steps = steps_of(pad)
    seen = Walked(steps, streams(steps, None), None)
    stick = seen.controls("stick")[0]
    x, y = sorted(axes_of(seen, stick), key=lambda a: a.found.bits[0])
    (roll,) = seen.steps_of(stick.id, "roll")
    assert not beaten(seen, x.found, running_on(y, 4).found, roll)
    assert not beaten(seen, running_on(y, 4).found, x.found, roll)


def test_who_is_one_prompt_late_throughout_gets_no_button_wrong():
    pad = pad_with({})
    late = {**NO_SLIPS, "late: it is done after the next prompt": 1.0}
    learned = learn(walked(pad, walk(pad.controls), slips=late))
    assert "wrong" not in verdicts(pad, learned).values()
    assert {q.control for q in learned.questions}


def test_what_answers_to_others_too_is_no_rival_of_what_answered_alone_twice():
    """Switches in a report that comes on change only, beside a counter that moves whenever it comes."""
    odd = {"trigger_kind": "digital", "reports": "two ids", "on_change": True, "counter": "byte", "click_at": 0.4}
    pad = pad_with(odd)
    steps, begin_s = list(steps_of(pad)), duration_s(walk(pad.controls))
    for number in (1, 2):
        more = again(learn(steps))
        steps += walked(pad, more, seed=number, slips=NO_SLIPS, begin_s=begin_s)
        begin_s += duration_s(more)
    learned = learn(steps)
    assert verdicts(pad, learned) == {}
    assert learned.questions == ()


def test_one_press_that_another_button_was_brushed_with_is_no_copy():
    pad = pad_with({})
    steps = list(steps_of(pad))

    def once(canvas: Canvas) -> None:
        for name in ("upper_face", "right_face"):
            canvas.buttons[name][canvas.span(0.6, 0.8)] = True

    acted(pad, steps, "upper_face.press", once)
    assert "wrong" not in verdicts(pad, learn(steps)).values()


@pytest.mark.parametrize(
    ("first", "second", "third"),
    [
        ((), ("upper_face", "right_face"), ("right_face",)),
        (("right_face",), ("upper_face", "right_face"), ("lower_face",)),
        (("right_face",), ("lower_face",), ("lower_face",)),
        ((), ("right_face",), ("upper_face",)),
    ],
    ids=[
        "both late, and a third not done",
        "one for another, both late",
        "one for another, twice",
        "none, then one for another",
    ],
)
def test_two_slips_in_a_row_leave_no_button_silently_wrong(
    first: tuple[str, ...], second: tuple[str, ...], third: tuple[str, ...]
):
    pad = pad_with({})
    steps = list(steps_of(pad))
    for name, done in zip(("upper_face", "right_face", "lower_face"), (first, second, third), strict=True):
        acted(pad, steps, f"{name}.press", pressed(*done))
    assert "wrong" not in verdicts(pad, learn(steps)).values()


@pytest.mark.parametrize(
    ("asked", "missed", "excess", "once", "late"),
    [
        ("abc", "", {1}, "abc", ""),
        ("abc", "a", set(), "abc", "b"),
        ("abcd", "a", {2}, "abcd", "bc"),
        ("abc-", "a", {3}, "abc", "bc"),
        ("abcab", "a", {2}, "c", "c"),
    ],
    ids=["nobody missed", "the next may be it", "up to where there is too much", "to the end", "who was asked twice"],
)
def test_late_answers(asked: str, missed: str, excess: set[int], once: str, late: str):
    order = [None if c == "-" else c for c in asked]
    assert set(possibly_late(order, set(missed), excess, set(once))) == set(late)


def test_a_charge_that_sinks_during_the_ring_and_recovers_later_is_no_direction():
    pad = pad_with({})
    hat = next(s for s in pad.slots if s.what == "direction_pad")
    steps = list(steps_of(pad))
    ring = next(i for i, s in enumerate(steps) if s.step.action == "ring")
    sunk = Slot("charge", hat.report, hat.bit + 4, 1)
    assert all(not s.bit <= sunk.bit < s.bit + s.bits for s in pad.slots)
    for i, s in enumerate(steps[ring:-1]):
        rows = slice(len(s.block) // 2, None) if i == 0 else slice(None)
        put(s.block.raw[rows], sunk, np.ones(len(s.block.raw[rows]), np.int64))
    assert verdicts(pad, learn(steps)) == {}


def test_a_copy_with_a_press_forgotten_every_other_time_is_a_copy():
    pad = pad_with({"copying": "instead"})
    steps, begin_s = list(steps_of(pad)), duration_s(walk(pad.controls))
    pairs = [(p, s) for p, s in dict(pad.traits["copies"]).items()]  # type: ignore[call-overload]
    asked = [o.step for o in steps if o.step.control is not None and any(o.step.control.id in pair for pair in pairs)]
    for number in (1, 2, 3):
        slips = {**NO_SLIPS, "one press is forgotten": float(number != 2)}
        steps += walked(pad, asked, seed=number, slips=slips, begin_s=begin_s)
        begin_s += duration_s(asked)
    assert verdicts(pad, learn(steps)) == {}


def test_a_described_field_with_a_part_of_another_control_is_not_taken():
    """A descriptor that gives a trigger of a byte two bytes, of which the lower one is the upper one of a stick's axis:
    the reading is nearly the same, but the byte is not the trigger's."""
    pad = pad_with({"width": 16})
    slot = next(s for s in pad.slots if s.what == "left_trigger")
    neighbour = [s for s in pad.slots if s.report == slot.report and s.bit + s.bits == slot.bit]
    seen = Walked(steps := steps_of(pad), streams(steps, None), _two_bytes(slot))
    found = Found(0, tuple(range(slot.bit + 7, slot.bit - 1, -1)), False)
    assert neighbour or slot.bit >= 16
    assert described(seen, found) is not None
    seen.taken[0].update(range(slot.bit - 8, slot.bit + 8))
    assert described(seen, found) is None


def _two_bytes(slot: Slot) -> Layout:
    """A descriptor with one field, which begins a byte before the slot."""
    head = bytes((0x05, 0x01, 0x09, 0x05, 0xA1, 0x01, 0x85, slot.report))
    before = bytes((0x75, 0x01, 0x96, (slot.bit - 16) & 0xFF, (slot.bit - 16) >> 8, 0x81, 0x03))
    field = bytes((0x09, 0x33, 0x15, 0x00, 0x27, 0xFF, 0xFF, 0x00, 0x00, 0x75, 0x10, 0x95, 0x01, 0x81, 0x02))
    return parse_descriptor(head + before + field + b"\xc0")
