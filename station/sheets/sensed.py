"""Motion and touch as signals, in physical units as far as HID describes them (docs/METHOD.md §1). Pure.

On the Sensors page a field without a unit is in g or degrees a second (as hosts take it: Linux
`drivers/iio/common/hid-sensors/hid-sensor-attributes.c`); a unit is read by HID 1.11 §6.2.2.7. Anything else has no
unit here, and is never guessed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from station.hid.types import Column, Field
from station.hid.usages import physical_value
from station.sheets.signals import F64, I64, MotionSignal, TouchSignal

STANDARD_GRAVITY = 9.80665
"""m/s² (3rd CGPM, 1901)"""
_SENSORS_PAGE = 0x20
_ACCELERATIONS = {0xE011: 0.01 / STANDARD_GRAVITY, 0xE013: 0.0254 / STANDARD_GRAVITY}
"""HID unit → g: cm/s² and in/s²"""
_ANGULAR_VELOCITIES = {0xF012: 180.0 / math.pi, 0xF014: 1.0}
"""HID unit → degrees a second: rad/s and °/s"""


def in_g(field: Field) -> float | None:
    """What one physical unit of an acceleration is in g; None where HID does not say."""
    return _factor(field, _ACCELERATIONS)


def in_degrees_a_second(field: Field) -> float | None:
    """What one physical unit of an angular velocity is in °/s; None where HID does not say."""
    return _factor(field, _ANGULAR_VELOCITIES)


def _factor(field: Field, units: dict[int, float]) -> float | None:
    if field.unit:
        return units.get(field.unit)
    return 1.0 if field.usage >> 16 == _SENSORS_PAGE else None


def motion_signal(*columns: Column, accels: int) -> MotionSignal:
    """From the columns of `accels` accelerometer axes (3 or 0) and then of the gyro (3 or 0).

    Axes that come in different reports are held, from the first moment at which all are known.
    """
    t_ns, codes = _together(columns)
    accel, accel_step, accel_unit = _physical(columns[:accels], codes[:, :accels], "g")
    gyro, gyro_step, gyro_unit = _physical(columns[accels:], codes[:, accels:], "°/s")
    return MotionSignal(t_ns, accel, gyro, accel_step, gyro_step, accel_unit, gyro_unit)


def _physical(columns: tuple[Column, ...], codes: I64, unit: str) -> tuple[F64, tuple[float, ...], str]:
    """Values, steps and unit of three axes; relative ones unless every axis has its unit."""
    fields = [c.field for c in columns]
    factors = [in_g(f) if unit == "g" else in_degrees_a_second(f) for f in fields]
    if not fields or any(factor is None for factor in factors):
        half = [(f.logical_max - f.logical_min) / 2 for f in fields]
        values = [100.0 * (codes[:, k] - (f.logical_max + f.logical_min) / 2) / half[k] for k, f in enumerate(fields)]
        return _stacked(values, codes), tuple(100.0 / h for h in half), ""
    scale = [
        (physical_value(f, f.logical_min + 1) - physical_value(f, f.logical_min)) * (factor or 0.0)
        for f, factor in zip(fields, factors, strict=True)
    ]
    zero = [physical_value(f, 0) * (factor or 0.0) for f, factor in zip(fields, factors, strict=True)]
    values = [zero[k] + scale[k] * codes[:, k] for k in range(len(fields))]
    return _stacked(values, codes), tuple(map(abs, scale)), unit


def _stacked(values: Sequence[NDArray[np.floating[Any]]], codes: I64) -> F64:
    return np.stack(values, axis=1).astype(np.float64) if values else np.zeros((len(codes), 0))


def touch_signal(tip: Column, x: Column, y: Column) -> TouchSignal:
    """One contact from its tip switch and place."""
    t_ns, codes = _together((tip, x, y))
    share = [
        100.0 * np.clip((codes[:, k] - c.field.logical_min) / (c.field.logical_max - c.field.logical_min), 0.0, 1.0)
        for k, c in ((1, x), (2, y))
    ]
    return TouchSignal(t_ns, codes[:, 0] > tip.field.logical_min, share[0], share[1])


def _together(columns: tuple[Column, ...]) -> tuple[I64, I64]:
    """All moments from the first at which every column is known, and the codes held then, int64[n, k]."""
    if any(not len(c.t_ns) for c in columns):
        return np.zeros(0, np.int64), np.zeros((0, len(columns)), np.int64)
    first = columns[0].t_ns
    if all(c.t_ns is first or np.array_equal(c.t_ns, first) for c in columns):
        return first, np.stack([c.value for c in columns], axis=1)
    t_ns = np.unique(np.concatenate([c.t_ns for c in columns]))
    t_ns = t_ns[t_ns >= max(int(c.t_ns[0]) for c in columns)]
    held = [c.value[np.searchsorted(c.t_ns, t_ns, "right") - 1] for c in columns]
    return t_ns, np.stack(held, axis=1)
