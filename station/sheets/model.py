"""A model sheet as immutable values (docs/formats.md, "Model sheets"; loading and checking: sheets.load)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from station.sources.conversation import NOTHING, Conversation

Kind = Literal["button", "stick", "trigger", "hat", "battery", "motion", "touch"]
Zone = Literal["left hand", "right hand", "top", "back", "centre"]
ZONES: tuple[Zone, ...] = ("top", "left hand", "right hand", "centre", "back")
KINDS: tuple[Kind, ...] = ("stick", "trigger", "button", "hat", "battery", "motion", "touch")
BYSTANDERS: tuple[Kind, ...] = ("battery", "motion", "touch")
"""what the work at other controls moves as it likes: the cell, the motion of the whole unit, a finger on its way"""
ACCEL = ("accel_x", "accel_y", "accel_z")
GYRO = ("gyro_x", "gyro_y", "gyro_z")
MOTORS = ("left", "right", "both")
GATES = ("round", "square", "octagon")


@dataclass(frozen=True, slots=True)
class ExplicitField:
    """A field the sheet gives itself; `bit` counts from the first byte as hidapi returns the report.

    `big_endian`: the most significant byte comes first, against HID 1.11 §5.8; whole bytes (16 or 32 bits) only.
    `begins`: only reports that begin so carry it, where a type in the first bytes is no report id. `length`: only those
    of just so many bytes (0: of any length), where nothing but their length tells kinds of reports apart.
    """

    report: int
    bit: int
    bits: int
    signed: bool = False
    min: int = 0
    max: int = 1
    big_endian: bool = False
    begins: bytes = b""
    length: int = 0


@dataclass(frozen=True, slots=True)
class Place:
    """Where a value comes from: a HID usage (page << 16 | id) or an explicit field.

    `up`: the end of the range that is up (y of a stick), or where it is released (trigger, button).
    `right`: the end of the range that is right (x of a stick).
    """

    usage: int | None = None
    field: ExplicitField | None = None
    up: Literal["low", "high"] = "low"
    right: Literal["low", "high"] = "high"


@dataclass(frozen=True, slots=True)
class Control:
    """One control. Sticks use `x` and `y`, everything else `at`.

    A contact of a touch pad uses `x`, `y` and `at` (its tip switch), and those of one zone are one pad's; a motion
    sensor `axes` (those of `ACCEL`, of `GYRO` or of both, by name).
    """

    id: str
    kind: Kind
    name: str
    zone: Zone = "centre"
    twin: str | None = None
    gate: Literal["round", "square", "octagon"] = "round"
    at: Place | None = None
    x: Place | None = None
    y: Place | None = None
    seen_as: str | None = None
    axes: tuple[tuple[str, Place], ...] = ()

    @property
    def places(self) -> tuple[Place, ...]:
        """All places that it reads."""
        return tuple(p for p in (self.at, self.x, self.y, *(place for _, place in self.axes)) if p is not None)


@dataclass(frozen=True, slots=True)
class Ask:
    """A check that the person answers; `meter` lists the readings to type in, e.g. ("V", "A")."""

    id: str
    text: str
    meter: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """A part that can be replaced or harvested; `serves` lists controls or axes ("left_stick.x")."""

    id: str
    name: str
    serves: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A model. `limits` holds the sheet's overrides: check → reading → (pass, fail beyond)."""

    name: str
    match: tuple[tuple[int, int], ...] = ()
    interfaces: tuple[str, ...] = ()
    """protocols of interfaces that no HID driver presents ("ff5d01"): of any device that no sheet names by its ids"""
    talk: Conversation = NOTHING
    """what is said to a device when it is opened, and after"""
    controls: tuple[Control, ...] = ()
    asks: tuple[Ask, ...] = ()
    parts: tuple[Part, ...] = ()
    limits: Mapping[str, Mapping[str, tuple[float, float]]] = field(default_factory=dict)
    absent: tuple[int, ...] = ()
    """usages (page << 16 | id) that the device declares and that are no control of this model: it lacks them, or they
    repeat another"""
    drawn_up: bool = False
    """True when made from a descriptor because no sheet fits"""
    rumble: Mapping[str, bytes] = field(default_factory=dict)
    """reports that run the motors: "left", "right", "both" as far as they are known, and "off", report id first"""

    def control(self, control_id: str) -> Control:
        """The control of that id; KeyError if there is none."""
        for c in self.controls:
            if c.id == control_id:
                return c
        raise KeyError(control_id)
