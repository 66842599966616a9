"""A sheet bound to a device's layout: blocks of reports → what each control did (docs/METHOD.md §1).

The same code serves a whole capture and the live stream, so everything that does not depend on the reports is
worked out once, in `bind`. Buttons of one byte are read together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from station.errors import SheetError
from station.hid.decode import columns, find_field
from station.hid.types import Column, Field, Layout, ReportBlock
from station.hid.usages import usage_name
from station.sheets.model import ACCEL, Control, ExplicitField, Place, Sheet
from station.sheets.normalise import (
    button_signal,
    byte_swapped,
    hat_directions,
    hat_signal,
    join_signals,
    stick_signal,
    trigger_signal,
)
from station.sheets.sensed import motion_signal, touch_signal
from station.sheets.signals import ButtonSignal, Signal
from station.words import grammar
from station.words import sheets as words

__all__ = ["Binding", "bind", "join_signals"]

MOST_LISTED = 12
_Make = Callable[..., Signal]


@dataclass(frozen=True, slots=True)
class _Reader:
    """A control that is read from its own fields: `make` gets one column for each, `swapped` says which to turn."""

    control: str
    fields: tuple[Field, ...]
    make: _Make
    swapped: tuple[bool, ...] = (False,)

    def signal(self, read: Sequence[Column]) -> Signal:
        """The control's signal from the columns of its fields."""
        if any(self.swapped):
            read = [byte_swapped(c) if swap else c for c, swap in zip(read, self.swapped, strict=True)]
        return self.make(*read)


@dataclass(frozen=True, slots=True)
class _ButtonByte:
    """Buttons that share a byte: bit `shift[i]` of `field` is `controls[i]`."""

    field: Field
    controls: tuple[str, ...]
    shift: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class _Choices:
    """Buttons that are choices of one array: `codes[i]` are the values of a slot that select `controls[i]`."""

    slots: tuple[Field, ...]
    controls: tuple[str, ...]
    codes: tuple[tuple[int, ...], ...]


class Binding:
    """What `bind` makes. Immutable; safe to use from several threads."""

    __slots__ = ("_aliases", "_bytes", "_choices", "_fields", "_readers", "layout", "sheet")

    def __init__(self, sheet: Sheet, layout: Layout) -> None:
        self.sheet = sheet
        self.layout = layout
        readers, bits, chosen = _sort_out(sheet, layout)
        self._readers = tuple(readers)
        self._bytes = _by_byte(bits)
        self._choices = _by_array(chosen, layout)
        self._aliases = tuple((c.id, c.seen_as) for c in sheet.controls if c.seen_as and not (c.at or c.x or c.axes))
        self._fields = tuple(b.field for b in self._bytes) + tuple(f for r in self._readers for f in r.fields)

    def signals(self, block: ReportBlock) -> dict[str, Signal]:
        """Control id → signal over `block`; controls that no report of the block carries are absent."""
        if not len(block):
            return {}
        read = columns(self._fields, block)
        found: dict[str, Signal] = {}
        for group, column in zip(self._bytes, read, strict=False):
            if len(column.t_ns):
                closed = (column.value >> group.shift & 1).astype(bool)
                found.update((c, ButtonSignal(column.t_ns, closed[i])) for i, c in enumerate(group.controls))
        at = len(self._bytes)
        for reader in self._readers:
            mine = read[at : at + len(reader.fields)]
            at += len(reader.fields)
            signal = reader.signal(mine)
            if len(signal.t_ns):
                found[reader.control] = signal
        for choices in self._choices:
            found.update(_chosen(choices, block))
        found.update((alias, found[source]) for alias, source in self._aliases if source in found)
        return found


def bind(sheet: Sheet, layout: Layout) -> Binding:
    """Find every place of the sheet in the layout.

    Raises:
        SheetError: the device has no input with a usage that the sheet names, or one of another kind.
    """
    return Binding(sheet, layout)


def _sort_out(
    sheet: Sheet, layout: Layout
) -> tuple[list[_Reader], list[tuple[str, Field]], list[tuple[str, Field, int]]]:
    """Readers of their own; controls that are single bits; controls that are choices of an array, with their usage."""
    readers: list[_Reader] = []
    bits: list[tuple[str, Field]] = []
    chosen: list[tuple[str, Field, int]] = []
    for c in sheet.controls:
        if c.axes:
            fields = tuple(_field(c, key, place, layout) for key, place in c.axes)
            swapped = tuple(_is_swapped(place) for _, place in c.axes)
            accels = sum(key in ACCEL for key, _ in c.axes)
            readers.append(_Reader(c.id, fields, partial(motion_signal, accels=accels), swapped))
        elif c.kind == "touch":
            places = [(key, p) for key, p in (("at", c.at), ("x", c.x), ("y", c.y)) if p is not None]
            fields = tuple(_field(c, key, place, layout) for key, place in places)
            readers.append(_Reader(c.id, fields, touch_signal, tuple(_is_swapped(p) for _, p in places)))
        elif c.x is not None and c.y is not None:
            x, y = _field(c, "x", c.x, layout), _field(c, "y", c.y, layout)
            make = partial(stick_signal, y_turned=c.y.up == "low", x_turned=c.x.right == "low")
            readers.append(_Reader(c.id, (x, y), make, (_is_swapped(c.x), _is_swapped(c.y))))
        elif c.at is not None:
            field = _field(c, "at", c.at, layout)
            if field.is_array and c.at.usage is not None:
                chosen.append((c.id, field, c.at.usage))
            elif c.kind == "button" and field.bit_width == 1 and c.at.up == "low":
                bits.append((c.id, field))
            else:
                readers.append(_Reader(c.id, (field,), _maker(c, c.at, field), (_is_swapped(c.at),)))
    return readers, bits, chosen


def _maker(control: Control, place: Place, field: Field) -> _Make:
    if control.kind == "button":
        return partial(button_signal, turned=place.up == "high")
    if control.kind == "hat":
        return partial(hat_signal, table=hat_directions(field))
    return partial(trigger_signal, turned=place.up == "high")


def _field(control: Control, key: str, place: Place, layout: Layout) -> Field:
    """The field of a place; a SheetError that says what the device has instead."""
    if place.field is not None:
        return _explicit(place.field)
    usage = place.usage or 0
    place_name = words.CONTROL_KEY.format(control=control.id, key=key)
    field = find_field(layout, usage)
    if field is None:
        raise SheetError(_no_such_input(place_name, usage, layout))
    if field.is_array and control.kind != "button":
        raise SheetError(words.CHOICE_OF_LIST.format(place=place_name, usage=usage_name(usage), kind=control.kind))
    if field.logical_min >= field.logical_max and not (control.kind == "button" and field.bit_width == 1):
        low, high = field.logical_min, field.logical_max
        raise SheetError(words.NO_RANGE.format(place=place_name, usage=usage_name(usage), low=low, high=high))
    return field


def _no_such_input(place: str, usage: int, layout: Layout) -> str:
    """What the device has instead of a usage; of many inputs the first."""
    usages = sorted({u for f in layout.input_fields() for u in (f.usages if f.is_array else (f.usage,)) if u})
    name, page, number = usage_name(usage), usage >> 16, usage & 0xFFFF
    if not usages:
        return words.NO_INPUTS_AT_ALL.format(place=place, usage=name, page=page, number=number)
    inputs = grammar.COMMA.join(usage_name(u) for u in usages[:MOST_LISTED])
    if (more := len(usages) - MOST_LISTED) > 0:
        return words.NO_SUCH_INPUT_AMONG.format(
            place=place, usage=name, page=page, number=number, inputs=inputs, more=more
        )
    return words.NO_SUCH_INPUT.format(place=place, usage=name, page=page, number=number, inputs=inputs)


def _explicit(field: ExplicitField) -> Field:
    low, high = field.min, field.max
    return Field(
        "input",
        field.report,
        0,
        field.bit,
        field.bits,
        field.signed,
        low,
        high,
        begins=field.begins,
        length=field.length,
    )


def _is_swapped(place: Place) -> bool:
    return place.field is not None and place.field.big_endian


def _by_byte(bits: Iterable[tuple[str, Field]]) -> tuple[_ButtonByte, ...]:
    """Single-bit buttons by the byte they stand in: that byte is there, or not, for all of them."""
    groups: dict[tuple[int, bytes, int, int], list[tuple[str, Field]]] = {}
    for control, field in bits:
        kind = (field.report_id, field.begins, field.length)
        groups.setdefault((*kind, field.bit_offset // 8), []).append((control, field))
    return tuple(
        _ButtonByte(
            Field("input", report, 0, 8 * byte, 8, False, 0, 255, begins=begins, length=length),
            tuple(control for control, _ in group),
            np.array([[field.bit_offset % 8] for _, field in group], np.int64),
        )
        for (report, begins, length, byte), group in groups.items()
    )


def _by_array(chosen: Iterable[tuple[str, Field, int]], layout: Layout) -> tuple[_Choices, ...]:
    """Choices of the same array together: its slots are read once for all of them."""
    groups: dict[tuple[int, tuple[int, ...], int], list[tuple[str, int]]] = {}
    for control, slot, usage in chosen:
        groups.setdefault(_array_of(slot), []).append((control, usage))
    made = []
    for array, group in groups.items():
        _, usages, low = array
        slots = tuple(f for f in layout.input_fields() if f.is_array and _array_of(f) == array)
        codes = tuple(tuple(low + i for i, each in enumerate(usages) if each == usage) for _, usage in group)
        made.append(_Choices(slots, tuple(control for control, _ in group), codes))
    return tuple(made)


def _array_of(slot: Field) -> tuple[int, tuple[int, ...], int]:
    """What the slots of one array have in common: report, choices, first code."""
    return slot.report_id, slot.usages, slot.logical_min


def _chosen(choices: _Choices, block: ReportBlock) -> dict[str, ButtonSignal]:
    """A button of an array is closed while any slot selects it; reports too short for all slots are left out."""
    need = max(f.bit_offset + f.bit_width + 7 for f in choices.slots) // 8
    if int(block.size.min()) < need:
        whole = block.size >= need
        block = replace(block, t_ns=block.t_ns[whole], size=block.size[whole], raw=block.raw[whole])
    slots = columns(choices.slots, block)
    if not len(slots[0].t_ns):
        return {}
    values = np.stack([slot.value for slot in slots])
    return {
        control: ButtonSignal(slots[0].t_ns, np.any(np.isin(values, codes), axis=0))
        for control, codes in zip(choices.controls, choices.codes, strict=True)
    }
