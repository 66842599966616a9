"""The few HID usages that a drawn-up sheet knows by name (HUT 1.5): id, name, kind of control."""

from __future__ import annotations

from station.sheets.model import Kind

X, Y, Z, RX, RY, RZ = (0x1_0030 + n for n in range(6))
HAT_SWITCH = 0x1_0039
BUTTON_PAGE = 0x09
GAME_APPLICATIONS = (0x1_0004, 0x1_0005, 0x1_0008)  # Joystick, Game Pad, Multi-axis Controller

_NAMED: dict[int, tuple[str, Kind]] = {
    X: ("X", "trigger"),
    Y: ("Y", "trigger"),
    Z: ("Z", "trigger"),
    RX: ("Rx", "trigger"),
    RY: ("Ry", "trigger"),
    RZ: ("Rz", "trigger"),
    0x1_0036: ("Slider", "trigger"),
    0x1_0037: ("Dial", "trigger"),
    0x1_0038: ("Wheel", "trigger"),
    HAT_SWITCH: ("Hat switch", "hat"),
    0x1_003D: ("Start", "button"),
    0x1_003E: ("Select", "button"),
    0x1_0085: ("System main menu", "button"),
    0x1_0090: ("D-pad up", "button"),
    0x1_0091: ("D-pad down", "button"),
    0x1_0092: ("D-pad right", "button"),
    0x1_0093: ("D-pad left", "button"),
    0x2_00BA: ("Rudder", "trigger"),
    0x2_00BB: ("Throttle", "trigger"),
    0x2_00C0: ("Trigger", "button"),
    0x2_00C4: ("Accelerator", "trigger"),
    0x2_00C5: ("Brake", "trigger"),
    0x2_00C6: ("Clutch", "trigger"),
    0x2_00C8: ("Steering", "trigger"),
    0x5_0037: ("Fire or jump", "button"),
    0x5_0039: ("Gamepad trigger", "button"),
    0x6_0020: ("Battery strength", "battery"),
    0x85_0064: ("Relative state of charge", "battery"),
    0x85_0065: ("Absolute state of charge", "battery"),
}


def usage_name(usage: int) -> str:
    """The words for a usage: "Button 5", "Hat switch"; for one without a name here, page and usage in hex."""
    page, number = usage >> 16, usage & 0xFFFF
    if page == BUTTON_PAGE:
        return f"Button {number}"
    named = _NAMED.get(usage)
    return named[0] if named else f"Usage {page:02X} {number:02X}"


def usage_id(usage: int) -> str:
    """The name as a control's id: button_5, hat_switch."""
    return usage_name(usage).lower().replace(" ", "_").replace("-", "_")


def usage_kind(usage: int) -> Kind | None:
    """What kind of control a usage makes by itself; None for one that is not drawn up (sensors, vendor data)."""
    if usage >> 16 == BUTTON_PAGE and usage & 0xFFFF:
        return "button"
    named = _NAMED.get(usage)
    return named[1] if named else None
