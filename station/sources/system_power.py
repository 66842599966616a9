"""What the Linux kernel keeps of a device's battery. Nothing on other systems.

The kernel reads the batteries of many HID devices itself and shows them under /sys/class/power_supply; an entry belongs
to a hidraw node when both have the same HID device as their parent (Documentation/ABI/testing/sysfs-class-power).
Reading a value may make the kernel ask the device, which can take seconds: only for threads that may wait.
Imports nothing but the standard library, so that the reader process starts at once.
"""

from __future__ import annotations

import os

VALUES = ("capacity", "capacity_level", "status")
MOST_CHARACTERS = 64
SYSFS = "/sys"


def battery_of(node: str, sysfs: str = SYSFS) -> dict[str, str]:
    """What the system says of the battery of a hidraw node: those of `VALUES` that it has. Empty where it has none."""
    for supply in supplies_of(node, sysfs):
        said = {name: value for name in VALUES if (value := _read(f"{supply}/{name}"))}
        if said:
            return said
    return {}


def supplies_of(node: str, sysfs: str = SYSFS) -> tuple[str, ...]:
    """Folders of the batteries that belong to a node ("/dev/hidraw3"), without asking the device anything."""
    device = os.path.realpath(f"{sysfs}/class/hidraw/{os.path.basename(node)}/device")
    folder = f"{sysfs}/class/power_supply"
    try:
        names = sorted(os.listdir(folder))
    except OSError:
        return ()
    found = (f"{folder}/{name}" for name in names if os.path.realpath(f"{folder}/{name}/device") == device)
    return tuple(supply for supply in found if _read(f"{supply}/type") == "Battery")


def _read(path: str) -> str:
    """One attribute; empty where it cannot be read (a battery that has not reported yet answers ENODATA)."""
    try:
        with open(path, encoding="ascii", errors="replace") as attribute:
            return attribute.read(MOST_CHARACTERS).strip()
    except OSError:
        return ""
