"""Names of usages, and what logical values are in physical units.

Names: USB-IF HID Usage Tables 1.5 (8 January 2024), the pages that game controllers use. Units: HID 1.11 §6.2.2.7.
"""

from __future__ import annotations

from station.hid.types import Field

_PAGES = {
    0x01: "Generic Desktop",
    0x02: "Simulation Controls",
    0x05: "Game Controls",
    0x06: "Generic Device Controls",
    0x07: "Keyboard",
    0x08: "LED",
    0x09: "Button",
    0x0C: "Consumer",
    0x0E: "Haptics",
    0x0F: "Physical Input Device",
    0x85: "Battery System",
}

_BUTTON_PAGE = 0x09
_VENDOR_PAGES = 0xFF00

_NAMES: dict[int, dict[int, str]] = {
    0x01: {
        0x01: "Pointer",
        0x02: "Mouse",
        0x04: "Joystick",
        0x05: "Gamepad",
        0x06: "Keyboard",
        0x07: "Keypad",
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
        0x41: "Vy",
        0x42: "Vz",
        0x43: "Vbrx",
        0x44: "Vbry",
        0x45: "Vbrz",
        0x46: "Vno",
        0x80: "System Control",
        0x85: "System Main Menu",
        0x90: "D-pad Up",
        0x91: "D-pad Down",
        0x92: "D-pad Right",
        0x93: "D-pad Left",
    },
    0x02: {
        0xB0: "Aileron",
        0xB8: "Elevator",
        0xBA: "Rudder",
        0xBB: "Throttle",
        0xC0: "Trigger",
        0xC4: "Accelerator",
        0xC5: "Brake",
        0xC6: "Clutch",
        0xC7: "Shifter",
        0xC8: "Steering",
    },
    0x05: {
        0x20: "Point of View",
        0x37: "Gamepad Fire/Jump",
        0x39: "Gamepad Trigger",
    },
    0x06: {
        0x20: "Battery Strength",
        0x21: "Wireless Channel",
        0x22: "Wireless ID",
        0x29: "RF Signal Strength",
        0x2A: "Software Version",
        0x2B: "Protocol Version",
        0x2C: "Hardware Version",
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
        0x1001: "Waveform None",
        0x1002: "Waveform Stop",
        0x1003: "Waveform Click",
        0x1004: "Waveform Buzz Continuous",
        0x1005: "Waveform Rumble Continuous",
        0x1006: "Waveform Press",
        0x1007: "Waveform Release",
    },
    0x0F: {0x01: "Physical Input Device"},
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

_LENGTHS = {1: "cm", 2: "rad", 3: "in", 4: "°"}
_BASES = {1: ("g", "s", "K", "A", "cd"), 3: ("slug", "s", "°F", "A", "cd")}
_DIGITS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def usage_name(usage: int) -> str:
    """The name of a usage (page << 16 | id), e.g. "Button 5", "Hat Switch"; numbers where the tables have none."""
    page, number = usage >> 16, usage & 0xFFFF
    if not usage:
        return "Undefined"
    if page == _BUTTON_PAGE:
        return f"Button {number}" if number else "No button"
    if number in _NAMES.get(page, {}):
        return _NAMES[page][number]
    if page >= _VENDOR_PAGES:
        return f"Vendor page 0x{page:04X}, usage 0x{number:04X}"
    if page in _PAGES:
        return f"{_PAGES[page]}, usage 0x{number:02X}"
    return f"Page 0x{page:02X}, usage 0x{number:02X}"


def usage_slug(usage: int) -> str:
    """The usage's name as an id: lower-case ASCII letters, digits and single underscores ("button_5", "x")."""
    plain = "".join(c if c.isascii() and c.isalnum() else " " for c in usage_name(usage).lower())
    return "_".join(plain.split())


def resolution(field: Field) -> float | None:
    """Counts per unit: (LogMax − LogMin) / ((PhysMax − PhysMin) · 10^exponent) (HID 1.11 §6.2.2.7).

    None where the physical extents span nothing.
    """
    span = field.physical_max - field.physical_min
    if span == 0:
        return None
    return (field.logical_max - field.logical_min) / (span * 10.0**field.unit_exponent)


def physical_value(field: Field, logical: float) -> float:
    """The physical value, in `unit_name(field)`, of a logical one: the inverse of `resolution`, from PhysMin on.

    Where the logical range spans nothing, every value stands at PhysMin.
    """
    scale = 10.0**field.unit_exponent
    span = field.logical_max - field.logical_min
    share = (logical - field.logical_min) / span if span else 0.0
    return (field.physical_min + share * (field.physical_max - field.physical_min)) * scale


def unit_name(field: Field) -> str:
    """The unit of the physical values, e.g. "°", "cm·s⁻¹"; empty where the descriptor gives none or a vendor's own."""
    system = field.unit & 0xF
    if system not in _LENGTHS:
        return ""
    names = (_LENGTHS[system], *_BASES[1 if system <= 2 else 3])
    powers = [(name, _nibble(field.unit >> 4 * i)) for i, name in enumerate(names, start=1)]
    return "·".join(name + _superscript(power) for name, power in powers if power)


def _nibble(bits: int) -> int:
    """A two's complement nibble."""
    low = bits & 0xF
    return low - 16 if low > 7 else low


def _superscript(power: int) -> str:
    return "" if power == 1 else str(power).translate(_DIGITS)
