"""Which kind of control a HID usage makes by itself when a sheet is drawn up (HUT 1.5)."""

from __future__ import annotations

from station.sheets.model import Kind

X, Y, Z, RX, RY, RZ = (0x1_0030 + n for n in range(6))
HAT_SWITCH = 0x1_0039
GAME_APPLICATIONS = (0x1_0004, 0x1_0005, 0x1_0008)  # Joystick, Game Pad, Multi-axis Controller
POWER_PAGES = (0x06, 0x85)  # Generic Device Controls, Battery System

DIGITIZERS_PAGE = 0x0D
TIP_SWITCH = 0xD_0042
ACCELERATION_USAGES = ((0x20_0453, 0x20_0454, 0x20_0455), (0x1_0040, 0x1_0041, 0x1_0042))
"""Sensors: Acceleration Axis X, Y, Z; Generic Desktop: Vx, Vy, Vz, which are vectors of anything"""
TURNING_USAGES = ((0x20_0457, 0x20_0458, 0x20_0459), (0x1_0043, 0x1_0044, 0x1_0045))
"""Sensors: Angular Velocity about the X, Y, Z axis; Generic Desktop: Vbrx, Vbry, Vbrz"""

_BUTTON_PAGE = 0x09
_TRIGGERS = {X, Y, Z, RX, RY, RZ, 0x1_0036, 0x1_0037, 0x1_0038}  # … Slider, Dial, Wheel
_TRIGGERS |= {0x2_00BA, 0x2_00BB, 0x2_00C4, 0x2_00C5, 0x2_00C6, 0x2_00C8}  # Rudder … Steering
_BUTTONS = {0x1_003D, 0x1_003E, 0x1_0085, 0x1_0090, 0x1_0091, 0x1_0092, 0x1_0093}  # Start, Select, menu, D-pad
_BUTTONS |= {0x2_00C0, 0x5_0037, 0x5_0039}  # Trigger, Gamepad Fire/Jump, Gamepad Trigger
_BATTERIES = {0x6_0020, 0x85_0064, 0x85_0065}  # Battery Strength, States Of Charge
_BATTERIES |= {0x85_0044, 0x85_0046, 0x85_00D0}  # Charging, Fully Charged, AC Present


def usage_kind(usage: int) -> Kind | None:
    """The kind of control; None for a usage that is not drawn up (sensors, vendor data, keys)."""
    if usage in _TRIGGERS:
        return "trigger"
    if usage == HAT_SWITCH:
        return "hat"
    if usage in _BATTERIES:
        return "battery"
    return "button" if usage in _BUTTONS or (usage >> 16 == _BUTTON_PAGE and usage & 0xFFFF) else None
