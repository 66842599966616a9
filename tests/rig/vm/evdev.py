"""What the kernel's event devices show of a pad, read with nothing but the standard library (<linux/input.h>)."""

from __future__ import annotations

import fcntl
import os
import select
import struct
from pathlib import Path

EV_SYN, EV_KEY, EV_ABS = 0x00, 0x01, 0x03
ABS_X = 0x00
_EVENT = struct.Struct("llHHi")
_GET_ABS_X = 0x80184540 + ABS_X
"""EVIOCGABS(ABS_X): value, minimum, maximum, fuzz, flat, resolution as six 32-bit numbers"""


def find(name: str) -> str:
    """The event device of that name; empty while there is none."""
    for folder in Path("/sys/class/input").glob("event*"):
        if (folder / "device/name").read_text().strip() == name:
            return f"/dev/input/{folder.name}"
    return ""


class EventDevice:
    """An open event device."""

    def __init__(self, path: str) -> None:
        self._fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK)

    def fuzz_and_flat(self) -> tuple[int, int]:
        """What the kernel filters on X, and calls its dead zone, in codes."""
        data = fcntl.ioctl(self._fd, _GET_ABS_X, bytes(24))
        fuzz, flat = struct.unpack("6i", data)[3:5]
        return int(fuzz), int(flat)

    def read(self, timeout_s: float = 0.3) -> tuple[list[int], int]:
        """The values of X and the number of complete reports until nothing comes for `timeout_s`."""
        values, reports = [], 0
        while select.select([self._fd], [], [], timeout_s)[0]:
            data = os.read(self._fd, 64 * _EVENT.size)
            for _, _, kind, code, value in _EVENT.iter_unpack(data):
                reports += kind == EV_SYN and code == 0
                if (kind, code) == (EV_ABS, ABS_X):
                    values.append(value)
        return values, reports

    def events(self, timeout_s: float = 0.3) -> dict[tuple[int, int], int]:
        """The last value of each (type, code) until nothing comes for `timeout_s`."""
        found: dict[tuple[int, int], int] = {}
        while select.select([self._fd], [], [], timeout_s)[0]:
            for _, _, kind, code, value in _EVENT.iter_unpack(os.read(self._fd, 64 * _EVENT.size)):
                if kind != EV_SYN:
                    found[kind, code] = value
            timeout_s = min(timeout_s, 0.05)
        return found

    def close(self) -> None:
        os.close(self._fd)
