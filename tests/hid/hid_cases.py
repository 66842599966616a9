"""Descriptors with one report each and what it says, written by hand from HID 1.11; and malformed descriptors."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from station.hid import ReportBlock

GENERIC_DESKTOP, BUTTON, KEYBOARD, SIMULATION = 0x0001_0000, 0x0009_0000, 0x0007_0000, 0x0002_0000
X, Y, Z, RX, RZ, SLIDER, HAT = (GENERIC_DESKTOP + n for n in (0x30, 0x31, 0x32, 0x33, 0x35, 0x36, 0x39))
THROTTLE = SIMULATION + 0xBB


def button(number: int) -> int:
    return BUTTON + number


def block_of(*reports: bytes, width: int | None = None) -> ReportBlock:
    """Reports, one a millisecond, as a block."""
    longest = max((len(report) for report in reports), default=0) if width is None else width
    raw = np.zeros((len(reports), longest), np.uint8)
    for row, report in zip(raw, reports, strict=True):
        row[: len(report)] = np.frombuffer(report, np.uint8)
    sizes = np.array([len(report) for report in reports], np.uint16)
    return ReportBlock(0, np.arange(len(reports), dtype=np.int64) * 1_000_000, sizes, raw)


class Case(NamedTuple):
    """`says` is usage → logical value in `report`."""

    name: str
    descriptor: bytes
    report: bytes
    says: Mapping[int, int]


class Malformed(NamedTuple):
    """`says` is how the message begins, `offset` the byte it names; an empty `says`: accepted all the same."""

    name: str
    descriptor: bytes
    says: str
    offset: int = 0


h = bytes.fromhex
GAMEPAD = "05 01 09 05 A1 01 "

MOUSE = h(
    "05 01 09 02 A1 01 09 01 A1 00 05 09 19 01 29 03 15 00 25 01 95 03 75 01 81 02 95 01 75 05 81 01"
    "05 01 09 30 09 31 15 81 25 7F 75 08 95 02 81 06 C0 C0"
)
KEYS = h(
    "05 01 09 06 A1 01 05 07 19 E0 29 E7 15 00 25 01 75 01 95 08 81 02 95 01 75 08 81 01 95 05 75 01"
    "05 08 19 01 29 05 91 02 95 01 75 03 91 01 95 06 75 08 15 00 25 65 05 07 19 00 29 65 81 00 C0"
)
JOYSTICK = h(
    "05 01 15 00 09 04 A1 01 05 02 09 BB 15 81 25 7F 75 08 95 01 81 02 05 01 09 01 A1 00 09 30 09 31"
    "95 02 81 02 C0 09 39 15 00 25 03 35 00 46 0E 01 65 14 75 04 95 01 81 02 05 09 19 01 29 04 15 00"
    "25 01 75 01 95 04 35 00 45 01 65 00 81 02 C0"
)
# A two-stick pad of nobody's: 12 buttons and a 4-bit hat, four axes of 16 bits, two triggers of 8, output and feature.
PAD = h(
    GAMEPAD + "85 01 05 09 19 01 29 0C 15 00 25 01 75 01 95 0C 81 02"
    "05 01 09 39 15 00 25 07 35 00 46 3B 01 65 14 75 04 95 01 81 42 65 00 45 00"
    "09 30 09 31 09 32 09 35 15 00 27 FF FF 00 00 75 10 95 04 81 02 09 33 09 34 26 FF 00 75 08 95 02 81 02"
    "85 02 06 00 FF 09 01 09 02 91 02 85 03 09 03 95 08 B1 02 C0"
)
PAD_REST = h("01 00 80 00 80 00 80 00 80 00 80 00 00")

CASES = [
    Case("a boot mouse holds its left button", MOUSE, h("01 05 FB"), {button(1): 1, button(2): 0, X: 5, Y: -5}),
    Case(
        "a boot keyboard holds left shift and A",
        KEYS,
        h("02 00 04 00 00 00 00 00"),
        {KEYBOARD + 0xE0: 0, KEYBOARD + 0xE1: 1, KEYBOARD + 0x04: 1, KEYBOARD + 0x05: 0},
    ),
    Case(
        "the joystick example of HID 1.11",
        JOYSTICK,
        h("81 7F 00 12"),
        {THROTTLE: -127, X: 127, Y: 0, HAT: 2, button(1): 1, button(2): 0},
    ),
    Case(
        "a two-stick pad with button 1 and the hat up and right",
        PAD,
        h("01 01 10 01 00 00 80 00 80 00 80 07 00"),
        {button(1): 1, button(2): 0, button(12): 0, HAT: 1, X: 1, Y: 0x8000, RX: 7},
    ),
    Case("a released hat stays the raw number", PAD, PAD_REST, {HAT: 8, X: 0x8000}),
    Case(
        "the second report has the same item state and its own id",
        h(GAMEPAD + "85 01 09 30 15 81 25 7F 75 08 95 01 81 02 85 02 09 31 81 02 C0"),
        h("02 FF"),
        {Y: -1},
    ),
    Case(
        "Pop brings the range back that Push put aside",
        h(GAMEPAD + "15 00 26 FF 00 75 08 95 01 A4 15 81 25 7F 09 30 81 02 B4 09 31 81 02 C0"),
        h("FF FF"),
        {X: -1, Y: 255},
    ),
    Case(
        "a logical maximum of FF in one byte over 0 is 255",
        h(GAMEPAD + "09 30 15 00 25 FF 75 08 95 01 81 02 C0"),
        h("C8"),
        {X: 200},
    ),
    Case(
        "a range from -32768 is signed",
        h(GAMEPAD + "09 30 16 01 80 26 FF 7F 75 10 95 01 81 02 C0"),
        h("00 80"),
        {X: -32768},
    ),
    Case(
        "a logical maximum of FFFF in two bytes over 0 is 65535",
        h(GAMEPAD + "09 30 15 00 26 FF FF 75 10 95 01 81 02 C0"),
        h("FF FF"),
        {X: 65535},
    ),
    Case(
        "ten-bit fields run across bytes",
        h(GAMEPAD + "09 30 09 31 15 00 26 FF 03 75 0A 95 02 81 02 75 04 95 01 81 03 C0"),
        h("01 08 10"),
        {X: 1, Y: 2},
    ),
    Case(
        "physical extents and a unit do not change the logical value",
        h("05 01 09 04 A1 01 09 30 15 81 25 7F 36 81 FF 46 7F 00 65 11 55 0E 75 08 95 01 81 02 C0"),
        h("FF"),
        {X: -1},
    ),
    Case(
        "the last usage repeats where there are fewer than fields",
        h(GAMEPAD + "09 36 15 00 26 FF 00 75 08 95 03 81 02 09 30 95 01 81 02 C0"),
        h("01 02 03 09"),
        {SLIDER: 1, X: 9},
    ),
    Case(
        "usages beyond the count are dropped",
        h(GAMEPAD + "09 30 09 31 09 32 15 00 26 FF 00 75 08 95 02 81 02 09 35 95 01 81 02 C0"),
        h("01 02 09"),
        {X: 1, Y: 2, RZ: 9},
    ),
    Case(
        "an array of buttons names those that are held",
        h(GAMEPAD + "05 09 19 01 29 10 15 01 25 10 75 08 95 02 81 00 C0"),
        h("03 10"),
        {button(3): 1, button(16): 1, button(4): 0},
    ),
    Case(
        "a vendor's page is read like any other",
        h("06 00 FF 09 01 A1 01 09 02 15 00 26 FF 00 75 08 95 04 81 02 C0"),
        h("01 02 03 04"),
        {0xFF00_0002: 1},
    ),
    Case(
        "a usage of four bytes carries its page",
        h(GAMEPAD + "0B 01 00 09 00 15 00 25 01 75 01 95 01 81 02 95 07 81 03 C0"),
        h("01"),
        {button(1): 1},
    ),
    Case(
        "a leading constant byte is stepped over",
        h(GAMEPAD + "75 08 95 01 81 03 09 30 15 00 26 FF 00 81 02 C0"),
        h("AA 07"),
        {X: 7},
    ),
    Case(
        "a constant uses up its usage",
        h(GAMEPAD + "09 30 15 00 26 FF 00 75 08 95 01 81 03 09 31 81 02 C0"),
        h("AA 07"),
        {Y: 7},
    ),
    Case(
        "a long item is skipped",
        h(GAMEPAD + "FE 03 10 AA BB CC 09 30 15 00 26 FF 00 75 08 95 01 81 02 C0"),
        h("07"),
        {X: 7},
    ),
    Case("a field without a logical range is read", h(GAMEPAD + "09 30 75 08 95 01 81 02 C0"), h("07"), {X: 7}),
    Case(
        "the first of delimited usages counts",
        h(GAMEPAD + "A9 01 09 30 09 31 A9 00 15 00 26 FF 00 75 08 95 01 81 02 C0"),
        h("07"),
        {X: 7},
    ),
    Case(
        "each delimited set stands for one field",
        h(GAMEPAD + "A9 01 09 30 09 32 A9 00 A9 01 09 31 09 35 A9 00 15 00 26 FF 00 75 08 95 02 81 02 C0"),
        h("07 08"),
        {X: 7, Y: 8},
    ),
    Case(
        "a usage takes the page declared after it",
        h("05 01 09 05 A1 01 09 01 05 09 15 00 25 01 75 01 95 01 81 02 95 07 81 03 C0"),
        h("01"),
        {button(1): 1},
    ),
    Case(
        "usages of two pages before one item keep theirs",
        h(GAMEPAD + "09 30 05 02 09 BB 15 00 26 FF 00 75 08 95 02 81 02 C0"),
        h("05 06"),
        {X: 5, THROTTLE: 6},
    ),
    Case(
        "a usage maximum may stand before its minimum",
        h(GAMEPAD + "05 09 29 08 19 01 15 00 25 01 75 01 95 08 81 02 C0"),
        h("82"),
        {button(2): 1, button(8): 1, button(1): 0},
    ),
    Case(
        "bytes of data wider than 32 bits are stepped over",
        h(GAMEPAD + "06 00 FF 09 01 75 40 95 01 81 02 05 01 09 30 15 00 26 FF 00 75 08 81 02 C0"),
        h("00 00 00 00 00 00 00 00 07"),
        {X: 7},
    ),
    Case(
        "a report count of 0 takes no room",
        h(GAMEPAD + "09 31 15 00 26 FF 00 75 08 95 00 81 02 09 30 95 01 81 02 C0"),
        h("07"),
        {X: 7},
    ),
    Case(
        "a two's complement field of 32 bits",
        h(GAMEPAD + "09 30 17 00 00 00 80 27 FF FF FF 7F 75 20 95 01 81 02 C0"),
        h("00 00 00 80"),
        {X: -(2**31)},
    ),
    Case(
        "a logical maximum of FFFFFFFF over 0 is 4294967295",
        h(GAMEPAD + "09 30 15 00 27 FF FF FF FF 75 20 95 01 81 02 C0"),
        h("FF FF FF FF"),
        {X: 2**32 - 1},
    ),
    Case(
        "items without data are 0",
        h(GAMEPAD + "09 30 14 26 FF 00 75 08 95 01 81 02 C0"),
        h("07"),
        {X: 7},
    ),
]

FIELD = "15 00 26 FF 00 75 08 95 01 81 02 "
MALFORMED = [
    Malformed("empty", b"", "The report descriptor is empty", 0),
    Malformed("an item cut short", h("05 01 09 05 A1"), "The last item is cut short", 4),
    Malformed("an item cut in its data", h("05 01 09 05 26 FF"), "The last item is cut short", 4),
    Malformed("a long item without its head", h(GAMEPAD + "FE 03"), "The last item is cut short", 6),
    Malformed("a long item cut in its data", h(GAMEPAD + "FE 03 10 AA"), "The last item is cut short", 6),
    Malformed("an End Collection first", h("C0"), "An End Collection has no Collection", 0),
    Malformed("one End Collection too many", MOUSE + h("C0"), "An End Collection has no Collection", 50),
    Malformed("a collection never closed", h("05 01 09 05 A1 01"), "A collection is never closed", 6),
    Malformed("a Pop without Push", h("B4"), "A Pop has no Push", 0),
    Malformed("a Report Size of 0", h(GAMEPAD + "09 30 15 00 25 01 75 00 95 01 81 02 C0"), "Report Size is 0", 16),
    Malformed(
        "a Report Count of FFFFFFFF",
        h(GAMEPAD + "09 30 15 00 25 01 75 08 97 FF FF FF FF 81 02 C0"),
        "A report is longer than 8192 bytes",
        19,
    ),
    Malformed(
        "padding of FFFFFFFF bytes",
        h(GAMEPAD + "75 08 97 FF FF FF FF 81 03 C0"),
        "A report is longer than 8192 bytes",
        13,
    ),
    Malformed(
        "usages 1 to FFFFFFFF",
        h("05 09 09 05 A1 01 1B 01 00 00 00 2B FF FF FF FF 15 00 25 01 75 01 95 0C 81 02 C0"),
        "A usage range reaches over two pages",
        6,
    ),
    Malformed(
        "a usage range with one extended end",
        h(GAMEPAD + "19 01 2B 04 00 09 00 75 01 95 04 81 02 C0"),
        "A usage range reaches over two pages",
        6,
    ),
    Malformed(
        "a usage maximum below its minimum",
        h(GAMEPAD + "19 04 29 01 75 01 95 04 81 02 C0"),
        "A Usage Maximum is below its Usage Minimum",
        8,
    ),
    Malformed(
        "a usage minimum alone",
        h(GAMEPAD + "19 01 75 01 95 04 81 02 C0"),
        "A Usage Minimum or Maximum stands alone",
        6,
    ),
    Malformed("a Report ID of 0", h(GAMEPAD + "85 00 09 30 " + FIELD + "C0"), "Report ID 0 is outside 1…255", 6),
    Malformed("a Report ID of 256", h(GAMEPAD + "86 00 01 09 30 " + FIELD + "C0"), "Report ID 256 is outside 1…255", 6),
    Malformed(
        "data before the first Report ID",
        h(GAMEPAD + "09 30 " + FIELD + "85 01 09 31 81 02 C0"),
        "Data stands before the first Report ID",
        19,
    ),
    Malformed(
        "a Pop that takes the Report ID away",
        h(GAMEPAD + "A4 85 01 09 30 " + FIELD + "B4 75 08 95 01 81 02 C0"),
        "Data stands without a Report ID",
        27,
    ),
    Malformed("a usage and nothing else", h("09 30"), "There is no collection", 2),
    Malformed("a usage without a page", h("09 05 A1 01 C0"), "A usage stands before any Usage Page", 0),
    Malformed("a Usage Page of 17 bits", h("07 00 00 01 00 09 05 A1 01 C0"), "A Usage Page has more than 16 bits", 0),
    Malformed("the reserved item type", h("0C 0C 0C"), "Item 0x0C has the reserved type", 0),
    Malformed("a reserved main item", h(GAMEPAD + "71 00 C0"), "Main item tag 0x7 is reserved", 6),
    Malformed("a reserved global item", h(GAMEPAD + "C5 00 C0"), "Global item tag 0xC is reserved", 6),
    Malformed("a reserved local item", h(GAMEPAD + "69 00 C0"), "Local item tag 0x6 is reserved", 6),
    Malformed("4096 Push items", b"\xa4" * 4096, "More than 32 Push items are open", 32),
    Malformed("4096 bytes FF", b"\xff" * 4096, "Item 0xFF has the reserved type", 0),
    Malformed("4097 bytes", h(GAMEPAD) + b"\xc0" * 4091, "The report descriptor is longer than 4096 bytes", 4096),
    Malformed("40 nested collections", h(GAMEPAD) + h("A1 02") * 40, "Collections are nested deeper than 32", 68),
    Malformed("a collection type of 256", h("05 01 09 05 A2 00 01 C0"), "A collection type is above 255", 4),
    Malformed(
        "data outside any collection", h("05 01 09 30 " + FIELD + "A1 01 C0"), "Data stands outside any collection", 13
    ),
    Malformed(
        "data without Report Size",
        h(GAMEPAD + "09 30 95 01 81 02 C0"),
        "Data stands before Report Size and Report Count",
        10,
    ),
    Malformed(
        "a range upside down",
        h(GAMEPAD + "09 30 16 2C 01 25 10 75 08 95 01 81 02 C0"),
        "Logical Maximum 16 is below Logical Minimum 300",
        17,
    ),
    Malformed(
        "a negative range upside down",
        h(GAMEPAD + "09 30 15 FF 25 FB 75 08 95 01 81 02 C0"),
        "Logical Maximum -5 is below Logical Minimum -1",
        16,
    ),
    Malformed(
        "a delimiter in a delimiter", h(GAMEPAD + "A9 01 A9 01 C0"), "A delimiter does not open and close in turn", 8
    ),
    Malformed(
        "a delimiter that only closes", h(GAMEPAD + "A9 00 C0"), "A delimiter does not open and close in turn", 6
    ),
    Malformed(
        "a delimiter left open", h(GAMEPAD + "A9 01 09 30 81 02 C0"), "A delimiter is still open at a main item", 10
    ),
    Malformed("an empty delimiter", h(GAMEPAD + "A9 01 A9 00 C0"), "A delimiter holds no usage", 8),
    Malformed(
        "more fields than anybody has",
        h(GAMEPAD + "75 01 96 01 40 15 00 25 01 81 02 C0"),
        "There are more than 16384 fields",
        15,
    ),
    Malformed(
        "more usages than anybody has",
        h(
            GAMEPAD
            + "15 00 27 FF FF 00 00 75 10 95 01"
            + "1A 00 00 2A FF FF 81 00 1A 01 00 2A FF FF 81 00 1A 02 00 2A FF FF 81 00 C0"
        ),
        "There are more than 131072 usages",
        39,
    ),
    Malformed("a zero byte inside", h(GAMEPAD + "00 C0"), "Main item tag 0x0 is reserved", 6),
    Malformed("a zero byte behind the end", MOUSE + b"\0", ""),
    Malformed("many zero bytes behind the end", MOUSE + bytes(64), ""),
    Malformed("a Push that is never popped", h(GAMEPAD + "A4 09 30 " + FIELD + "C0"), ""),
    Malformed("a collection without usage or data", h("A1 01 C0"), ""),
    Malformed(
        "a vendor's whole page of usages, time and again",
        h(GAMEPAD + "06 00 FF 15 00 27 FF FF 00 00 75 10 95 01" + "1A 00 00 2A FF FF 81 00" * 99 + "C0"),
        "",
    ),
    Malformed("padding with its range upside down", h(GAMEPAD + "16 2C 01 25 10 75 08 95 01 81 03 C0"), ""),
    Malformed(
        "vendor strings and designators", h(GAMEPAD + "39 01 49 01 59 02 79 01 89 01 99 02 09 30 " + FIELD + "C0"), ""
    ),
]
