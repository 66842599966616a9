"""How a unit is made to vibrate: by its sheet's own bytes, or by the two ways that HID has for it. No I/O.

types     what a talk with the device yields and what comes of it
haptics   Simple Haptic Controllers (page 0x0E)
pid       effects of physical input devices (page 0x0F)
scale     numbers for the fields of a report
"""

from __future__ import annotations

from station.hid.types import Layout
from station.sheets.model import MOTORS, Sheet
from station.sheets.vibration.haptics import by_haptics
from station.sheets.vibration.pid import by_effects
from station.sheets.vibration.types import Ask, Ready, Send, Talk, Turn, Vibration, Way
from station.sources.privacy import sent_as_feature
from station.words import vibration as words

__all__ = ["Ask", "Ready", "Send", "Talk", "Turn", "Vibration", "Way", "standard_vibration", "vibration_of"]


def vibration_of(sheet: Sheet, layout: Layout, descriptor: bytes) -> Vibration | None:
    """The way to make the unit vibrate; the sheet's own reports win. None where neither sheet nor device tells one.

    `descriptor` says which of the sheet's reports are feature reports.
    """
    return _by_sheet(sheet, descriptor) if sheet.rumble else standard_vibration(layout)


def standard_vibration(layout: Layout) -> Vibration | None:
    """The way by the standard usages; haptics first, since it takes nothing from the device that must be given back."""
    return by_haptics(layout) or by_effects(layout)


def _by_sheet(sheet: Sheet, descriptor: bytes) -> Vibration:
    sends = {key: Send(report, sent_as_feature(descriptor, report)) for key, report in sheet.rumble.items()}
    turns = tuple(Turn(words.MOTORS[motor], (sends[motor],)) for motor in MOTORS if motor in sends)

    def talk() -> Talk:
        yield from ()
        return Ready(turns, (sends["off"],))

    return Vibration("sheet", talk)
