"""Columns of logical values → signals in the words of the checks (docs/METHOD.md §1). Pure.

An axis is (code − mid) / half-range in % of half travel; a trigger (code − min) / range in % of travel. Up is +y.
A value outside its logical range says "no value" where the field has a null state (HID 1.11 §5.10) and is moved to
the nearest limit where it has none, as hosts do.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from station.hid.decode import clamp, is_null
from station.hid.types import Column, Field
from station.sheets.signals import F64, I64, ButtonSignal, HatSignal, Signal, StickSignal, TriggerSignal


def stick_signal(x: Column, y: Column, y_turned: bool, x_turned: bool = False) -> StickSignal:
    """A stick from its two axes; `y_turned`: the low end of y is up; `x_turned`: the low end of x is right.

    Where the axes come in different reports, the signal has the moments at which either came, from the first at
    which both are known, with the other axis held.
    """
    tx, x_pct, x_code, x_step = _axis(x, x_turned)
    ty, y_pct, y_code, y_step = _axis(y, y_turned)
    if tx is ty or (len(tx) == len(ty) and bool((tx == ty).all())):
        return StickSignal(tx, x_pct, y_pct, x_code, y_code, x_step, y_step)
    t_ns, ix, iy = _together(tx, ty)
    return StickSignal(t_ns, x_pct[ix], y_pct[iy], x_code[ix], y_code[iy], x_step, y_step)


def trigger_signal(column: Column, turned: bool) -> TriggerSignal:
    """A trigger, or anything else with one end of rest; `turned`: it rests at the high end of its range."""
    t_ns, code = _known(column, turned)
    step_pct = 100.0 / (column.field.logical_max - column.field.logical_min)
    return TriggerSignal(t_ns, np.multiply(code - column.field.logical_min, step_pct, dtype=np.float64), code, step_pct)


def button_signal(column: Column, turned: bool = False) -> ButtonSignal:
    """A button of several bits (pressure): closed above the middle of its range; `turned`: below it."""
    t_ns, code = _known(column, turned)
    return ButtonSignal(t_ns, 2 * code > column.field.logical_min + column.field.logical_max)


def byte_swapped(column: Column) -> Column:
    """A column of 2 or 4 whole bytes, read as HID fields are (§5.8), as the big-endian numbers that it holds."""
    size = column.field.bit_width // 8
    code = column.value.astype(f"<u{size}").byteswap()
    return replace(column, value=code.view(f"<i{size}" if column.field.signed else f"<u{size}").astype(np.int64))


def hat_signal(column: Column, table: NDArray[np.int8]) -> HatSignal:
    """A hat by its `hat_directions`; any code outside the table is the null state."""
    code = column.value - column.field.logical_min
    inside = (code >= 0) & (code < len(table))
    return HatSignal(column.t_ns, np.where(inside, table[np.where(inside, code, 0)], np.int8(-1)))


def hat_directions(field: Field) -> NDArray[np.int8]:
    """The direction (eighths, clockwise from up) of each code from the logical minimum to the maximum.

    The codes share the circle evenly: 8 are the eighths, 4 the quarters, which is what physical extents of 0…315°
    and 0…270° say too. A range of 9 to 16 codes has the eighths first and null codes after (common practice, no
    source).
    """
    count = field.logical_max - field.logical_min + 1
    if 8 < count <= 16:
        return np.array([*range(8), *[-1] * (count - 8)], np.int8)
    return (np.round(np.arange(min(count, 1 << 16)) * 8 / count) % 8).astype(np.int8)


def join_signals(pieces: Iterable[Mapping[str, Signal]]) -> dict[str, Signal]:
    """The signals of consecutive blocks as one: control id → signal over all of them."""
    parts: dict[str, list[Signal]] = {}
    for piece in pieces:
        for control, signal in piece.items():
            parts.setdefault(control, []).append(signal)
    return {control: _joined(signals) for control, signals in parts.items()}


def _joined(signals: list[Signal]) -> Signal:
    first = signals[0]
    if len(signals) == 1:
        return first
    arrays: dict[str, Any] = {
        name: np.concatenate([getattr(signal, name) for signal in signals])
        for name in type(first).__slots__
        if isinstance(getattr(first, name), np.ndarray)
    }
    return replace(first, **arrays)


def _known(column: Column, turned: bool) -> tuple[I64, I64]:
    """Times and codes, `turned` end for end where the range runs the other way.

    A null value leaves the control as it was (§5.10), so its report is dropped.
    """
    field, t_ns, code = column.field, column.t_ns, column.value
    if field.has_null:
        known = ~is_null(field, code)
        t_ns, code = t_ns[known], code[known]
    else:
        code = clamp(field, code)
    return t_ns, field.logical_min + field.logical_max - code if turned else code


def _axis(column: Column, turned: bool) -> tuple[I64, F64, I64, float]:
    """Times, % of half travel, codes that grow to the right and up, and the resolution in %."""
    low, high = column.field.logical_min, column.field.logical_max
    t_ns, code = _known(column, turned)
    step_pct = 200.0 / (high - low)
    return t_ns, np.multiply(code - (low + high) / 2, step_pct, dtype=np.float64), code, step_pct


def _together(tx: I64, ty: I64) -> tuple[I64, I64, I64]:
    """All moments from the first at which both axes are known, and the index of the value each held then."""
    if not (len(tx) and len(ty)):
        return tx[:0], tx[:0], ty[:0]
    both = np.union1d(tx, ty)
    t_ns = both[both >= max(tx[0], ty[0])]
    return t_ns, np.searchsorted(tx, t_ns, "right") - 1, np.searchsorted(ty, t_ns, "right") - 1
