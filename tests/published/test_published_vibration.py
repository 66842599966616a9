"""Vibration and cell against outside sources: usage numbers, layouts, and the numbers in the reports that are sent.

Usages of page 0x0F: USB-IF HidUsageTables.json 1.6 (2025-01-08) [read: public copy], and the tables at the head
of Linux drivers/hid/usbhid/hid-pidff.c [read], which agree. Page 0x0E: hid-tools 0.12, run here (it has no page 0x0F).
"""

from __future__ import annotations

import pytest
from hidtools.hid import ReportDescriptor
from hidtools.hut import HUT

from station.sheets import power
from station.sheets.vibration import Send, haptics, pid
from tests.published.test_hid_descriptors import ours, theirs
from tests.rig.feel import PidPad, haptic_descriptor, pid_descriptor
from tests.sheets.test_vibration import converse

PID_USAGES = {
    "Set Effect Report": (0x21, pid.SET_EFFECT),
    "Effect Parameter Block Index": (0x22, pid.INDEX),
    "ET Constant-Force": (0x26, pid.CONSTANT),
    "ET Square": (0x30, pid.SQUARE),
    "ET Sine": (0x31, pid.SINE),
    "ET Triangle": (0x32, pid.TRIANGLE),
    "Duration": (0x50, pid.DURATION),
    "Gain": (0x52, pid.GAIN),
    "Trigger Button": (0x53, pid.BUTTON),
    "Axes Enable": (0x55, pid.AXES),
    "Direction Enable": (0x56, pid.DIRECTION_ON),
    "Direction": (0x57, pid.DIRECTION),
    "Set Periodic Report": (0x6E, pid.SET_PERIODIC),
    "Magnitude": (0x70, pid.MAGNITUDE),
    "Period": (0x72, pid.PERIOD),
    "Set Constant-Force Report": (0x73, pid.SET_CONSTANT),
    "Effect Operation Report": (0x77, pid.OPERATION),
    "Op Effect Start": (0x79, pid.START),
    "Op Effect Stop": (0x7B, pid.STOP),
    "Loop Count": (0x7C, pid.LOOPS),
    "Device Gain Report": (0x7D, pid.GAIN_REPORT),
    "Device Gain": (0x7E, pid.DEVICE_GAIN),
    "Effect Parameter Block Load Report": (0x89, pid.LOAD),
    "Block Load Success": (0x8C, pid.LOADED),
    "Block Load Full": (0x8D, pid.FULL),
    "Block Load Error": (0x8E, pid.REFUSED),
    "Effect Parameter Block Free Report": (0x90, pid.FREE),
    "PID Device Control": (0x96, pid.CONTROL),
    "DC Enable Actuators": (0x97, pid.ENABLE),
    "Create New Effect Parameter Block Report": (0xAB, pid.CREATE),
}


@pytest.mark.parametrize("name", PID_USAGES)
def test_usage_of_the_physical_input_device_page(name: str) -> None:
    published, used = PID_USAGES[name]
    assert used == 0x0F << 16 | published


@pytest.mark.parametrize(
    ("usage", "name"),
    [
        (haptics.TRIGGER, "Manual Trigger"),
        (haptics.INTENSITY, "Intensity"),
        (haptics.REPEATS, "Repeat Count"),
        (haptics.PERIOD, "Retrigger Period"),
        (haptics.CUTOFF, "Waveform Cutoff Time"),
        (haptics.LIST, "Waveform"),  # hid-tools abbreviates Waveform List
        (0xE << 16 | haptics.RUMBLE, "WAVEFORM_RUMBLE_CONTINUOUS"),
        (0xE << 16 | haptics.BUZZ, "WAVEFORM_BUZZ_CONTINUOUS"),
        (0xE << 16 | haptics.CLICK, "WAVEFORM_CLICK"),
        (0xE << 16 | 0x1000 | haptics.STOP, "WAVEFORM_STOP"),  # ordinal 2 stands for the second wave form
        (power.LEVELS[0], "Battery Strength"),
    ],
)
def test_hid_tools_has_that_usage(usage: int, name: str) -> None:
    assert HUT[usage >> 16][usage & 0xFFFF].name == name


DESCRIPTORS = {
    "PID": pid_descriptor(),
    "PID, one axis": pid_descriptor(motors=1),
    "haptics": haptic_descriptor(),
    "haptics, one report": haptic_descriptor(one_report=True),
}


@pytest.mark.parametrize("name", DESCRIPTORS)
def test_hid_tools_reads_the_same_layout(name: str) -> None:
    assert ours(DESCRIPTORS[name]) == theirs(DESCRIPTORS[name])


def test_hid_tools_reads_the_same_numbers_in_what_is_sent() -> None:
    descriptor = pid_descriptor()
    read, log = ReportDescriptor.from_bytes(descriptor), []
    converse(PidPad(descriptor), log)
    seen = {}
    for send in (s for s in log if isinstance(s, Send)):
        reports = read.feature_reports if send.feature else read.output_reports
        for field in reports[send.report[0]].fields:
            if not field.is_const:
                told = [int(value) for value in field.get_values(list(send.report))]
                seen.setdefault((send.report[0], field.start), []).append(told)
    at = {
        "set effect: block": seen[0x11, 8],
        "set effect: type, of constant ramp square sine": seen[0x11, 16],
        "set effect: duration": seen[0x11, 24],
        "set effect: gain": seen[0x11, 72],
        "set effect: trigger button": seen[0x11, 80],
        "create: type": seen[0x01, 8],
        "periodic: block": seen[0x14, 8],
        "periodic: magnitude": seen[0x14, 16],
        "periodic: offset": seen[0x14, 24],
        "periodic: period": seen[0x14, 40],
        "control: enable": seen[0x1C, 8],
        "gain": seen[0x1D, 8],
    }
    assert at == {
        "set effect: block": [[7], [10]],
        "set effect: type, of constant ramp square sine": [[4], [4]],
        "set effect: duration": [[1000], [1000]],
        "set effect: gain": [[191], [191]],
        "set effect: trigger button": [[0], [0]],
        "create: type": [[4], [4]],
        "periodic: block": [[7], [10]],
        "periodic: magnitude": [[255], [255]],
        "periodic: offset": [[0], [0]],
        "periodic: period": [[40], [40]],
        "control: enable": [[1]],
        "gain": [[255]],
    }
