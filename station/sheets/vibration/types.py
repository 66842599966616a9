"""What it takes to run a unit's motors: a talk with the device, and the turns that come of it.

A talk is a generator without any I/O: it yields what to send or ask, is sent the answer (nothing for a `Send`), and
returns how the motors are started and stopped. Whoever drives it throws a DeviceError into it when the device does not
answer; it then yields what frees the device again and raises the error.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import Literal

Way = Literal["sheet", "haptics", "PID"]
"""by the bytes of the sheet, the haptics page of HID, or its pages of physical input devices"""


@dataclass(frozen=True, slots=True)
class Send:
    """A report for the device as sources send it: id first, 0 where ids are not used."""

    report: bytes
    feature: bool = False


@dataclass(frozen=True, slots=True)
class Ask:
    """A feature report that the device shall give; answered with the report as its layout counts it."""

    report_id: int


@dataclass(frozen=True, slots=True)
class Turn:
    """One motor, or both. `name` is what the hand should feel: "left only"."""

    name: str
    start: tuple[Send, ...]


@dataclass(frozen=True, slots=True)
class Ready:
    """Motors that can run. `stop` stops whatever runs; `release` gives back what the talk took from the device."""

    turns: tuple[Turn, ...]
    stop: tuple[Send, ...]
    release: tuple[Send, ...] = ()
    remark: str = ""
    """what the person should know while they run"""


Talk = Generator[Send | Ask, bytes, Ready]


@dataclass(frozen=True, slots=True)
class Vibration:
    """A way to make a unit vibrate; `talk` begins a fresh talk."""

    way: Way
    talk: Callable[[], Talk]
