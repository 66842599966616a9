"""Values → reports: the inverse of decode, for reports to send, simulated units and tests."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
from numpy.typing import NDArray

from station.errors import InputError
from station.hid.types import Field, ReportLayout
from station.hid.usages import usage_name
from station.words import hid as words

I64 = NDArray[np.int64]


def encode(report: ReportLayout, values: Mapping[int, int]) -> bytes:
    """One report, as hidapi returns it, with `values` by usage (page << 16 | id).

    A usage that several fields carry goes into all of them. For arrays a value other than 0 selects the usage;
    the slots fill in the order of `values`. Fields without a value rest: in their null state where they have one,
    else at the number nearest 0 in their range. Constants are 0. Usages that the report does not carry are ignored.

    Raises:
        InputError: a value does not fit into its bits, or more usages are selected than an array has slots.
    """
    return _packed(report, _numbers(report, values))


def encode_fields(report: ReportLayout, numbers: Mapping[Field, int]) -> bytes:
    """One report with `numbers` by field, for a report that carries the same usage for several purposes.

    A number may lie outside the field's logical range. The other fields rest, as in `encode`.

    Raises:
        InputError: a number does not fit into its bits.
    """
    return _packed(report, (dict(_numbers(report, {})) | dict(numbers)).items())


def encode_many(report: ReportLayout, values: Mapping[int, I64], count: int) -> NDArray[np.uint8]:
    """`count` reports at once, uint8[count, width], with `values` int64[count] by usage; each as `encode` makes it.

    Raises:
        InputError: as `encode`.
    """
    block = np.zeros((count, report.width), np.uint8)
    if report.report_id:
        block[:, 0] = report.report_id
    slots = _slot_columns(report, values, count)
    for field in report.fields:
        if field.is_constant:
            continue
        if field.is_array:
            column = slots[field.bit_offset]
        else:
            column = np.asarray(values.get(field.usage, np.full(count, rest_value(field))), np.int64)
        for extreme in (column.min(), column.max()) if count else ():
            _fitting(field, int(extreme))
        shift = field.bit_offset % 8
        bits = (column & ((1 << field.bit_width) - 1)).astype(np.uint64) << np.uint64(shift)
        for i in range((shift + field.bit_width + 7) // 8):
            block[:, field.bit_offset // 8 + i] |= (bits >> np.uint64(8 * i)).astype(np.uint8)
    return block


def rest_value(field: Field) -> int:
    """What a field says when nothing is asked of it; see `encode`."""
    if field.is_array:
        return _no_index(field)
    outside = _outside(field) if field.has_null else None
    if outside is not None:
        return outside
    low, high = _limits(field)
    return min(max(min(max(0, field.logical_min), field.logical_max), low), high)


def _no_index(slot: Field) -> int:
    """The index that selects nothing: one whose usage id is 0 (none), or out of range; 0 where there is neither."""
    low, high = _limits(slot)
    indices = (i + slot.logical_min for i, usage in enumerate(slot.usages) if usage & 0xFFFF == 0)
    none = next((index for index in indices if low <= index <= high), _outside(slot))
    return none or 0


def _outside(field: Field) -> int | None:
    """A number that the bits hold out of the logical range, 0 if they can (HID 1.11 §5.10); None if none is."""
    low, high = _limits(field)
    if field.logical_min > 0 or field.logical_max < 0:
        return 0
    if field.logical_max < high:
        return field.logical_max + 1
    return field.logical_min - 1 if field.logical_min > low else None


def _limits(field: Field) -> tuple[int, int]:
    """The least and the largest number that the bits hold."""
    if field.signed:
        return -(1 << (field.bit_width - 1)), (1 << (field.bit_width - 1)) - 1
    return 0, (1 << field.bit_width) - 1


def _fitting(field: Field, value: int) -> int:
    low, high = _limits(field)
    if not low <= value <= high:
        name, bits = usage_name(field.usage), field.bit_width
        raise InputError(words.DOES_NOT_FIT.format(usage=name, value=value, bits=bits, low=low, high=high))
    return value


def _packed(report: ReportLayout, numbers: Iterable[tuple[Field, int]]) -> bytes:
    number = report.report_id
    for field, value in numbers:
        number |= (_fitting(field, value) & ((1 << field.bit_width) - 1)) << field.bit_offset
    return number.to_bytes(report.width, "little")


def _numbers(report: ReportLayout, values: Mapping[int, int]) -> list[tuple[Field, int]]:
    """Each data field of the report with the number that goes into it."""
    numbers = [
        (field, values.get(field.usage, rest_value(field)))
        for field in report.fields
        if not field.is_constant and not field.is_array
    ]
    for slots in _arrays(report):
        indices = [_index(slots[0], usage) for usage in values if values[usage] and usage in slots[0].usages]
        if len(indices) > len(slots):
            raise _too_many(len(slots))
        indices += [_no_index(slots[0])] * (len(slots) - len(indices))
        numbers.extend(zip(slots, indices, strict=True))
    return numbers


def _slot_columns(report: ReportLayout, values: Mapping[int, I64], count: int) -> dict[int, I64]:
    """The indices in the slots of all arrays, int64[count] by bit offset."""
    columns: dict[int, I64] = {}
    for slots in _arrays(report):
        index = np.full((count, len(slots)), _no_index(slots[0]), np.int64)
        taken = np.zeros(count, np.int64)
        for usage in (u for u in values if u in slots[0].usages):
            rows = np.flatnonzero(values[usage])
            if (taken[rows] >= len(slots)).any():
                raise _too_many(len(slots))
            index[rows, taken[rows]] = _index(slots[0], usage)
            taken[rows] += 1
        columns.update({slot.bit_offset: index[:, i] for i, slot in enumerate(slots)})
    return columns


def _arrays(report: ReportLayout) -> list[list[Field]]:
    """The slots of each array of the report, in order: those that differ in nothing but their place."""
    arrays: dict[tuple[object, ...], list[Field]] = {}
    for field in report.fields:
        if field.is_array and not field.is_constant:
            same = (field.usages, field.bit_width, field.logical_min, field.logical_max)
            arrays.setdefault(same, []).append(field)
    return list(arrays.values())


def _index(slot: Field, usage: int) -> int:
    return slot.usages.index(usage) + slot.logical_min


def _too_many(slots: int) -> InputError:
    return InputError(words.NO_ROOM.format(most=slots))
