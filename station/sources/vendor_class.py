"""Pads that no HID driver presents: USB interfaces of a vendor-specific class, held by a kernel driver of their own.

They are found in /sys, without opening anything: hidapi's own list would open every device to read its strings. Only
the interfaces of `PROTOCOLS` count, never one of class HID, so no keyboard comes near this way of reading. Where there
is no such /sys the list is empty.

Only the standard library, because the reader and the watching process import this and must start fast.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, replace
from pathlib import Path

VENDOR_SPECIFIC = 0xFF
"""bInterfaceClass (USB 2.0, table 9-12)"""
PROTOCOLS = frozenset({(0x5D, 0x01), (0x5D, 0x81), (0x47, 0xD0)})
"""subclass and protocol: a wired pad; one pad of a receiver; a pad that has to be started"""
RECEIVER = "ff5d81"
PRESENCE, IS_THERE, CONTROLS = 0x08, 0x80, b"\x00\x01"
"""a receiver's report that a pad came or went, with the bit that says which, and how one with its controls begins: as
the Linux kernel's open driver reads them (drivers/input/joystick)"""
FIRST_ONLY = "ff47d0"
"""of such a device only interface 0 is the pad; the others bear sound"""
_NAME = re.compile(r"\d+-\d+(?:\.\d+)*:\d+\.\d+")
"""an interface as Linux names it (Documentation/ABI/testing/sysfs-bus-usb), which is also hidapi's path for it"""


@dataclass(frozen=True, slots=True)
class Interface:
    """One such interface; strings untouched. `protocol` is class, subclass and protocol in hexadecimal."""

    name: str
    protocol: str
    number: int
    vendor_id: int
    product_id: int
    product: str
    serial: str
    node: str
    """the device's node of the USB file system, whose rights count"""
    driver: str
    """who holds the interface: a kernel driver, "usbfs" for a program, or "" """
    place: int = 0
    """which of the pads of its receiver, from 1, in the order of the interfaces; 0: no pad of a receiver"""


def is_interface(name: str) -> bool:
    """Whether this names an interface of the bus and not a node."""
    return _NAME.fullmatch(name) is not None


def interfaces(system: Path = Path("/sys")) -> list[Interface]:
    """All there are, by name."""
    devices = system / "bus" / "usb" / "devices"
    try:
        names = sorted(filter(is_interface, os.listdir(devices)))
    except OSError:
        return []
    return _placed([found for name in names if (found := _look(devices, name)) is not None])


def _placed(found: list[Interface]) -> list[Interface]:
    """With the places of the pads of each receiver."""
    pads = sorted((one for one in found if one.protocol == RECEIVER), key=lambda one: one.number)
    return [
        replace(one, place=[p for p in pads if p.node == one.node].index(one) + 1) if one in pads else one
        for one in found
    ]


def interface(name: str, system: Path = Path("/sys")) -> Interface | None:
    """The one of that name; None where there is none, or it is of another class."""
    return _look(system / "bus" / "usb" / "devices", name) if is_interface(name) else None


def _look(devices: Path, name: str) -> Interface | None:
    at, device = devices / name, devices / name.split(":", maxsplit=1)[0]
    try:
        kind = [_number(at, key, 16) for key in ("bInterfaceClass", "bInterfaceSubClass", "bInterfaceProtocol")]
        if kind[0] != VENDOR_SPECIFIC or (kind[1], kind[2]) not in PROTOCOLS:
            return None
        protocol, number = bytes(kind).hex(), _number(at, "bInterfaceNumber", 16)
        if protocol == FIRST_ONLY and number:
            return None
        return Interface(
            name,
            protocol,
            number,
            _number(device, "idVendor", 16),
            _number(device, "idProduct", 16),
            _text(device, "product"),
            "" if protocol == RECEIVER else _text(device, "serial"),  # a receiver's is that of none of its pads
            f"/dev/bus/usb/{_number(device, 'busnum'):03d}/{_number(device, 'devnum'):03d}",
            _driver(at),
        )
    except (OSError, ValueError):  # it is just going away
        return None


def _number(folder: Path, key: str, base: int = 10) -> int:
    return int((folder / key).read_text(), base)


def _text(folder: Path, key: str) -> str:
    try:
        return (folder / key).read_text(errors="replace").rstrip("\n")
    except OSError:
        return ""


def _driver(at: Path) -> str:
    try:
        return os.path.basename(os.readlink(at / "driver"))
    except OSError:
        return ""


def pad_is_there(report: bytes) -> bool | None:
    """Whether the pad of a receiver's interface is switched on, by what it just reported; None where that says nothing
    of it."""
    if report[:1] == bytes((PRESENCE,)) and len(report) > 1:
        return bool(report[1] & IS_THERE)
    return True if report.startswith(CONTROLS) else None
