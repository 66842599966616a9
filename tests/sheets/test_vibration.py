"""Talks with devices that vibrate by the standards: what is sent and asked, in which order, and what comes of it.

The devices (`tests.rig.feel`) know nothing of the talk: they do what the standards say and note which motors run.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from station.errors import DeviceError
from station.hid.descriptor import parse_descriptor
from station.sheets.model import Sheet
from station.sheets.vibration import Ask, Ready, Send, Vibration, standard_vibration, vibration_of
from station.sheets.vibration.pid import TRIES
from station.words import vibration as words
from tests.rig import pad
from tests.rig.feel import (
    CONSTANT,
    PAD_HEAD,
    PID_PAGE,
    RAMP,
    SINE,
    SQUARE,
    HapticPad,
    PidPad,
    haptic_descriptor,
    pid_descriptor,
)

Device = PidPad | HapticPad


def way_of(device: Device) -> Vibration:
    found = standard_vibration(device.layout)
    assert found is not None
    return found


def give(device: Device, sends: Sequence[Send]) -> None:
    for send in sends:
        (device.feature if send.feature else device.written)(send.report)


def converse(device: Device, log: list[Send | Ask] | None = None) -> Ready:
    """The whole talk with the device."""
    talk, answer = way_of(device).talk(), b""
    step = next(talk)
    while True:
        if log is not None:
            log.append(step)
        if isinstance(step, Send):
            give(device, [step])
            answer = b""
        else:
            answer = device.get(step.report_id) or b""
        try:
            step = talk.send(answer)
        except StopIteration as done:
            return done.value


def run(device: Device, ready: Ready) -> list[tuple[str, frozenset[int]]]:
    """Each turn started and stopped: its name, and which motors ran."""
    felt = []
    for turn in ready.turns:
        before = len(device.felt)
        give(device, turn.start)
        ran = device.felt[-1] if len(device.felt) > before else frozenset()
        give(device, ready.stop)
        assert not (device.felt and device.felt[-1]), f"{turn.name} goes on"
        felt.append((turn.name, ran))
    return felt


TWO = [("first motor only", {0}), ("second motor only", {1}), ("both", {0, 1})]
ONE = [("the motor", {0})]


# --- effects of PID -----------------------------------------------------------------------------------


def test_the_order_of_reports_is_that_of_pid_1_0() -> None:
    # Create New Effect, Block Load, Set Effect, Set Periodic (PID 1.0 and Linux hid-pidff.c [read]), after actuators
    # on and device gain (hid-pidff.c [read]); a block for each of the two axes
    device, log = PidPad(pid_descriptor()), []
    converse(device, log)
    assert [(type(s).__name__, s.report_id if isinstance(s, Ask) else s.report[0]) for s in log] == [
        ("Send", 0x1C), ("Send", 0x1D),
        *2 * [("Send", 0x01), ("Ask", 0x02), ("Send", 0x11), ("Send", 0x14)],
    ]  # fmt: skip
    assert [s.feature for s in log if isinstance(s, Send)] == [False, False, True, False, False, True, False, False]


def test_the_blocks_that_the_device_chose_are_used_and_given_back() -> None:
    device = PidPad(pid_descriptor())
    ready = converse(device)
    assert list(device.effects) == [7, 10]
    assert run(device, ready) == TWO
    give(device, ready.release)
    assert (device.effects, device.playing, device.faults) == ({}, set(), [])


def test_an_effect_ends_by_itself_is_not_at_full_strength_and_is_triggered_by_nothing_else() -> None:
    device = PidPad(pid_descriptor())
    converse(device)
    first, second = device.effects.values()
    assert (first["axes"], second["axes"]) == (1, 2)
    assert (first["direction"], second["direction"]) == (64, 0)  # a quarter of 0…255, and none
    for effect in (first, second):
        assert (effect["type"], effect["duration"], effect["period"]) == (SINE, 1000, 40)  # ms, by the fields' unit
        assert (effect["gain"], effect["magnitude"]) == (191, 255)  # three quarters, and the whole
        assert (effect["button"], effect["delay"], effect["repeat"]) == (0, 0, 0)  # the buttons are 1…8


@pytest.mark.parametrize(
    ("types", "used"),
    [
        ((CONSTANT, RAMP, SQUARE, SINE), SINE),
        ((CONSTANT, RAMP, SQUARE), SQUARE),
        ((RAMP, CONSTANT), CONSTANT),
    ],
    ids=["a sine where there is one", "else a square", "a constant force at last"],
)
def test_the_gentlest_type_that_shakes_is_used(types: tuple[int, ...], used: int) -> None:
    device = PidPad(pid_descriptor(types))
    ready = converse(device)
    assert {effect["type"] for effect in device.effects.values()} == {used}
    assert run(device, ready) == TWO
    assert device.faults == []


def test_a_device_with_one_axis_offers_one_motor() -> None:
    device = PidPad(pid_descriptor(motors=1))
    assert run(device, converse(device)) == ONE


def test_a_device_with_room_for_one_effect_offers_one_motor_and_says_so() -> None:
    device = PidPad(pid_descriptor(), room=1)
    ready = converse(device)
    assert run(device, ready) == ONE
    assert ready.remark == words.IT_MAY_MOVE_ONE_ONLY


def test_a_full_pool_is_a_plain_sentence() -> None:
    with pytest.raises(DeviceError, match=r"no room for a vibration effect; close other programs .* plug it in again"):
        converse(PidPad(pid_descriptor(), room=0))


def test_a_device_that_refuses_is_told() -> None:
    device = PidPad(pid_descriptor())
    device.refuses = True
    with pytest.raises(DeviceError, match="refuses the effect"):
        converse(device)


def test_a_device_that_takes_its_time_is_asked_again_but_not_for_ever() -> None:
    device = PidPad(pid_descriptor())
    device.slow = TRIES - 1
    assert run(device, converse(device)) == TWO
    device.slow = 10 * TRIES
    with pytest.raises(DeviceError, match="does not say whether it took"):
        converse(device)


def test_what_was_taken_is_given_back_when_the_device_stops_answering() -> None:
    device = PidPad(pid_descriptor())
    talk = way_of(device).talk()
    step = next(talk)
    while len(device.effects) < 2:
        give(device, [step]) if isinstance(step, Send) else None
        step = talk.send((device.get(step.report_id) or b"") if isinstance(step, Ask) else b"")
    assert step == Ask(2)
    lost = DeviceError("It does not answer; plug it in again.")
    given_back = talk.throw(lost)
    assert isinstance(given_back, Send)
    give(device, [given_back])
    with pytest.raises(DeviceError) as caught:
        next(talk)
    assert caught.value is lost
    assert list(device.effects) == [10], "the block whose answer was lost is not known"
    assert device.faults == []


@pytest.mark.parametrize(
    "missing", ["09 AB A1 02 85 01", "09 89 A1 02 85 02", "09 77 A1 02 85 1A", "09 21 A1 02 85 11"]
)
def test_a_layout_without_one_of_the_reports_is_no_pid_device(missing: str) -> None:
    # the usage of the report's collection is replaced by one that means nothing here (0xEE)
    wanted = bytes.fromhex(missing)
    descriptor = pid_descriptor()
    assert descriptor.count(wanted) == 1
    assert standard_vibration(parse_descriptor(descriptor.replace(wanted, b"\x09\xee" + wanted[2:]))) is None


# --- haptics ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("one_report", [False, True], ids=["a report each", "one report for both"])
def test_two_controllers_are_two_motors(one_report: bool) -> None:
    device, log = HapticPad(haptic_descriptor(one_report=one_report)), []
    ready = converse(device, log)
    assert log == [Ask(0x30), Ask(0x31)]
    assert run(device, ready) == TWO
    assert (ready.release, device.faults) == ((), [])


@pytest.mark.parametrize(
    ("waves", "played"),
    [
        ((0x1003, 0x1005, 0x1004), {"trigger": 4, "wave": 0x1005, "repeats": 0}),
        ((0x1003, 0x1006, 0x1004), {"trigger": 5, "wave": 0x1004, "repeats": 0}),
        ((0x1003, 0x1006, 0x1007), {"trigger": 3, "wave": 0x1003, "repeats": 7}),
    ],
    ids=["rumble", "else buzz", "else a row of clicks"],
)
def test_the_wave_form_that_is_felt_best_is_played(waves: tuple[int, int, int], played: dict[str, int]) -> None:
    device = HapticPad(haptic_descriptor(1), waves)
    assert run(device, converse(device)) == ONE
    (told,) = device.played
    assert told == played | {"intensity": 75, "period": 100, "cutoff": 1000}


def test_a_device_without_a_lasting_wave_form_is_told() -> None:
    with pytest.raises(DeviceError, match="no wave form that a hand can feel"):
        converse(HapticPad(haptic_descriptor(), (0x1006, 0x1007, 0x2001)))


# --- which way ----------------------------------------------------------------------------------------


def test_the_sheets_own_bytes_win() -> None:
    descriptor = pid_descriptor()
    sheet = Sheet("Pad", rumble={"both": b"\x02\x80\x80", "off": b"\x02\x00\x00"})
    way = vibration_of(sheet, parse_descriptor(descriptor), descriptor)
    assert way is not None
    assert way.way == "sheet"
    with pytest.raises(StopIteration) as done:
        next(way.talk())
    assert [(turn.name, turn.start) for turn in done.value.value.turns] == [("both", (Send(b"\x02\x80\x80", True),))]
    # id 2 is a feature report of this descriptor (Block Load)
    assert done.value.value.stop == (Send(b"\x02\x00\x00", True),)


@pytest.mark.parametrize(
    ("descriptor", "way"),
    [
        (pid_descriptor(), "PID"),
        (haptic_descriptor(), "haptics"),
        (haptic_descriptor()[:-1] + pid_descriptor()[len(PAD_HEAD) :], "haptics"),
        (pad.DESCRIPTOR, None),
        (pad.VENDOR_ONLY, None),
    ],
    ids=["effects", "haptics", "both", "a pad with vendor reports", "vendor reports only"],
)
def test_which_way_a_layout_offers(descriptor: bytes, way: str | None) -> None:
    found = vibration_of(Sheet("Pad"), parse_descriptor(descriptor), descriptor)
    assert (found.way if found else None) == way


def test_without_report_ids_a_zero_stands_first() -> None:
    plain = bytes.fromhex(
        "05 01 09 05 A1 01 09 30 15 00 26 FF 00 75 08 95 01 81 02 05 0E 09 01 A1 02 09 10 A1 02 05 0A 09 03"
        "15 00 27 FF FF 00 00 75 10 95 01 B1 02 C0 05 0E 09 21 15 01 25 05 75 08 91 02 C0 C0"
    )
    way = standard_vibration(parse_descriptor(plain))
    assert way is not None
    talk = way.talk()
    assert next(talk) == Ask(0)
    with pytest.raises(StopIteration) as done:
        talk.send(b"\x05\x10")
    assert done.value.value.turns[0].start == (Send(b"\x00\x03"),)
    assert done.value.value.stop == (Send(b"\x00\x02"),)


def test_the_made_up_devices_are_read_as_meant() -> None:
    layout = parse_descriptor(pid_descriptor())
    effect = next(r for r in layout.reports if (r.kind, r.report_id) == ("output", 0x11))
    assert effect.width == 1 + 1 + 1 + 6 + 1 + 1 + 1 + 2 + 4 + 2
    assert [f.usage for f in effect.fields if f.usage >> 16 == 0xF] == [
        PID_PAGE | usage for usage in (0x22, 0x50, 0x54, 0x51, 0x52, 0x53, 0x56, 0xA7)
    ]
