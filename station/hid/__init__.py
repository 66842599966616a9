"""What a report means: descriptor → layout; layout + block of reports → columns. No I/O."""

from __future__ import annotations

from station.hid.decode import (
    clamp,
    column,
    columns,
    find_field,
    is_null,
    selected_in,
    usage_column,
    value_in,
)
from station.hid.descriptor import parse_descriptor
from station.hid.pack import encode, encode_fields, encode_many
from station.hid.types import Collection, Column, Field, Layout, ReportBlock, ReportKind, ReportLayout
from station.hid.usages import physical_value, resolution, unit_name, usage_name, usage_slug

__all__ = [
    "Collection",
    "Column",
    "Field",
    "Layout",
    "ReportBlock",
    "ReportKind",
    "ReportLayout",
    "clamp",
    "column",
    "columns",
    "encode",
    "encode_fields",
    "encode_many",
    "find_field",
    "is_null",
    "parse_descriptor",
    "physical_value",
    "resolution",
    "selected_in",
    "unit_name",
    "usage_column",
    "usage_name",
    "usage_slug",
    "value_in",
]
