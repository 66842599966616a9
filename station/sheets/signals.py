"""What a control did over time, in the words of the checks.

Times are int64 ns since the source began. A value holds until the next report (many devices report only on
change); an empty signal means the control has never reported: unknown, not centred.
Axes are in % of half travel, −100…+100, right and up positive; triggers 0…100 % of travel (docs/METHOD.md §1).
`step_pct` is the resolution δ: the change of value for one code.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class StickSignal:
    """`x_code`, `y_code` are the raw codes turned so that right and up grow."""

    t_ns: I64
    x_pct: F64
    y_pct: F64
    x_code: I64
    y_code: I64
    x_step_pct: float
    y_step_pct: float


@dataclass(frozen=True, slots=True)
class ButtonSignal:
    t_ns: I64
    closed: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class TriggerSignal:
    t_ns: I64
    pct: F64
    code: I64
    step_pct: float


@dataclass(frozen=True, slots=True)
class HatSignal:
    """`direction`: 0 up, then clockwise in eighths to 7; −1 for the null state."""

    t_ns: I64
    direction: NDArray[np.int8]


@dataclass(frozen=True, slots=True)
class MotionSignal:
    """`accel`, `gyro` float[n, 3], float[n, 0] where the device has none.

    In `accel_unit` "g" and `gyro_unit` "°/s" where HID gives the unit; else the unit is "" and the values are % of half
    the range of codes. `…_step`: one code.
    """

    t_ns: I64
    accel: F64
    gyro: F64
    accel_step: tuple[float, ...]
    gyro_step: tuple[float, ...]
    accel_unit: str
    gyro_unit: str


@dataclass(frozen=True, slots=True)
class TouchSignal:
    """One contact of a touch pad: whether it touches, and where, in % of the pad's range of codes (0…100)."""

    t_ns: I64
    touched: NDArray[np.bool_]
    x_pct: F64
    y_pct: F64


Signal = StickSignal | ButtonSignal | TriggerSignal | HatSignal | MotionSignal | TouchSignal
