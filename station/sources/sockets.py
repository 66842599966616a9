"""In which socket a device is plugged: what tells two devices alike, without serial numbers, from each other."""

from __future__ import annotations

import os
import re
from pathlib import Path

from station.sources.vendor_class import is_interface

_USB = re.compile(r"\d+-\d+(?:\.\d+)*")
"""a device of the bus as Linux names it: bus, then the port at each hub (Documentation/ABI/testing/sysfs-bus-usb)"""


def socket_of(key: str, system: Path = Path("/sys")) -> str:
    """The socket of the device that this key opens; "" where the system does not tell it. The interfaces of one
    receiver are several devices, so of an interface it is its own name.

    A node number is used again by whatever is plugged in next; the socket stays with the cable.
    """
    if is_interface(key):
        return key
    if not key.startswith("/dev/hidraw"):
        return ""
    try:
        parts = Path(os.path.realpath(system / "class" / "hidraw" / key.removeprefix("/dev/") / "device")).parts
    except OSError:
        return ""
    return next((part for part in reversed(parts) if _USB.fullmatch(part)), "")
