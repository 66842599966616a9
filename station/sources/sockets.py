"""In which socket a device is plugged: what tells two devices alike, without serial numbers, from each other."""

from __future__ import annotations

import os
import re
from pathlib import Path

_USB = re.compile(r"\d+-\d+(?:\.\d+)*")
"""a device of the bus as Linux names it: bus, then the port at each hub (Documentation/ABI/testing/sysfs-bus-usb)"""
_INTERFACE = re.compile(r"(\d+-\d+(?:\.\d+)*):\d+\.\d+")


def socket_of(key: str, system: Path = Path("/sys")) -> str:
    """The socket of the device that this key opens; "" where the system does not tell it.

    A node number is used again by whatever is plugged in next; the socket stays with the cable.
    """
    if found := _INTERFACE.fullmatch(key):
        return found[1]
    if not key.startswith("/dev/hidraw"):
        return ""
    try:
        parts = Path(os.path.realpath(system / "class" / "hidraw" / key.removeprefix("/dev/") / "device")).parts
    except OSError:
        return ""
    return next((part for part in reversed(parts) if _USB.fullmatch(part)), "")
