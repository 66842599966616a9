"""Usage names against the USB-IF tables, and physical units against HID 1.11 §6.2.2.7.

Names: USB-IF HidUsageTables.json 1.5, generated 2024-01-08 [read: public copy]; compared again here with the tables
that hid-tools carries (they stop at waveform 0x1007 and name nothing on page 0x85).
"""

from __future__ import annotations

import pytest
from hidtools.hut import HUT

from station.hid import find_field, parse_descriptor, physical_value, resolution, unit_name, usage_name, usage_slug
from tests.hid.hid_cases import GAMEPAD, HAT, PAD, X
from tests.published.test_hid_descriptors import PID_JOYSTICK

# page, usages as the tables print them [read: HidUsageTables.json 1.5]
TABLE = {
    0x01: {
        0x01: "Pointer",
        0x02: "Mouse",
        0x04: "Joystick",
        0x05: "Gamepad",
        0x08: "Multi-axis Controller",
        0x30: "X",
        0x31: "Y",
        0x32: "Z",
        0x33: "Rx",
        0x34: "Ry",
        0x35: "Rz",
        0x36: "Slider",
        0x37: "Dial",
        0x38: "Wheel",
        0x39: "Hat Switch",
        0x3D: "Start",
        0x3E: "Select",
        0x40: "Vx",
        0x46: "Vno",
        0x90: "D-pad Up",
        0x91: "D-pad Down",
        0x92: "D-pad Right",
        0x93: "D-pad Left",
    },
    0x02: {
        0xBA: "Rudder",
        0xBB: "Throttle",
        0xC0: "Trigger",
        0xC4: "Accelerator",
        0xC5: "Brake",
        0xC6: "Clutch",
        0xC8: "Steering",
    },
    0x05: {0x20: "Point of View", 0x37: "Gamepad Fire/Jump", 0x39: "Gamepad Trigger"},
    0x06: {
        0x20: "Battery Strength",
        0x21: "Wireless Channel",
        0x29: "RF Signal Strength",
        0x2A: "Software Version",
        0x2B: "Protocol Version",
        0x2C: "Hardware Version",
    },
    0x0D: {  # [read: the tables of hid-tools]
        0x05: "Touch Pad",
        0x22: "Finger",
        0x32: "In Range",
        0x42: "Tip Switch",
        0x47: "Confidence",
        0x51: "Contact Id",
        0x54: "Contact Count",
    },
    0x20: {  # [read: the tables of hid-tools]
        0x01: "Sensor",
        0x73: "Motion: Accelerometer 3D",
        0x76: "Motion: Gyrometer 3D",
        0x453: "Data Field: Acceleration Axis X",
        0x454: "Data Field: Acceleration Axis Y",
        0x455: "Data Field: Acceleration Axis Z",
        0x457: "Data Field: Angular Velocity about X Axis",
        0x458: "Data Field: Angular Velocity about Y Axis",
        0x459: "Data Field: Angular Velocity about Z Axis",
    },
    0x0E: {
        0x01: "Simple Haptic Controller",
        0x10: "Waveform List",
        0x11: "Duration List",
        0x20: "Auto Trigger",
        0x21: "Manual Trigger",
        0x23: "Intensity",
        0x24: "Repeat Count",
        0x25: "Retrigger Period",
        0x28: "Waveform Cutoff Time",
    },
    0x85: {
        0x44: "Charging",
        0x45: "Discharging",
        0x46: "Fully Charged",
        0x64: "Relative State Of Charge",
        0x65: "Absolute State Of Charge",
        0x66: "Remaining Capacity",
        0x67: "Full Charge Capacity",
        0x6B: "Cycle Count",
        0x83: "Design Capacity",
        0xD0: "AC Present",
        0xD1: "Battery Present",
    },
}
# hid-tools 0.12 abbreviates these three
ABBREVIATED = {(0x01, 0x08), (0x0E, 0x10), (0x0E, 0x11)}
ROWS = [(page, usage, name) for page, names in TABLE.items() for usage, name in names.items()]


@pytest.mark.parametrize(("page", "usage", "name"), ROWS, ids=[name for _, _, name in ROWS])
def test_name_of_the_tables(page: int, usage: int, name: str) -> None:
    assert usage_name(page << 16 | usage) == name


@pytest.mark.parametrize(
    ("page", "usage", "name"),
    [row for row in ROWS if row[0] != 0x85 and row[:2] not in ABBREVIATED],
    ids=[name for page, usage, name in ROWS if page != 0x85 and (page, usage) not in ABBREVIATED],
)
def test_hid_tools_names_it_alike(page: int, usage: int, name: str) -> None:
    assert _letters(usage_name(page << 16 | usage)) == _letters(HUT[page][usage].name)


def _letters(name: str) -> str:
    return "".join(c for c in name.lower() if c.isalnum())


@pytest.mark.parametrize(
    ("usage", "name", "slug"),
    [
        (0x0009_0005, "Button 5", "button_5"),  # page 0x09: usage = button number, 0 = none pressed [read: HUT 1.5]
        (0x0009_0000, "No button", "no_button"),
        (0x0001_0039, "Hat Switch", "hat_switch"),
        (0x0001_0030, "X", "x"),
        (0x0001_0090, "D-pad Up", "d_pad_up"),
        (0x0005_0037, "Gamepad Fire/Jump", "gamepad_fire_jump"),
        (0xFF00_0001, "Vendor page 0xFF00, usage 0x0001", "vendor_page_0xff00_usage_0x0001"),
        (0x0001_00FF, "Generic Desktop, usage 0xFF", "generic_desktop_usage_0xff"),
        (0, "Undefined", "undefined"),
        (0x0030_0001, "Page 0x30, usage 0x01", "page_0x30_usage_0x01"),
        (0x0020_0453, "Data Field: Acceleration Axis X", "data_field_acceleration_axis_x"),
    ],
)
def test_names_and_ids(usage: int, name: str, slug: str) -> None:
    assert (usage_name(usage), usage_slug(usage)) == (name, slug)


def test_a_mouse_of_400_counts_per_inch() -> None:
    # HID 1.11 §6.2.2.7: logical −127…127, physical −3175…3175, exponent −4, inch → 254 / 0.6350 = 400 counts an inch
    # [example from memory; arithmetic computed; formula read in Linux hidinput_calc_abs_res, which cites the clause]
    descriptor = "05 01 09 02 A1 01 15 81 25 7F 36 99 F3 46 67 0C 55 0C 65 13 75 08 95 01 09 30 81 06 C0"
    field = find_field(parse_descriptor(bytes.fromhex(descriptor)), X)
    assert field is not None
    assert (field.physical_min, field.physical_max, field.unit_exponent) == (-3175, 3175, -4)
    assert resolution(field) == pytest.approx(400.0, rel=1e-12)
    assert unit_name(field) == "in"
    assert physical_value(field, 127) == pytest.approx(0.3175, rel=1e-12)
    assert physical_value(field, 100) == pytest.approx(0.25, rel=1e-12)


def test_the_hat_of_pid_1_0_points_to_0_90_180_and_270_degrees() -> None:
    # logical 0…3, physical 0…270, unit 0x14 [read: forum copy of the PID 1.0 example]; 3/270 counts a degree [computed]
    field = find_field(parse_descriptor(PID_JOYSTICK), HAT)
    assert field is not None
    assert resolution(field) == pytest.approx(3 / 270, rel=1e-12)
    assert [physical_value(field, value) for value in range(4)] == pytest.approx([0, 90, 180, 270])
    assert unit_name(field) == "°"


def test_an_eight_way_hat_turns_by_45_degrees() -> None:
    field = find_field(parse_descriptor(PAD), HAT)
    assert field is not None
    assert [physical_value(field, value) for value in range(8)] == pytest.approx([45 * i for i in range(8)])


@pytest.mark.parametrize(
    ("unit", "name"),
    [
        (0x11, "cm"),  # §6.2.2.7 [read: virtio driver comment]
        (0x14, "°"),  # English rotation [read: PID 1.0 example]
        (0x12, "rad"),  # [from memory]
        (0x13, "in"),  # [from memory]
        (0x1001, "s"),  # table of §6.2.2.7 [from memory], and the rows below
        (0x1_0001, "K"),
        (0x10_0001, "A"),
        (0xF011, "cm·s⁻¹"),
        (0xE111, "cm·g·s⁻²"),
        (0xE121, "cm²·g·s⁻²"),
        (0xF0_D121, "cm²·g·s⁻³·A⁻¹"),
        (0x1_0003, "°F"),
        (0, ""),
        (0x1F, ""),
    ],
)
def test_unit_of_hid_1_11(unit: int, name: str) -> None:
    item = "67" + unit.to_bytes(4, "little").hex()
    field = find_field(parse_descriptor(bytes.fromhex(GAMEPAD + item + "09 30 15 00 25 7F 75 08 95 01 81 02 C0")), X)
    assert field is not None
    assert unit_name(field) == name


def test_without_physical_extents_a_count_is_a_unit() -> None:
    # both 0 or never given: the logical extents (§6.2.2.7) [read: comments in three public drivers]
    field = find_field(parse_descriptor(PAD), X)
    assert field is not None
    assert resolution(field) == pytest.approx(1.0)
    assert physical_value(field, 1234) == pytest.approx(1234)


def test_extents_that_span_nothing_have_no_resolution() -> None:
    flat = "35 05 45 05 09 30 15 00 25 7F 75 08 95 01 81 02 C0"
    field = find_field(parse_descriptor(bytes.fromhex(GAMEPAD + flat)), X)
    assert field is not None
    assert resolution(field) is None
    assert physical_value(field, 64) == pytest.approx(5.0)
