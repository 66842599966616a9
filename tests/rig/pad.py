"""Devices that belong to nobody, written from the rules of HID 1.11.

The pad: report 1 (input, 13 bytes with id) 12 buttons and a 4-bit hat with null state, four axes of 16 bits (X, Y, Z,
Rz), two triggers of 8 bits (Rx, Ry); report 2 (output, 3 bytes) two vendor bytes; report 3 (feature, 9 bytes) eight
vendor bytes. Ids from the block that pid.codes sets aside for tests.
"""

from __future__ import annotations

import struct

VENDOR, PRODUCT = 0x1209, 0x0001
NAME, SERIAL = "Two-stick test pad", "RIG0001"

_INPUT = """
    05 09  19 01 29 0C  15 00 25 01  75 01 95 0C  81 02
    05 01 09 39  15 00 25 07  35 00 46 3B 01  65 14  75 04 95 01  81 42  65 00 45 00
    09 30 09 31 09 32 09 35  15 00 27 FF FF 00 00  75 10 95 04  81 02
    09 33 09 34  26 FF 00  75 08 95 02  81 02
"""
DESCRIPTOR = bytes.fromhex(
    "05 01 09 05 A1 01 85 01" + _INPUT + "85 02 06 00 FF 09 01 09 02 91 02" + "85 03 09 03 95 08 B1 02 C0"
)
UNNUMBERED = bytes.fromhex("05 01 09 05 A1 01" + _INPUT + "C0")
"""the same without report ids: 12-byte reports"""
KEYBOARD = bytes.fromhex(
    "05 01 09 06 A1 01 05 07 19 E0 29 E7 15 00 25 01 75 01 95 08 81 02 75 08 95 01 81 01"
    "19 00 29 65 15 00 25 65 75 08 95 06 81 00 C0"
)
MOUSE = bytes.fromhex(
    "05 01 09 02 A1 01 09 01 A1 00 05 09 19 01 29 03 15 00 25 01 75 01 95 03 81 02 75 05 95 01 81 01"
    "05 01 09 30 09 31 15 81 25 7F 75 08 95 02 81 06 C0 C0"
)
PAD_WITH_KEYS = DESCRIPTOR + bytes.fromhex("05 01 09 06 A1 01 85 04 05 07 19 00 29 65 15 00 25 65 75 08 95 06 81 00 C0")
"""one interface with two collections: the pad, and a keyboard as report 4"""
VENDOR_ONLY = bytes.fromhex("06 00 FF 09 01 A1 01 85 01 09 02 15 00 26 FF 00 75 08 95 0C 81 02 C0")

_REPORT = struct.Struct("<BHHHHHBB")
REPORT_BYTES = _REPORT.size


def report(
    buttons: int = 0, hat: int = 8, x: int = 32768, y: int = 32768, z: int = 32768, rz: int = 32768, t: int = 0
) -> bytes:
    """Report 1."""
    return _REPORT.pack(1, (buttons & 0xFFF) | (hat & 15) << 12, x, y, z, rz, t, t)


def numbered(n: int) -> bytes:
    """Report 1 whose X and Y hold the number n."""
    return report(x=n & 0xFFFF, y=n >> 16 & 0xFFFF)
