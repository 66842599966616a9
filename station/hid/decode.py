"""Reports → columns, vectorised over a block: one code for a whole capture and for the live stream."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import overload

import numpy as np
from numpy.typing import NDArray

from station.errors import InputError
from station.hid.types import Column, Field, Layout, ReportBlock, ReportKind
from station.hid.usages import usage_name
from station.words import hid as words

_GAME = frozenset((0x10004, 0x10005, 0x10008))
"""Joystick, Game Pad, Multi-axis Controller"""

_WINDOWS = (1, 2, 4, 8)
"""bytes that NumPy reads as one number"""

_MAX_BITS = 32


def column(field: Field, block: ReportBlock) -> Column:
    """The values of one field over `block`, in the order of arrival.

    Reports with another id, and reports too short to hold the field, are left out.

    Raises:
        InputError: the field is wider than 32 bits, or has no bits.
    """
    return columns((field,), block)[0]


def columns(fields: Sequence[Field], block: ReportBlock) -> tuple[Column, ...]:
    """One column for each field, as `column` makes them; the row selection and `t_ns` are shared between them."""
    rows = _Rows(block)
    return tuple(_one(field, rows) for field in fields)


def usage_column(layout: Layout, usage: int, block: ReportBlock) -> Column:
    """The column of the input control `usage` (page << 16 | id).

    A variable field gives its value. A usage of an array gives 1 where any slot selects it, else 0; its
    `field` is the first slot with `usage` filled in and logical range 0…1.

    Raises:
        InputError: the layout has no such input.
    """
    field = find_field(layout, usage)
    if field is None:
        raise InputError(words.NO_SUCH_INPUT.format(usage=usage_name(usage)))
    if not field.is_array:
        return column(field, block)
    slots = [slot for slot in _fields(layout, "input") if slot.is_array and _same_item(slot, field)]
    t_ns, raw = _Rows(block).select(field, max(_end_byte(slot) for slot in slots))
    picked = np.zeros(len(t_ns), bool)
    indices = [i + field.logical_min for i, selectable in enumerate(field.usages) if selectable == usage]
    for slot in slots:
        value = _values(slot, raw)
        for index in indices:
            picked |= value == index
    selected = replace(field, usage=usage, logical_min=0, logical_max=1, physical_min=0, physical_max=1)
    return Column(selected, t_ns, picked.astype(np.int64))


def find_field(layout: Layout, usage: int, kind: ReportKind = "input") -> Field | None:
    """The field that reports `usage`, or None.

    Data before constants, variables before arrays, fields of a game controller's collection before others,
    absolute before relative; then the lowest report id and offset.
    """
    carrying = [f for f in _fields(layout, kind) if f.usage == usage or (f.is_array and usage in f.usages)]
    return min(carrying, key=_rank, default=None)


def value_in(field: Field, report: bytes) -> int | None:
    """The number of one field in one report, such as an answer to a request; None where the report does not hold it."""
    if len(report) < _end_byte(field) or (field.report_id and report[0] != field.report_id):
        return None
    number = int.from_bytes(report, "little") >> field.bit_offset & ((1 << field.bit_width) - 1)
    return number - (1 << field.bit_width) if field.signed and number >> (field.bit_width - 1) else number


def selected_in(slot: Field, report: bytes) -> int:
    """The usage that an array slot selects in one report; 0 for none."""
    value = value_in(slot, report)
    at = -1 if value is None else value - slot.logical_min
    return slot.usages[at] if 0 <= at < len(slot.usages) else 0


@overload
def is_null(field: Field, value: int) -> bool: ...
@overload
def is_null(field: Field, value: NDArray[np.int64]) -> NDArray[np.bool_]: ...
def is_null(field: Field, value: int | NDArray[np.int64]) -> bool | NDArray[np.bool_]:
    """True where `value` says "no value now": out of the logical range of a field with a null state (HID 1.11 §5.10).

    An array slot out of range selects nothing (§6.2.2.5), which counts as null with or without the flag. Any other
    field without the flag has no null state: see `clamp`.
    """
    if not (field.has_null or field.is_array):
        return False if isinstance(value, int) else np.zeros(value.shape, bool)
    return (value < field.logical_min) | (value > field.logical_max)


@overload
def clamp(field: Field, value: int) -> int: ...
@overload
def clamp(field: Field, value: NDArray[np.int64]) -> NDArray[np.int64]: ...
def clamp(field: Field, value: int | NDArray[np.int64]) -> int | NDArray[np.int64]:
    """`value` moved to the nearest end of the logical range: what hosts do with a field that has no null state."""
    if isinstance(value, int):
        return min(max(value, field.logical_min), field.logical_max)
    return np.clip(value, field.logical_min, field.logical_max)


def _fields(layout: Layout, kind: ReportKind) -> list[Field]:
    return [field for report in layout.reports if report.kind == kind for field in report.fields]


def _rank(field: Field) -> tuple[bool, bool, bool, bool]:
    in_game = any(c.usage in _GAME for c in field.collections)
    return field.is_constant, field.is_array, not in_game, field.is_relative


def _same_item(slot: Field, field: Field) -> bool:
    return slot.report_id == field.report_id and slot.usages == field.usages and slot.logical_min == field.logical_min


def _end_byte(field: Field) -> int:
    """How many bytes a report needs to hold the field."""
    return (field.bit_offset + field.bit_width + 7) // 8


_Kind = tuple[bytes, int]
"""how its reports begin, and how long they are (0: any length)"""


class _Rows:
    """The rows of a block by kind of report and least size, each selection made once."""

    def __init__(self, block: ReportBlock) -> None:
        raw = block.raw
        self._raw = raw if raw.strides[1:] == (1,) else np.ascontiguousarray(raw)
        self._t_ns = block.t_ns
        self._size = block.size
        self._of_kind: dict[_Kind, tuple[NDArray[np.bool_] | None, int]] = {}
        self._chosen: dict[tuple[_Kind, int], tuple[NDArray[np.int64], NDArray[np.uint8]]] = {}

    def select(self, field: Field, need: int) -> tuple[NDArray[np.int64], NDArray[np.uint8]]:
        """Times and rows of the reports that can carry the field, of at least `need` bytes."""
        begins = field.begins or (bytes((field.report_id,)) if field.report_id else b"")
        if max(need, len(begins)) > self._raw.shape[1]:
            return self._t_ns[:0], self._raw[:0]
        kind = (begins, field.length)
        mask, least = self._which(*kind)
        key = (kind, 0 if least >= need else need)
        if key not in self._chosen:
            if least < need:
                enough = self._size >= need
                mask = enough if mask is None else mask & enough
            self._chosen[key] = (self._t_ns, self._raw) if mask is None else (self._t_ns[mask], self._raw[mask])
        return self._chosen[key]

    def _which(self, begins: bytes, length: int) -> tuple[NDArray[np.bool_] | None, int]:
        """Mask of the reports that begin so and are so long (None: all of them) and the size of the shortest."""
        kind = (begins, length)
        if kind not in self._of_kind:
            mask: NDArray[np.bool_] | None = None
            size = self._size
            if begins or length:
                found = size == length if length else size >= len(begins)
                for at, byte in enumerate(begins):
                    found &= self._raw[:, at] == byte
                if not found.all():
                    mask, size = found, size[found]
            self._of_kind[kind] = mask, int(size.min()) if len(size) else 0
        return self._of_kind[kind]


def _one(field: Field, rows: _Rows) -> Column:
    if not 0 < field.bit_width <= _MAX_BITS:
        raise InputError(words.FIELD_TOO_WIDE.format(bits=field.bit_width))
    t_ns, raw = rows.select(field, _end_byte(field))
    return Column(field, t_ns, _values(field, raw))


def _values(field: Field, raw: NDArray[np.uint8]) -> NDArray[np.int64]:
    """The field's number in each row of `raw`, which holds it in full."""
    first, end = field.bit_offset // 8, _end_byte(field)
    if len(raw) == 0:
        return np.zeros(0, np.int64)
    if field.bit_offset % 8 == 0 and field.bit_width in (8, 16, 32):
        return _window(raw, first, end - first, signed=field.signed).astype(np.int64)
    size = next(size for size in _WINDOWS if size >= end - first)
    if raw.shape[1] < size:
        raw = np.pad(raw, ((0, 0), (0, size - raw.shape[1])))
    start = min(first, raw.shape[1] - size)
    bits = _window(raw, start, size, signed=False)
    number = bits >> bits.dtype.type(field.bit_offset - 8 * start)
    number &= bits.dtype.type((1 << field.bit_width) - 1)
    value = number.astype(np.int64)
    if field.signed:
        sign = 1 << (field.bit_width - 1)
        value ^= sign
        value -= sign
    return value


def _window(raw: NDArray[np.uint8], start: int, size: int, *, signed: bool) -> NDArray[np.integer]:
    """Bytes `start`…`start + size` of each row as one little-endian number (§5.8), without a copy."""
    dtype = np.dtype(f"<{'i' if signed else 'u'}{size}")
    window: NDArray[np.integer] = raw[:, start : start + size].view(dtype)[:, 0]
    return window
