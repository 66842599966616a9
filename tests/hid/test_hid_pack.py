"""Values → reports: rest values, arrays, what does not fit."""

from __future__ import annotations

import numpy as np
import pytest

from station.errors import InputError
from station.hid import (
    column,
    encode,
    encode_fields,
    encode_many,
    parse_descriptor,
    selected_in,
    usage_column,
    value_in,
)
from tests.hid.hid_cases import CASES, GAMEPAD, HAT, KEYBOARD, KEYS, PAD, RX, SLIDER, Case, X, Y, block_of, button

AXES = {X: 0x8000, Y: 0x8000, 0x0001_0032: 0x8000, 0x0001_0035: 0x8000}


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_what_was_packed_is_read_again(case: Case) -> None:
    layout = parse_descriptor(case.descriptor)
    report = next(r for r in layout.reports if not layout.numbered or r.report_id == case.report[0])
    packed = encode(report, case.says)
    assert len(packed) == report.width
    block = block_of(packed)
    assert {usage: usage_column(layout, usage, block).value.tolist() for usage in case.says} == {
        usage: [value] for usage, value in case.says.items()
    }


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_one_report_is_read_as_a_block_is(case: Case) -> None:
    layout, block = parse_descriptor(case.descriptor), block_of(case.report)
    for report in layout.reports:
        for field in (f for f in report.fields if f.bit_width <= 32):
            values = column(field, block).value.tolist()
            assert value_in(field, case.report) == (values[0] if values else None)
            if field.is_array and (usage := selected_in(field, case.report)):
                assert usage_column(layout, usage, block).value.tolist() == [1]


def test_a_short_report_holds_no_value_and_selects_nothing() -> None:
    keys = next(f for f in parse_descriptor(KEYS).reports[0].fields if f.is_array)
    assert (value_in(keys, b"\0"), selected_in(keys, b"\0"), selected_in(keys, b"\xff" * 8)) == (None, 0, 0)


def test_fields_of_the_same_usage_are_filled_one_by_one() -> None:
    descriptor = bytes.fromhex(GAMEPAD + "09 36 15 01 26 FF 00 75 08 95 03 81 02 C0")
    report = parse_descriptor(descriptor).reports[0]
    assert encode_fields(report, {report.fields[1]: 9, report.fields[2]: 0}) == b"\x01\x09\x00"
    with pytest.raises(InputError, match="does not fit"):
        encode_fields(report, {report.fields[0]: 256})


def test_a_pad_at_rest() -> None:
    report = parse_descriptor(PAD).reports[0]
    assert encode(report, AXES).hex() == "01008000800080008000800000"
    assert encode(report, AXES | {button(1): 1, HAT: 1, RX: 7}).hex() == "01011000800080008000800700"


def test_an_output_report_starts_with_its_id() -> None:
    assert encode(parse_descriptor(PAD).reports[1], {0xFF00_0001: 0x40, 0xFF00_0002: 0xFF}) == b"\x02\x40\xff"


def test_a_usage_carried_by_several_fields_goes_into_all() -> None:
    descriptor = bytes.fromhex(GAMEPAD + "09 36 15 00 26 FF 00 75 08 95 03 81 02 C0")
    assert encode(parse_descriptor(descriptor).reports[0], {SLIDER: 9}) == b"\x09\x09\x09"


def test_keys_fill_the_slots_in_order() -> None:
    report = parse_descriptor(KEYS).reports[0]
    held = {KEYBOARD + 0xE1: 1, KEYBOARD + 0x04: 1, KEYBOARD + 0x05: 0, KEYBOARD + 0x06: 1}
    assert encode(report, held).hex() == "0200040600000000"


def test_more_keys_than_slots() -> None:
    with pytest.raises(InputError, match="at most 6 at a time"):
        encode(parse_descriptor(KEYS).reports[0], {KEYBOARD + n: 1 for n in range(4, 11)})
    with pytest.raises(InputError, match="at most 6 at a time"):
        encode_many(parse_descriptor(KEYS).reports[0], {KEYBOARD + n: np.array([1]) for n in range(4, 11)}, 1)


@pytest.mark.parametrize(
    ("what", "item", "idle"),
    [
        ("0 below the range", "15 01 25 10", 0),
        ("one above the range where 0 is a button", "15 00 25 0F", 16),
        ("0 where the range leaves no room", "15 80 25 7F", 0),
        ("0 where the index of none does not fit", "16 30 01 26 00 02 09 00", 0),
    ],
)
def test_an_array_at_rest(what: str, item: str, idle: int) -> None:
    layout = parse_descriptor(bytes.fromhex(GAMEPAD + "05 09 19 01 29 10 " + item + "75 08 95 01 81 00 C0"))
    assert encode(layout.reports[0], {}) == bytes([idle]), what


@pytest.mark.parametrize(
    ("what", "item", "rest"),
    [
        ("null above the range", "15 00 25 07 81 42", 8),
        ("null at 0 below the range", "15 01 25 08 81 42", 0),
        ("null below the range", "15 F9 25 07 81 42", 8),
        ("no room for a null", "15 F8 25 07 81 42", 0),
        ("no null state: nearest to 0", "15 03 25 07 81 02", 3),
        ("a range above what the bits hold", "16 00 01 26 FF 01 81 02", 15),
        ("a range below what the bits hold", "15 80 25 90 81 02", 8),
    ],
)
def test_a_field_at_rest(what: str, item: str, rest: int) -> None:
    layout = parse_descriptor(bytes.fromhex(GAMEPAD + "75 04 95 01 09 39" + item + "81 01 C0"))
    assert encode(layout.reports[0], {}) == bytes([rest]), what


def test_arrays_of_different_widths_rest_each_in_its_own_way() -> None:
    descriptor = bytes.fromhex(GAMEPAD + "15 00 26 FF 00 75 10 95 01 81 00 25 07 75 08 81 00 C0")
    assert encode(parse_descriptor(descriptor).reports[0], {}) == b"\x00\x01\x08"


@pytest.mark.parametrize(("value", "usage", "bits"), [(2, button(1), 1), (-1, X, 16), (65536, X, 16), (16, HAT, 4)])
def test_a_value_that_does_not_fit(value: int, usage: int, bits: int) -> None:
    report = parse_descriptor(PAD).reports[0]
    with pytest.raises(InputError, match=f"{value} does not fit into {bits} bits; give 0 to {2**bits - 1}"):
        encode(report, {usage: value})
    with pytest.raises(InputError, match="does not fit"):
        encode_many(report, {usage: np.array([0, value])}, 2)


def test_many_at_once_are_the_same_as_one_by_one() -> None:
    report = parse_descriptor(PAD).reports[0]
    random = np.random.default_rng(3)
    values = {f.usage: random.integers(0, f.logical_max + 1, 40) for f in report.fields if not f.is_constant}
    del values[RX]
    one_by_one = [encode(report, {usage: int(column[i]) for usage, column in values.items()}) for i in range(40)]
    assert [row.tobytes() for row in encode_many(report, values, 40)] == one_by_one


def test_keys_of_many_fill_the_slots_in_order_too() -> None:
    report = parse_descriptor(KEYS).reports[0]
    held = {KEYBOARD + n: np.array([n == 4, True, n == 5, False]).astype(np.int64) for n in (4, 5, 6)}
    one_by_one = [encode(report, {usage: int(column[i]) for usage, column in held.items()}) for i in range(4)]
    assert [row.tobytes() for row in encode_many(report, held, 4)] == one_by_one


def test_many_at_once_of_none() -> None:
    assert encode_many(parse_descriptor(PAD).reports[0], {}, 0).shape == (0, 13)


def test_signed_fields_of_many_are_read_again() -> None:
    layout = parse_descriptor(bytes.fromhex(GAMEPAD + "75 03 95 01 81 03 09 30 16 00 FE 26 FF 01 75 0A 81 02 C0"))
    values = np.arange(-512, 512)
    raw = encode_many(layout.reports[0], {X: values}, len(values))
    read = column(layout.input_fields()[0], block_of(*(row.tobytes() for row in raw)))
    assert np.array_equal(read.value, values)
