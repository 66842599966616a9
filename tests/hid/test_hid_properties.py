"""For any layout: written as a descriptor it is read back; for any bytes: a layout or a DescriptorError."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from station.errors import DescriptorError
from station.hid import (
    Collection,
    Field,
    ReportKind,
    columns,
    encode,
    encode_many,
    is_null,
    parse_descriptor,
    physical_value,
    resolution,
    unit_name,
    usage_column,
    usage_name,
)
from station.hid.descriptor import MAX_FIELDS, MAX_REPORT_BITS
from tests.hid.hid_cases import CASES, MALFORMED, block_of

_MAIN: dict[ReportKind, int] = {"input": 0x80, "output": 0x90, "feature": 0xB0}
GAME_PAD = 0x0001_0005


@dataclass(frozen=True)
class Group:
    """One data item of a drawn layout. `like` is the field without its place; `usages` one for each field."""

    like: Field
    count: int
    usages: tuple[int, ...]


def item(prefix: int, value: int, size: int | None = None, *, signed: bool = False) -> bytes:
    """A short item of the least size, or of `size` bytes."""
    for width in (1, 2, 4) if size is None else (size,):
        low, high = (-(1 << 8 * width - 1), 1 << 8 * width - 1) if signed else (0, 1 << 8 * width)
        if low <= value < high:
            return bytes([prefix | {1: 1, 2: 2, 4: 3}[width]]) + value.to_bytes(width, "little", signed=signed)
    raise AssertionError(value)


@st.composite
def ranges(draw: st.DrawFn, width: int) -> tuple[int, int]:
    """A logical range that fits the width, signed or not."""
    if draw(st.booleans()):
        low, high = -(1 << width - 1), (1 << width - 1) - 1
        bottom = draw(st.integers(low, -1))
        return bottom, draw(st.integers(bottom, high))
    bottom = draw(st.integers(0, min((1 << width) - 1, (1 << 31) - 1)))  # no item says a greater minimum
    return bottom, draw(st.integers(bottom, (1 << width) - 1))


@st.composite
def groups(draw: st.DrawFn, report_id: int) -> Group:
    width = draw(st.integers(1, 32))
    low, high = draw(ranges(width))
    count = draw(st.integers(1, 5))
    array = draw(st.booleans()) and high - low < 200
    pages = st.sampled_from((0x01, 0x02, 0x09, 0xFF00))
    usages = st.builds(lambda page, number: page << 16 | number, pages, st.integers(0, 0xFFFF))
    chosen = tuple(draw(st.lists(usages, min_size=count, max_size=count, unique=True)))
    physical = draw(st.sampled_from(((low, high), (-3175, 3175), (0, 315))))
    like = Field(
        kind=draw(st.sampled_from(("input", "output", "feature"))),
        report_id=report_id,
        usage=0,
        bit_offset=0,
        bit_width=width,
        signed=low < 0,
        logical_min=low,
        logical_max=high,
        physical_min=physical[0] if physical != (0, 0) else low,
        physical_max=physical[1] if physical != (0, 0) else high,
        unit=draw(st.sampled_from((0, 0x11, 0x14, 0xF011))),
        unit_exponent=draw(st.integers(-8, 7)),
        is_array=array,
        is_relative=draw(st.booleans()),
        has_null=draw(st.booleans()),
        usages=chosen[: high - low + 1] if array else (),
        collections=(Collection(1, GAME_PAD),),
    )
    return Group(like, count, chosen)


@st.composite
def layouts(draw: st.DrawFn) -> list[Group]:
    numbered = draw(st.booleans())
    ids = st.integers(1, 255) if numbered else st.just(0)
    return draw(st.lists(ids.flatmap(groups), min_size=1, max_size=6))


def written(drawn: list[Group]) -> bytes:
    """The drawn layout as a descriptor."""
    out = item(0x04, 1) + item(0x08, 5) + item(0xA0, 1)
    for group in drawn:
        like = group.like
        if like.report_id:
            out += item(0x84, like.report_id)
        out += item(0x14, like.logical_min, signed=True)
        out += _logical_maximum(like)
        out += item(0x34, like.physical_min, 4, signed=like.physical_min < 0)
        out += item(0x44, like.physical_max, 4, signed=like.physical_max < 0)
        out += item(0x54, like.unit_exponent & 0xF) + item(0x64, like.unit)
        out += item(0x74, like.bit_width) + item(0x94, group.count)
        for usage in group.usages:
            out += item(0x08, usage, 4)
        flags = (0 if like.is_array else 2) | (4 if like.is_relative else 0) | (0x40 if like.has_null else 0)
        out += item(_MAIN[like.kind], flags)
    return out + b"\xc0"


def _logical_maximum(like: Field) -> bytes:
    """By the sign rules: signed where it fits; above 2³¹ − 1 only the unsigned reading of four bytes is left."""
    if like.logical_max >= 1 << 31:
        return item(0x24, like.logical_max, 4)
    return item(0x24, like.logical_max, signed=True)


def laid(drawn: list[Group]) -> dict[tuple[ReportKind, int], list[Field]]:
    """The fields that the drawn layout must give."""
    fields: dict[tuple[ReportKind, int], list[Field]] = {}
    for group in drawn:
        like = group.like
        report = fields.setdefault((like.kind, like.report_id), [])
        start = report[-1].bit_offset + report[-1].bit_width if report else 8 * bool(like.report_id)
        for i in range(group.count):
            usage = 0 if like.is_array else group.usages[i]
            report.append(replace(like, usage=usage, bit_offset=start + i * like.bit_width))
    return fields


@given(layouts())
def test_a_layout_written_as_descriptor_is_read_back(drawn: list[Group]) -> None:
    layout = parse_descriptor(written(drawn))
    assert {(r.kind, r.report_id): list(r.fields) for r in layout.reports} == laid(drawn)
    assert layout.applications == (GAME_PAD,)


@given(layouts(), st.data())
def test_what_was_packed_is_read_again(drawn: list[Group], data: st.DataObject) -> None:
    layout = parse_descriptor(written(drawn))
    for report in (r for r in layout.reports if r.kind == "input"):
        variables = {f.usage: f for f in report.fields if not f.is_array}
        carriers: dict[int, list[Field]] = {u: [f for f in report.fields if f.usage == u] for u in variables}
        values = {
            u: data.draw(st.integers(max(f.logical_min for f in fs), min(f.logical_max for f in fs)))
            for u, fs in carriers.items()
            if max(f.logical_min for f in fs) <= min(f.logical_max for f in fs)
        }
        packed = encode(report, values)
        fields = [f for f in report.fields if f.usage in values and not f.is_array]
        read = columns(fields, block_of(packed))
        assert [c.value.tolist() for c in read] == [[values[f.usage]] for f in fields]
        many = encode_many(report, {u: np.full(3, v) for u, v in values.items()}, 3)
        assert all(row.tobytes() == packed for row in many)


@given(st.binary(max_size=200))
def test_any_bytes_are_a_layout_or_an_error_of_ours(data: bytes) -> None:
    assert_sound_or_refused(data)


@settings(max_examples=300)
@given(st.data())
def test_a_damaged_descriptor_is_a_layout_or_an_error_of_ours(data: st.DataObject) -> None:
    sound = data.draw(st.sampled_from([c.descriptor for c in CASES] + [bad.descriptor[:300] for bad in MALFORMED]))
    damaged = bytearray(sound)
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(damaged)))
        cut = data.draw(st.integers(0, 3))
        damaged[at : at + cut] = data.draw(st.binary(max_size=3))
    assert_sound_or_refused(bytes(damaged))


@pytest.mark.parametrize(
    ("unit", "outcome"),
    [
        ("81 02", "DescriptorError"),
        ("A4 B4", "layout"),
        ("09 30", "layout"),
        ("A1 02 C0", "layout"),
        ("85 01 81 02", "DescriptorError"),
        ("19 00 2A FF FF 81 00", "DescriptorError"),
        ("FE 00 00", "layout"),
    ],
)
def test_4096_bytes_of_one_thing_stay_within_the_caps(unit: str, outcome: str) -> None:
    head = bytes.fromhex("05 01 09 05 A1 01 15 00 27 FF FF 00 00 75 20 95 40")
    piece = bytes.fromhex(unit)
    descriptor = head + piece * ((4095 - len(head)) // len(piece)) + b"\xc0"
    assert assert_sound_or_refused(descriptor) == outcome


def assert_sound_or_refused(descriptor: bytes) -> str:
    """Parse, and say what came of it; a layout keeps the caps and everything can be asked of it, an error has a
    sentence."""
    layout, said = None, ""
    try:
        layout = parse_descriptor(descriptor)
    except DescriptorError as error:
        said = str(error)
    if layout is None:
        assert said
        return "DescriptorError"
    fields = [f for r in layout.reports for f in r.fields]
    assert len(fields) <= MAX_FIELDS
    assert all(8 * r.width <= MAX_REPORT_BITS for r in layout.reports)
    assert all(f.bit_offset + f.bit_width <= 8 * r.width for r in layout.reports for f in r.fields)
    data = layout.input_fields()[:64]
    reports = [bytes([r.report_id]) + bytes(range(64)) for r in layout.reports[:4]]
    for field, read in zip(data, columns(data, block_of(*reports)), strict=True):
        assert len(read.t_ns) == len(read.value)
        is_null(field, read.value)
        physical_value(field, field.logical_max)
        resolution(field)
        assert unit_name(field) is not None
        assert usage_name(field.usage)
    for usage in {u for f in data[:8] for u in (f.usage, *f.usages[:4]) if u}:
        usage_column(layout, usage, block_of(*reports))
    for report in layout.reports[:2]:
        assert len(encode(report, {})) == report.width
    return "layout"
