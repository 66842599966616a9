"""From bits to what a sheet can say, with the descriptor as a second witness.

Where the descriptor has a field that reads the same from the same reports, its usage is kept: it says what the maker
meant, and its logical range is known where a hand cannot reach it. Where it does not, the bits are given.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from station.hid.decode import find_field
from station.hid.types import Field, Layout
from station.sheets.learn.fields import Found
from station.sheets.learn.ranges import Range
from station.sheets.learn.streams import Stream, below, signed_number
from station.sheets.learn.walked import Walked
from station.sheets.model import ExplicitField, Place
from station.sheets.signals import I64

SEEN = 0.75
"""share of a descriptor's logical range that must have been seen for it to be believed"""


@dataclass(frozen=True, slots=True)
class Placed:
    """`place` is None where a sheet cannot say it."""

    place: Place | None
    sure: bool


def axis_place(walked: Walked, found: Found, seen: Range, *, shared: bool = False) -> Placed:
    """A place for a field with the range seen; `shared`: that is only half of it, so the descriptor's will not do."""
    field = None if shared else described(walked, found)
    if field is not None and walked.layout is not None:
        return Placed(_described_place(walked.layout, field), True)
    explicit = explicit_field(walked.streams[found.stream], found, seen)
    return Placed(Place(field=explicit) if explicit else None, seen.sure)


def bit_place(walked: Walked, stream: int, bit: int, rest: int) -> Place:
    """A place for a button's bit."""
    rows = walked.streams[stream]
    up: Literal["low", "high"] = "high" if rest else "low"
    for field in _input_fields(walked.layout, rows.report):
        if field.bit_offset == bit and field.bit_width == 1 and field.usage and walked.layout is not None:
            return replace(_described_place(walked.layout, field), up=up)
    return Place(field=rows.field(bit, 1), up=up)


def code_place(walked: Walked, stream: int, code: ExplicitField) -> Place:
    """A place for a hat's code."""
    rows = walked.streams[stream]
    own = _read(rows, code.bit, code.bits, code.signed)
    for field in _input_fields(walked.layout, rows.report):
        same_range = (field.logical_min, field.logical_max) == (code.min, code.max)
        if same_range and _fits(rows, field) and walked.layout is not None and field.usage:
            theirs = _read(rows, field.bit_offset, field.bit_width, field.signed)
            inside = (own >= code.min) & (own <= code.max)
            if (theirs[inside] == own[inside]).all() and ((theirs < code.min) | (theirs > code.max))[~inside].all():
                return _described_place(walked.layout, field)
    return Place(field=code)


def described(walked: Walked, found: Found) -> Field | None:
    """The descriptor's field that reads the same as `found` and whose range fits what was seen."""
    stream = walked.streams[found.stream]
    if found.big:
        return None
    own = found.value(stream)
    for field in _input_fields(walked.layout, stream.report):
        top = field.bit_offset + field.bit_width - 1
        fine_enough = field.bit_width >= max(4, len(found.bits) - 2)
        if not (field.bit_offset <= found.bits[0] <= top) or not fine_enough or not _fits(stream, field):
            continue
        more = set(range(field.bit_offset, top + 1)).difference(found.bits, walked.sign_extension(found))
        if more & walked.taken[found.stream]:
            continue  # a part of it is another control's
        theirs = _read(stream, field.bit_offset, field.bit_width, field.signed)
        if _same_course(own, theirs) and _range_fits(field, theirs):
            return field
    return None


def _same_course(one: I64, other: I64) -> bool:
    """Whether two readings are the same but for scale, offset and the last bits."""
    a, b = one.astype(np.float64), other.astype(np.float64)
    spread = float(a.std())
    if not spread or not float(b.std()):
        return False
    slope = float(np.cov(a, b)[0, 1]) / spread**2
    rest = b - b.mean() - slope * (a - a.mean())
    return slope > 0 and float(np.abs(rest).max()) <= 0.01 * float(np.ptp(b)) + 1.5


def _range_fits(field: Field, value: I64) -> bool:
    low, high = (int(v) for v in np.percentile(value, (0.05, 99.95)))
    inside = field.logical_min <= low and high <= field.logical_max
    return inside and high - low >= SEEN * (field.logical_max - field.logical_min)


def _described_place(layout: Layout, field: Field) -> Place:
    """By its usage where that names this very field, else by its bits."""
    if field.usage and find_field(layout, field.usage) == field:
        return Place(usage=field.usage)
    return Place(
        field=ExplicitField(
            field.report_id, field.bit_offset, field.bit_width, field.signed, field.logical_min, field.logical_max
        )
    )


def _input_fields(layout: Layout | None, report: int) -> list[Field]:
    if layout is None:
        return []
    return [f for f in layout.input_fields() if not f.is_array and (f.report_id == report or not layout.numbered)]


def _fits(stream: Stream, field: Field) -> bool:
    return (
        stream.inside(field.bit_offset)
        and stream.inside(field.bit_offset + field.bit_width - 1)
        and field.bit_width <= 32
    )


def _read(stream: Stream, bit: int, bits: int, signed: bool) -> I64:
    value = stream.number(range(bit + bits - 1, bit - 1, -1))
    return signed_number(value, bits) if signed else value


# --- fields that the sheet gives itself ---------------------------------------------------------------------


def explicit_field(stream: Stream, found: Found, seen: Range) -> ExplicitField | None:
    """The field as a sheet says it; None where its order of bits cannot be said."""
    if not found.big or all(b // 8 == found.bits[0] // 8 for b in found.bits):
        return stream.field(found.bits[-1], len(found.bits), found.signed, seen.low, seen.high)
    first = found.bits[0] // 8
    size = 16 if found.bits[-1] // 8 == first + 1 else 32 if found.bits[-1] // 8 <= first + 3 else 0
    if not size or 8 * first + size > stream.width:
        return None
    spare_below, bit = 0, below(found.bits[-1], True)
    while bit // 8 < first + size // 8:
        if not _is_still(stream, bit, 0):
            return None
        spare_below, bit = spare_below + 1, below(bit, True)
    top = stream.bit(found.bits[0])
    for bit in range(found.bits[0] + 1, 8 * first + 8):
        follows = bool((stream.bit(bit) == top).all()) if found.signed else _is_still(stream, bit, 0)
        if not follows:
            return None
    low, high = seen.low << spare_below, seen.high << spare_below
    return stream.field(8 * first, size, found.signed, low, high, big=True)


def _is_still(stream: Stream, bit: int, value: int) -> bool:
    return bool((stream.bit(bit) == value).all())
