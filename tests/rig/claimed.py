"""Pads that no HID driver presents, written from what the Linux kernel's open driver for their classes reads.

`wired` packs the 20 bytes of subclass 5D protocol 01; `started` the 18 bytes of subclass 47 protocol D0, which says
nothing before it was started. Positions, not letters: south is the lowest of the four buttons at the right.
"""

from __future__ import annotations

import struct
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace

from station.sheets.model import Sheet
from station.sources.simulated import PadDesign

VENDOR, PRODUCT = 0x0E6F, 0x0001
"""a vendor number that hidapi's own list of such pads has; it takes no other"""
NAME, SERIAL = "Claimed test pad", "RIG0002"
WIRED, RECEIVED, STARTED = (0x5D, 0x01), (0x5D, 0x81), (0x47, 0xD0)
START = bytes.fromhex("0520")
AXES = ("left_x", "left_y", "right_x", "right_y")

WIRED_BITS = {
    "pad_up": 0, "pad_down": 1, "pad_left": 2, "pad_right": 3, "centre_right": 4, "centre_left": 5,
    "left_stick_press": 6, "right_stick_press": 7, "left_shoulder": 8, "right_shoulder": 9, "middle": 10,
    "south": 12, "east": 13, "west": 14, "north": 15,
}  # fmt: skip
STARTED_BITS = {
    "centre_right": 2, "centre_left": 3, "south": 4, "east": 5, "west": 6, "north": 7, "pad_up": 8, "pad_down": 9,
    "pad_left": 10, "pad_right": 11, "left_shoulder": 12, "right_shoulder": 13, "left_stick_press": 14,
    "right_stick_press": 15,
}  # fmt: skip

SIMULATED = ("south", "east", "west", "north", "left_shoulder", "right_shoulder", "", "", "centre_left", "centre_right",
             "left_stick_press", "right_stick_press", "middle")  # fmt: skip
"""the buttons of the simulated 16-bit pad, in its order; paddles have no place here"""


@dataclass(frozen=True, slots=True)
class Held:
    """What a hand does: names of buttons, the axes of both sticks (−32768…32767, up positive), both triggers (0…1)."""

    buttons: Collection[str] = ()
    axes: Mapping[str, int] = field(default_factory=dict)
    left: float = 0.0
    right: float = 0.0

    def bits(self, places: Mapping[str, int]) -> int:
        """The buttons as a number of 16 bits."""
        return sum(1 << places[name] for name in self.buttons if name in places)


def wired(held: Held) -> bytes:
    """A report of subclass 5D protocol 01."""
    axes = (held.axes.get(name, 0) for name in AXES)
    pulls = (round(255 * pull) for pull in (held.left, held.right))
    return struct.pack("<BBHBB4h6x", 0x00, 0x14, held.bits(WIRED_BITS), *pulls, *axes)


def received(held: Held) -> bytes:
    """A report of subclass 5D protocol 81: the wired one from the fifth byte on."""
    return bytes((0x00, 0x01, 0x00, 0xF0)) + wired(held) + bytes(5)


def started(held: Held, number: int = 0) -> bytes:
    """A report of subclass 47 protocol D0."""
    axes = (held.axes.get(name, 0) for name in AXES)
    pulls = (round(1023 * pull) for pull in (held.left, held.right))
    return struct.pack("<BBBBHHH4h", 0x20, 0x00, number & 0xFF, 0x0E, held.bits(STARTED_BITS), *pulls, *axes)


def middle(down: bool, number: int = 0) -> bytes:
    """The report of the button in the middle of such a pad, which wants an answer."""
    return bytes((0x07, 0x30, number & 0xFF, 0x02, int(down), 0x5B))


def as_simulated(report: bytes) -> Held:
    """What the hand does in a report of the simulated 16-bit pad (sources/simulated/design.py)."""
    _, *axes, left, right, hat, buttons = struct.unpack("<B4hHHBH", report)
    names = [name for at, name in enumerate(SIMULATED) if name and buttons >> at & 1]
    eighth = (hat & 15) - 1
    if 0 <= eighth < 8:
        names += [side for side, eighths in _SIDES.items() if eighth in eighths]
    return Held(names, dict(zip(AXES, axes, strict=True)), left / 1023, right / 1023)


_SIDES = {"pad_up": (7, 0, 1), "pad_right": (1, 2, 3), "pad_down": (3, 4, 5), "pad_left": (5, 6, 7)}


def for_the_simulated_hand(sheet: Sheet) -> Sheet:
    """The sheet with the controls that the simulated hand knows by the same name."""
    known = {c.id for c in PadDesign("16bit").controls}
    return replace(sheet, controls=tuple(c for c in sheet.controls if c.id in known))
