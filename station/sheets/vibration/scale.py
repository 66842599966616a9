"""Numbers for the fields of a report: shares of a range, times, and reports as sources send them."""

from __future__ import annotations

from collections.abc import Mapping

from station.hid.pack import encode_fields
from station.hid.types import Field, Layout, ReportLayout
from station.hid.usages import resolution
from station.sheets.vibration.types import Send

STRENGTH = 0.75
"""share of the full strength: well felt, and not so much that a stick with a motor is torn from the hand"""
LASTS_S = 1.0
"""an effect ends by itself after this long, should nobody be left to stop it; longer than a turn"""
_SECONDS = 0x1000
"""time to the power of one, in any system of units (HID 1.11 §6.2.2.7); the lowest digit is the system"""
_MS_PER_S = 1000.0


def share(field: Field, part: float) -> int:
    """The code at `part` (0…1) of the field's logical range."""
    return round(field.logical_min + part * (field.logical_max - field.logical_min))


def of_seconds(field: Field, seconds: float) -> int:
    """The code for a time, by the field's own unit; milliseconds where it has none. Kept within the range."""
    counts = resolution(field) if field.unit & ~0xF == _SECONDS else None
    code = round(seconds * (counts or _MS_PER_S))
    return min(max(code, field.logical_min), field.logical_max)


def selecting(field: Field, usage: int) -> int:
    """The number that makes an array select `usage`."""
    return field.usages.index(usage) + field.logical_min


def sending(layout: Layout, report: ReportLayout, numbers: Mapping[Field, int]) -> Send:
    """The report with `numbers` by field, everything else at rest."""
    data = encode_fields(report, numbers)
    return Send(data if layout.numbered else b"\0" + data, report.kind == "feature")
