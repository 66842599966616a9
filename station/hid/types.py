"""What a report descriptor says, as immutable values. No I/O, no decoding."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

ReportKind = Literal["input", "output", "feature"]


@dataclass(frozen=True, slots=True)
class Collection:
    """One HID collection: `kind` is the collection type (0 physical, 1 application, 2 logical …)."""

    kind: int
    usage: int


@dataclass(frozen=True, slots=True)
class Field:
    """One data field of a report.

    `usage` is page << 16 | id (0 where the descriptor gives none). `bit_offset` counts from the first
    bit of the report *as hidapi returns it*: where report ids are used, the id byte is included, so the
    first field stands at bit 8. A variable item of count n is n Fields. An array item is one Field for
    each slot, with `is_array` and the selectable `usages`; its value is the index + logical_min.
    Physical extents are those of HID 1.11 §6.2.2.7 (both 0 in the descriptor: equal to the logical ones).
    `begins`: only reports that begin with these bytes carry it, `length`: only those of just so many bytes, 0 for any
    (no descriptor says so; a sheet can).
    """

    kind: ReportKind
    report_id: int
    usage: int
    bit_offset: int
    bit_width: int
    signed: bool
    logical_min: int
    logical_max: int
    physical_min: int = 0
    physical_max: int = 0
    unit: int = 0
    unit_exponent: int = 0
    is_array: bool = False
    is_constant: bool = False
    is_relative: bool = False
    has_null: bool = False
    usages: tuple[int, ...] = ()
    collections: tuple[Collection, ...] = ()
    begins: bytes = b""
    length: int = 0


@dataclass(frozen=True, slots=True)
class ReportLayout:
    """One report: `width` is its size in bytes as hidapi returns it (id byte included where ids are used)."""

    kind: ReportKind
    report_id: int
    width: int
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class Layout:
    """Everything one report descriptor describes."""

    reports: tuple[ReportLayout, ...]
    applications: tuple[int, ...]
    """usages of the top-level application collections"""
    numbered: bool
    """True where report ids are used"""

    def input_fields(self) -> tuple[Field, ...]:
        """All non-constant input fields, in order of report id and offset."""
        return tuple(f for r in self.reports if r.kind == "input" for f in r.fields if not f.is_constant)


@dataclass(frozen=True, slots=True)
class ReportBlock:
    """The unit of transport: n reports that arrived in order.

    `t_ns` int64[n], ns since the source began; `size` uint16[n]; `raw` uint8[n, width] zero-padded, as
    hidapi returns them; `seq0` is the number of the first report; `lost` counts the reports known to be
    lost up to the end of this block since the source began, before anybody could read them.
    """

    seq0: int
    t_ns: NDArray[np.int64]
    size: NDArray[np.uint16]
    raw: NDArray[np.uint8]
    lost: int = 0

    def __len__(self) -> int:
        return len(self.t_ns)


@dataclass(frozen=True, slots=True)
class Column:
    """One field over time: `t_ns` int64[n] of the reports that carry it, `value` int64[n] logical values."""

    field: Field
    t_ns: NDArray[np.int64]
    value: NDArray[np.int64]
