"""Reports → columns: which rows count, every offset and width, arrays, null and clamp."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from station.errors import InputError
from station.hid import (
    Field,
    ReportBlock,
    clamp,
    column,
    columns,
    find_field,
    is_null,
    parse_descriptor,
    usage_column,
)
from tests.hid.hid_cases import GAMEPAD, HAT, KEYBOARD, KEYS, PAD, PAD_REST, RX, X, Y, block_of, button

FIELD = Field("input", 0, X, 0, 8, signed=False, logical_min=0, logical_max=255)


def by_hand(report: bytes, offset: int, width: int, *, signed: bool) -> int:
    """The number bit by bit: bit k of a report is bit k mod 8 of byte k div 8 (HID 1.11 §5.8)."""
    value = sum((report[k // 8] >> k % 8 & 1) << (k - offset) for k in range(offset, offset + width))
    return value - (1 << width) if signed and value >> (width - 1) else value


@pytest.mark.parametrize("signed", [False, True], ids=["unsigned", "signed"])
@pytest.mark.parametrize("size", [5, 8, 11])
def test_every_offset_and_width(size: int, signed: bool) -> None:
    raw = np.random.default_rng(size).integers(0, 256, (6, size), np.uint8)
    raw[0], raw[1] = 0, 255
    reports = [row.tobytes() for row in raw]
    block = block_of(*reports)
    fields = [
        replace(FIELD, bit_offset=offset, bit_width=width, signed=signed)
        for offset in range(8 * size)
        for width in range(1, min(32, 8 * size - offset) + 1)
    ]
    for field, read in zip(fields, columns(fields, block), strict=True):
        expected = [by_hand(report, field.bit_offset, field.bit_width, signed=signed) for report in reports]
        assert read.value.tolist() == expected, field
        assert read.value.dtype == np.int64


def test_reports_of_another_id_and_too_short_ones_are_left_out() -> None:
    block = block_of(b"\x01\x0a\x0b", b"\x02\x0c\x0d", b"\x01\x0e", b"\x01\x0f\x10", b"")
    first = replace(FIELD, report_id=1, bit_offset=8)
    second = replace(FIELD, report_id=1, bit_offset=16)
    other = replace(FIELD, report_id=2, bit_offset=16)
    nobody = replace(FIELD, report_id=3, bit_offset=8)
    read = columns((first, second, other, nobody), block)
    assert [c.value.tolist() for c in read] == [[10, 14, 15], [11, 16], [13], []]
    assert [(c.t_ns // 1_000_000).tolist() for c in read] == [[0, 2, 3], [0, 3], [1], []]


def test_a_field_behind_every_report_gives_an_empty_column() -> None:
    read = column(replace(FIELD, bit_offset=800), block_of(b"\x01", b"\x02"))
    assert (len(read.t_ns), len(read.value)) == (0, 0)


def test_a_short_report_in_a_wide_block_is_not_read_as_zeros() -> None:
    block = block_of(b"\x01\x02", b"\x03", width=64)
    assert column(replace(FIELD, bit_offset=8), block).value.tolist() == [2]


def test_an_empty_block_gives_empty_columns() -> None:
    layout = parse_descriptor(PAD)
    assert all(len(c.value) == 0 for c in columns(layout.input_fields(), block_of()))
    assert len(usage_column(parse_descriptor(KEYS), KEYBOARD + 4, block_of()).value) == 0


def test_one_row_selection_serves_all_fields_of_a_report() -> None:
    layout = parse_descriptor(PAD)
    read = columns(layout.input_fields(), block_of(PAD_REST, b"\x02\x00\x00", PAD_REST))
    assert len({id(c.t_ns) for c in read}) == 1
    assert all(len(c.value) == 2 for c in read)


def test_a_block_may_be_any_slice_of_a_larger_array() -> None:
    raw = np.asfortranarray(np.frombuffer(PAD_REST * 3, np.uint8).reshape(3, -1))
    block = ReportBlock(0, np.arange(3), np.full(3, len(PAD_REST), np.uint16), raw)
    field = find_field(parse_descriptor(PAD), X)
    assert field is not None
    assert column(field, block).value.tolist() == [0x8000] * 3
    every_second = ReportBlock(0, np.arange(2), np.full(2, len(PAD_REST), np.uint16), raw[::2])
    assert column(field, every_second).value.tolist() == [0x8000] * 2


def test_decoding_leaves_the_reports_alone() -> None:
    block = block_of(PAD_REST, PAD_REST)
    before = block.raw.copy()
    block.raw.flags.writeable = False
    columns(parse_descriptor(PAD).input_fields(), block)
    assert np.array_equal(block.raw, before)


def test_piece_by_piece_reads_the_same_as_all_at_once() -> None:
    layout = parse_descriptor(PAD)
    raw = np.random.default_rng(7).integers(0, 256, (50, 13), np.uint8)
    raw[:, 0] = 1 + (raw[:, 0] > 200)
    whole = block_of(*(row.tobytes() for row in raw))
    pieces = [
        ReportBlock(i, whole.t_ns[i : i + 7], whole.size[i : i + 7], whole.raw[i : i + 7]) for i in range(0, 50, 7)
    ]
    fields = layout.input_fields()
    live = [np.concatenate([c.value for c in cs]) for cs in zip(*(columns(fields, p) for p in pieces), strict=True)]
    assert all(np.array_equal(a, c.value) for a, c in zip(live, columns(fields, whole), strict=True))


@pytest.mark.parametrize("width", [0, 33])
def test_a_width_that_cannot_be_read(width: int) -> None:
    with pytest.raises(InputError, match=f"field of {width} bits"):
        column(replace(FIELD, bit_width=width), block_of(b"\x01" * 8))


def test_array_usage_is_selected_in_any_slot() -> None:
    layout = parse_descriptor(KEYS)
    block = block_of(
        bytes.fromhex("00 00 04 00 00 00 00 00"),
        bytes.fromhex("00 00 05 04 00 00 00 00"),
        bytes.fromhex("00 00 05 00 00 00 00 00"),
        bytes.fromhex("00 00 01 01 01 01 01 01"),
        bytes.fromhex("00 00 04"),
    )
    read = usage_column(layout, KEYBOARD + 4, block)
    assert read.value.tolist() == [1, 1, 0, 0], "the report without all slots is left out"
    assert (read.field.usage, read.field.logical_min, read.field.logical_max) == (KEYBOARD + 4, 0, 1)


def test_an_array_index_counts_from_the_logical_minimum() -> None:
    layout = parse_descriptor(bytes.fromhex(GAMEPAD + "05 09 19 01 29 04 15 0A 25 0D 75 08 95 01 81 00 C0"))
    block = block_of(b"\x0a", b"\x0d", b"\x00", b"\x0e")
    assert usage_column(layout, button(1), block).value.tolist() == [1, 0, 0, 0]
    assert usage_column(layout, button(4), block).value.tolist() == [0, 1, 0, 0]


def test_a_usage_that_the_device_does_not_have() -> None:
    with pytest.raises(InputError, match="no input “Button 40”"):
        usage_column(parse_descriptor(PAD), button(40), block_of(PAD_REST))
    assert find_field(parse_descriptor(PAD), button(40)) is None


@pytest.mark.parametrize(
    ("what", "descriptor", "offset"),
    [
        ("data before a constant", GAMEPAD + "09 30 15 00 25 7F 75 08 95 01 81 03 09 30 81 02 C0", 8),
        ("a variable before an array", GAMEPAD + "05 09 15 00 25 01 75 08 95 01 09 01 81 00 09 01 81 02 C0", 8),
        (
            "a game pad's before a mouse's",
            "05 01 09 02 A1 01 85 01 15 81 25 7F 75 08 95 02 09 30 09 30 81 02 C0"
            "05 01 09 05 A1 01 85 02 95 01 81 01 09 30 81 02 C0",
            16,
        ),
        ("absolute before relative", GAMEPAD + "15 81 25 7F 75 08 95 01 09 30 81 06 09 30 81 02 C0", 8),
    ],
)
def test_find_field_prefers(what: str, descriptor: str, offset: int) -> None:
    usage = button(1) if "array" in what else X
    field = find_field(parse_descriptor(bytes.fromhex(descriptor)), usage)
    assert field is not None
    assert field.bit_offset == offset


def test_find_field_looks_at_the_kind_asked_for() -> None:
    layout = parse_descriptor(PAD)
    assert find_field(layout, 0xFF00_0001) is None
    output = find_field(layout, 0xFF00_0001, "output")
    assert output is not None
    assert (output.report_id, output.bit_offset) == (2, 8)


def test_null_and_clamp_by_number_and_by_array() -> None:
    layout = parse_descriptor(PAD)
    hat, trigger = find_field(layout, HAT), find_field(layout, RX)
    assert hat is not None
    assert trigger is not None
    values = np.array([-1, 0, 7, 8, 255, 256])
    assert is_null(hat, values).tolist() == [True, False, False, True, True, True]
    assert is_null(trigger, values).tolist() == [False] * 6
    assert [is_null(hat, int(v)) for v in values] == is_null(hat, values).tolist()
    assert clamp(trigger, values).tolist() == [0, 0, 7, 8, 255, 255]
    assert [clamp(trigger, int(v)) for v in values] == clamp(trigger, values).tolist()


def test_an_array_slot_out_of_range_is_null_without_the_flag() -> None:
    slot = next(f for f in parse_descriptor(KEYS).reports[0].fields if f.is_array)
    assert not slot.has_null
    assert [is_null(slot, value) for value in (0, 101, 102)] == [False, False, True]


def test_y_of_a_pad_is_its_own_field() -> None:
    read = usage_column(parse_descriptor(PAD), Y, block_of(bytes.fromhex("01 00 80 00 00 FF 7F 00 80 00 80 00 00")))
    assert read.value.tolist() == [0x7FFF]
