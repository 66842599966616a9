"""Usages as ids and by name, and what logical values are in physical units.

Usages: USB-IF HID Usage Tables 1.5 (8 January 2024), the pages that game controllers use. Units: HID 1.11 §6.2.2.7.
"""

from __future__ import annotations

from station.hid.types import Field
from station.words import hid as words

_PAGES = {
    0x01: "generic_desktop",
    0x02: "simulation_controls",
    0x05: "game_controls",
    0x06: "generic_device_controls",
    0x07: "keyboard",
    0x08: "led",
    0x09: "button",
    0x0C: "consumer",
    0x0D: "digitizers",
    0x0E: "haptics",
    0x0F: "physical_input_device",
    0x20: "sensors",
    0x85: "battery_system",
}
"""page → the word that ids are made of; the names shown stand in station/words"""

_BUTTON_PAGE = 0x09
_VENDOR_PAGES = 0xFF00

_USAGES: dict[int, dict[int, str]] = {
    0x01: {
        0x01: "pointer",
        0x02: "mouse",
        0x04: "joystick",
        0x05: "gamepad",
        0x06: "keyboard",
        0x07: "keypad",
        0x08: "multi_axis_controller",
        0x30: "x",
        0x31: "y",
        0x32: "z",
        0x33: "rx",
        0x34: "ry",
        0x35: "rz",
        0x36: "slider",
        0x37: "dial",
        0x38: "wheel",
        0x39: "hat_switch",
        0x3D: "start",
        0x3E: "select",
        0x40: "vx",
        0x41: "vy",
        0x42: "vz",
        0x43: "vbrx",
        0x44: "vbry",
        0x45: "vbrz",
        0x46: "vno",
        0x80: "system_control",
        0x85: "system_main_menu",
        0x90: "d_pad_up",
        0x91: "d_pad_down",
        0x92: "d_pad_right",
        0x93: "d_pad_left",
    },
    0x02: {
        0xB0: "aileron",
        0xB8: "elevator",
        0xBA: "rudder",
        0xBB: "throttle",
        0xC0: "trigger",
        0xC4: "accelerator",
        0xC5: "brake",
        0xC6: "clutch",
        0xC7: "shifter",
        0xC8: "steering",
    },
    0x05: {
        0x20: "point_of_view",
        0x37: "gamepad_fire_jump",
        0x39: "gamepad_trigger",
    },
    0x06: {
        0x20: "battery_strength",
        0x21: "wireless_channel",
        0x22: "wireless_id",
        0x29: "rf_signal_strength",
        0x2A: "software_version",
        0x2B: "protocol_version",
        0x2C: "hardware_version",
    },
    0x0D: {
        0x05: "touch_pad",
        0x22: "finger",
        0x32: "in_range",
        0x42: "tip_switch",
        0x47: "confidence",
        0x51: "contact_id",
        0x54: "contact_count",
    },
    0x0E: {
        0x01: "simple_haptic_controller",
        0x10: "waveform_list",
        0x11: "duration_list",
        0x20: "auto_trigger",
        0x21: "manual_trigger",
        0x23: "intensity",
        0x24: "repeat_count",
        0x25: "retrigger_period",
        0x28: "waveform_cutoff_time",
        0x1001: "waveform_none",
        0x1002: "waveform_stop",
        0x1003: "waveform_click",
        0x1004: "waveform_buzz_continuous",
        0x1005: "waveform_rumble_continuous",
        0x1006: "waveform_press",
        0x1007: "waveform_release",
    },
    0x0F: {
        0x01: "physical_input_device",
    },
    0x20: {
        0x01: "sensor",
        0x73: "motion_accelerometer_3d",
        0x76: "motion_gyrometer_3d",
        0x453: "data_field_acceleration_axis_x",
        0x454: "data_field_acceleration_axis_y",
        0x455: "data_field_acceleration_axis_z",
        0x457: "data_field_angular_velocity_about_x_axis",
        0x458: "data_field_angular_velocity_about_y_axis",
        0x459: "data_field_angular_velocity_about_z_axis",
    },
    0x85: {
        0x44: "charging",
        0x45: "discharging",
        0x46: "fully_charged",
        0x64: "relative_state_of_charge",
        0x65: "absolute_state_of_charge",
        0x66: "remaining_capacity",
        0x67: "full_charge_capacity",
        0x6B: "cycle_count",
        0x83: "design_capacity",
        0xD0: "ac_present",
        0xD1: "battery_present",
    },
}

_LENGTHS = {1: "cm", 2: "rad", 3: "in", 4: "°"}
_BASES = {1: ("g", "s", "K", "A", "cd"), 3: ("slug", "s", "°F", "A", "cd")}
_DIGITS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def usage_name(usage: int) -> str:
    """The name of a usage (page << 16 | id), e.g. "Button 5", "Hat Switch"; numbers where the tables have none."""
    page, number = usage >> 16, usage & 0xFFFF
    if not usage:
        return words.UNDEFINED
    if page == _BUTTON_PAGE:
        return words.BUTTON.format(number=number) if number else words.NO_BUTTON
    if number in _USAGES.get(page, {}):
        return words.USAGES[_USAGES[page][number]]
    if page >= _VENDOR_PAGES:
        return words.VENDOR_USAGE.format(page=page, usage=number)
    if page in _PAGES:
        return words.USAGE_OF_PAGE.format(page=words.PAGES[_PAGES[page]], usage=number)
    return words.UNKNOWN_USAGE.format(page=page, usage=number)


def usage_slug(usage: int) -> str:
    """The usage as an id, the same in every language: lower-case letters, digits, single underscores ("button_5")."""
    page, number = usage >> 16, usage & 0xFFFF
    if not usage:
        return "undefined"
    if page == _BUTTON_PAGE:
        return f"button_{number}" if number else "no_button"
    if number in _USAGES.get(page, {}):
        return _USAGES[page][number]
    if page >= _VENDOR_PAGES:
        return f"vendor_page_0x{page:04x}_usage_0x{number:04x}"
    return f"{_PAGES.get(page, f'page_0x{page:02x}')}_usage_0x{number:02x}"


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
