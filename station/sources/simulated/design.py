"""What a simulated model looks like from outside: its controls, its report descriptor, its rates.

All designs are of one invented family, "Plover T2": two sticks, two triggers, a hat, thirteen buttons, or fourteen. The
kits differ in everything a decoder has to get right: widths, signs, null codes, report ids, packing across bytes,
and which end of Y is up.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from station.errors import InputError
from station.hid.descriptor import parse_descriptor
from station.hid.types import Field, Layout, ReportLayout
from station.words import samples as words

Kit = Literal["8bit", "16bit", "packed", "sensing"]
GateShape = Literal["round", "square", "octagon"]
ControlKind = Literal["stick", "trigger", "button", "hat", "motion", "touch"]

VENDOR_ID = 0x1209
"""pid.codes; 0x0001…0x0010 are set aside for tests"""
X, Y, Z, RX, RY, RZ, HAT = (0x1_0030, 0x1_0031, 0x1_0032, 0x1_0033, 0x1_0034, 0x1_0035, 0x1_0039)
ACCELERATOR, BRAKE = 0x2_00C4, 0x2_00C5
_BUTTON = 0x9_0000
ACCELERATION, TURNING = (0x20_0453, 0x20_0454, 0x20_0455), (0x20_0457, 0x20_0458, 0x20_0459)
TOUCH = 0xFFFF_0000
"""usages by which the simulation tells the fields of a touch pad apart; no report has them"""
_FINGER_USAGE = 0xD_0022

_HEAD = "0501 0905 a101"
_STICKS = "0930 0931 0932 0935"
_BUTTONS = "0509 1901 290d 1500 2501 7501 950d 8102  9503 8103"
_FOURTEEN = "0509 1901 290e 1500 2501 7501 950e 8102  9502 8103"
_FINGER = """0922 a102 050d 0942 1500 2501 7501 9501 8102 8103 0951 2503 7506 8102
    0501 7510 0930 267f07 8102 0931 26ad03 8102 c0 050d"""
_DESCRIPTORS: dict[Kit, str] = {
    # X Y Z Rz 0…255 · hat 0…7, null 8…15 · pad · 13 buttons · pad · Rx Ry 0…255
    "8bit": f"""{_HEAD} 1500 26ff00 7508 9504 {_STICKS} 8102
        0939 1500 2507 3500 463b01 6514 7504 9501 8142  4500 6500 7504 8103
        {_BUTTONS}
        0501 1500 26ff00 7508 9502 0933 0934 8102 c0""",
    # id 1 · X Y Z Rz −32768…32767 · Brake Accelerator 0…1023 in 16 bits · hat 1…8, null 0 · pad · 13 buttons · pad
    "16bit": f"""{_HEAD} 8501 160080 26ff7f 7510 9504 {_STICKS} 8102
        0502 1500 26ff03 7510 9502 09c5 09c4 8102
        0501 0939 1501 2508 3500 463b01 6514 7504 9501 8142  4500 6500 7504 8103
        {_BUTTONS} c0""",
    # id 3 · X Y Z Rz in 12 bits · Rx Ry in 10 bits · hat 0…7, null 15 · 13 buttons · pad
    "packed": f"""{_HEAD} 8503 1500 26ff0f 750c 9504 {_STICKS} 8102
        26ff03 750a 9502 0933 0934 8102
        0939 1500 2507 3500 463b01 6514 7504 9501 8142  4500 6500
        {_BUTTONS} c0""",
    # id 4 · as "8bit", then acceleration ±4 g and angular velocity ±2000 °/s in 16 bits, and two contacts of a touch
    # pad (tip · pad · id · x 0…1919 · y 0…941), all of it inside the game collection
    "sensing": f"""{_HEAD} 8504 1500 26ff00 7508 9504 {_STICKS} 8102
        0939 1500 2507 3500 463b01 6514 7504 9501 8142  4500 6500 7504 8103
        {_BUTTONS}
        0501 1500 26ff00 7508 9502 0933 0934 8102
        0520 0a5304 0a5404 0a5504 160180 26ff7f 3670fe 469001 550e 7510 9503 8102
        0a5704 0a5804 0a5904 3630f8 46d007 5500 8102  3500 4500
        050d {_FINGER} {_FINGER} c0""",
}
_HAT_CODES: dict[Kit, tuple[int, ...]] = {
    "8bit": (0, 1, 2, 3, 4, 5, 6, 7, 8),
    "16bit": (1, 2, 3, 4, 5, 6, 7, 8, 0),
    "packed": (0, 1, 2, 3, 4, 5, 6, 7, 15),
    "sensing": (0, 1, 2, 3, 4, 5, 6, 7, 8),
}
_TRIGGER_USAGES: dict[Kit, tuple[int, int]] = {
    "8bit": (RX, RY),
    "16bit": (BRAKE, ACCELERATOR),
    "packed": (RX, RY),
    "sensing": (RX, RY),
}
_PRODUCTS: dict[Kit, int] = {"8bit": 0x0001, "16bit": 0x0002, "packed": 0x0003, "sensing": 0x0004}
_GATES: dict[Kit, GateShape] = {"8bit": "round", "16bit": "octagon", "packed": "round", "sensing": "round"}


@dataclass(frozen=True, slots=True)
class PadControl:
    """One control of the model; `usages` are (x, y) for a stick, else one. `up`: which end of y is up."""

    id: str
    kind: ControlKind
    name: str
    zone: str
    usages: tuple[int, ...]
    twin: str | None = None
    up: Literal["low", "high"] = "low"


_BUTTON_TABLE = (
    ("south", "right hand", "east"),
    ("east", "right hand", "south"),
    ("west", "right hand", "north"),
    ("north", "right hand", "west"),
    ("left_shoulder", "top", "right_shoulder"),
    ("right_shoulder", "top", "left_shoulder"),
    ("left_paddle", "back", "right_paddle"),
    ("right_paddle", "back", "left_paddle"),
    ("select", "centre", "start"),
    ("start", "centre", "select"),
    ("left_stick_press", "left hand", "right_stick_press"),
    ("right_stick_press", "right hand", "left_stick_press"),
    ("home", "centre", None),
)
_MORE = (("home", "centre", "mode"), ("mode", "centre", "home"))
"""in place of the last one, where there are fourteen"""


@dataclass(frozen=True)
class PadDesign:
    """A model. `rate_hz`: reports a second that the host asks for; `on_change`: silent while nothing changes.

    `adc_bits`: what the converter really resolves, where a report has more bits than that. `product_id` and
    `gate` default to the kit's own. InputError for a rate that no link has.
    """

    kit: Kit = "8bit"
    rate_hz: int = 250
    on_change: bool = False
    product_id: int = 0
    gate: GateShape | None = None
    adc_bits: int = 12
    buttons: Literal[13, 14] = 13

    def __post_init__(self) -> None:
        if self.kit not in _DESCRIPTORS:
            raise InputError(words.NO_SUCH_LAYOUT.format(kit=self.kit))
        if not 10 <= self.rate_hz <= 8000:
            raise InputError(words.RATE_OUTSIDE.format(rate=self.rate_hz))

    @property
    def name(self) -> str:
        return words.MODELS[self.kit]

    @property
    def ids(self) -> tuple[int, int]:
        """Vendor and product id."""
        return VENDOR_ID, self.product_id or _PRODUCTS[self.kit]

    @property
    def gate_shape(self) -> GateShape:
        return self.gate or _GATES[self.kit]

    @property
    def hat_codes(self) -> tuple[int, ...]:
        """The code of each direction, clockwise from up, and last that of the null state."""
        return _HAT_CODES[self.kit]

    @cached_property
    def descriptor(self) -> bytes:
        text = _DESCRIPTORS[self.kit]
        return bytes.fromhex(text.replace(_BUTTONS, _FOURTEEN) if self.buttons == 14 else text)

    @cached_property
    def layout(self) -> Layout:
        return parse_descriptor(self.descriptor)

    @cached_property
    def report(self) -> ReportLayout:
        """The one input report, without a touch pad: its usages are those of sticks once more."""
        whole = self.layout.reports[0]
        return replace(whole, fields=tuple(f for f in whole.fields if not _of_touch(f)))

    @cached_property
    def touch_report(self) -> ReportLayout:
        """The same report with the fields of the touch pad only: tip, id, x, y of each contact, with `TOUCH` usages."""
        whole = self.layout.reports[0]
        touch = [f for f in whole.fields if _of_touch(f) and not f.is_constant]
        return replace(whole, fields=tuple(replace(f, usage=TOUCH | k) for k, f in enumerate(touch)))

    @cached_property
    def fields(self) -> dict[int, Field]:
        """usage → field of the input report, without a touch pad."""
        return {f.usage: f for f in self.report.fields if not f.is_constant}

    @cached_property
    def controls(self) -> tuple[PadControl, ...]:
        """All controls, sticks first."""
        up: Literal["low", "high"] = "high" if self.kit == "16bit" else "low"
        left, right = _TRIGGER_USAGES[self.kit]
        axes = (
            _pad_control("left_stick", "stick", "left hand", (X, Y), "right_stick", up),
            _pad_control("right_stick", "stick", "right hand", (Z, RZ), "left_stick", up),
            _pad_control("left_trigger", "trigger", "top", (left,), "right_trigger"),
            _pad_control("right_trigger", "trigger", "top", (right,), "left_trigger"),
            _pad_control("hat", "hat", "left hand", (HAT,)),
        )
        table = (*_BUTTON_TABLE[:-1], *_MORE) if self.buttons == 14 else _BUTTON_TABLE
        buttons = tuple(
            _pad_control(identity, "button", zone, (_BUTTON | number,), twin)
            for number, (identity, zone, twin) in enumerate(table, 1)
        )
        if self.kit != "sensing":
            return axes + buttons
        touches = tuple(
            _pad_control(f"touch_{k + 1}", "touch", "centre", tuple(TOUCH | 4 * k + place for place in (0, 2, 3)))
            for k in range(2)
        )
        return axes + buttons + (_pad_control("motion", "motion", "centre", (*ACCELERATION, *TURNING)), *touches)

    def control(self, control_id: str) -> PadControl:
        """The control of that id; InputError if there is none."""
        for control in self.controls:
            if control.id == control_id:
                return control
        raise InputError(words.NO_SUCH_CONTROL.format(model=self.name, control=control_id))


def _of_touch(field: Field) -> bool:
    return any(c.usage == _FINGER_USAGE for c in field.collections)


def _pad_control(
    identity: str,
    kind: ControlKind,
    zone: str,
    usages: tuple[int, ...],
    twin: str | None = None,
    up: Literal["low", "high"] = "low",
) -> PadControl:
    return PadControl(identity, kind, words.CONTROLS[identity], zone, usages, twin, up)
