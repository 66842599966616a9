"""Descriptor rules one by one: what is read, what is refused and where."""

from __future__ import annotations

import pytest

from station.errors import DescriptorError
from station.hid import Collection, find_field, parse_descriptor, usage_column
from tests.hid.hid_cases import (
    CASES,
    GAMEPAD,
    GENERIC_DESKTOP,
    HAT,
    KEYBOARD,
    KEYS,
    MALFORMED,
    MOUSE,
    PAD,
    Case,
    Malformed,
    X,
    block_of,
    button,
)


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_report_says(case: Case) -> None:
    layout = parse_descriptor(case.descriptor)
    block = block_of(case.report)
    got = {usage: usage_column(layout, usage, block).value.tolist() for usage in case.says}
    assert got == {usage: [value] for usage, value in case.says.items()}


@pytest.mark.parametrize("bad", MALFORMED, ids=[bad.name for bad in MALFORMED])
def test_malformed(bad: Malformed) -> None:
    if not bad.says:
        parse_descriptor(bad.descriptor)
        return
    with pytest.raises(DescriptorError) as caught:
        parse_descriptor(bad.descriptor)
    assert str(caught.value).startswith(bad.says)
    assert caught.value.offset == bad.offset
    assert "model sheet" in str(caught.value), "the message says what to do"


def test_every_beginning_of_a_descriptor_is_refused_cleanly() -> None:
    for end in range(len(PAD)):
        with pytest.raises(DescriptorError):
            parse_descriptor(PAD[:end])


def test_reports_widths_and_kinds_of_a_pad() -> None:
    layout = parse_descriptor(PAD)
    assert [(r.kind, r.report_id, r.width) for r in layout.reports] == [
        ("input", 1, 13),
        ("output", 2, 3),
        ("feature", 3, 9),
    ]
    assert layout.numbered
    assert layout.applications == (GENERIC_DESKTOP + 5,)
    assert [f.bit_offset for f in layout.input_fields()] == [*range(8, 20), 20, 24, 40, 56, 72, 88, 96]


def test_a_field_lies_in_its_collections_outermost_first() -> None:
    field = parse_descriptor(MOUSE).reports[0].fields[0]
    assert field.collections == (Collection(1, GENERIC_DESKTOP + 2), Collection(0, GENERIC_DESKTOP + 1))


def test_flags_of_a_hat_and_of_a_mouse_axis() -> None:
    hat, axis = find_field(parse_descriptor(PAD), HAT), find_field(parse_descriptor(MOUSE), X)
    assert hat is not None
    assert axis is not None
    assert (hat.has_null, hat.is_relative, hat.unit) == (True, False, 0x14)
    assert (axis.has_null, axis.is_relative, axis.unit) == (False, True, 0)


def test_physical_extents_of_0_and_0_are_the_logical_ones() -> None:
    field = find_field(parse_descriptor(PAD), X)
    assert field is not None
    assert (field.physical_min, field.physical_max) == (0, 65535)


def test_slots_of_an_array_share_what_they_can_select() -> None:
    slots = [f for f in parse_descriptor(KEYS).reports[0].fields if f.is_array]
    assert [slot.bit_offset for slot in slots] == [16, 24, 32, 40, 48, 56]
    assert all(slot.usages == tuple(range(KEYBOARD, KEYBOARD + 0x66)) for slot in slots)
    assert all(slot.usage == 0 for slot in slots)


def test_a_usage_range_is_cut_to_the_logical_range_of_its_array() -> None:
    layout = parse_descriptor(bytes.fromhex(GAMEPAD + "05 09 1A 00 00 2A FF FF 15 00 25 03 75 08 95 01 81 00 C0"))
    assert layout.input_fields()[0].usages == tuple(button(n) for n in range(4))


@pytest.mark.parametrize(
    ("item", "exponent"),
    [("55 05", 5), ("55 08", -8), ("55 0E", -2), ("55 0F", -1), ("55 FD", -3), ("54", 0), ("56 FE FF", -2)],
)
def test_unit_exponent(item: str, exponent: int) -> None:
    layout = parse_descriptor(bytes.fromhex(GAMEPAD + item + "09 30 15 00 25 7F 75 08 95 01 81 02 C0"))
    assert layout.input_fields()[0].unit_exponent == exponent


def test_without_a_logical_range_a_field_gets_that_of_its_width() -> None:
    layout = parse_descriptor(bytes.fromhex(GAMEPAD + "09 30 75 0A 95 01 81 02 C0"))
    field = layout.input_fields()[0]
    assert (field.signed, field.logical_min, field.logical_max) == (False, 0, 1023)


def test_padding_is_one_constant_and_no_input_field() -> None:
    layout = parse_descriptor(MOUSE)
    padding = [f for f in layout.reports[0].fields if f.is_constant]
    assert [(f.bit_offset, f.bit_width, f.usage) for f in padding] == [(3, 5, 0)]
    assert not any(f.is_constant for f in layout.input_fields())


def test_a_constant_with_usages_keeps_one_field_for_each() -> None:
    layout = parse_descriptor(bytes.fromhex(GAMEPAD + "09 30 09 31 15 00 25 7F 75 08 95 02 B1 03 C0"))
    assert [(f.usage & 0xFF, f.bit_offset, f.is_constant) for f in layout.reports[0].fields] == [
        (0x30, 0, True),
        (0x31, 8, True),
    ]


def test_one_report_id_may_be_left_and_taken_up_again() -> None:
    descriptor = GAMEPAD + "15 00 25 7F 75 08 95 01 85 02 09 30 81 02 85 01 09 31 81 02 85 02 09 32 81 02 C0"
    layout = parse_descriptor(bytes.fromhex(descriptor))
    assert [(r.report_id, r.width, [f.bit_offset for f in r.fields]) for r in layout.reports] == [
        (1, 2, [8]),
        (2, 3, [8, 16]),
    ]


def test_a_descriptor_without_data_has_no_reports() -> None:
    assert parse_descriptor(bytes.fromhex("05 01 09 05 A1 01 C0")).reports == ()


@pytest.mark.parametrize(
    ("item", "exponent"),
    [
        ("55 0D", -3),
        ("55 FD", -3),
        ("55 07", 7),
        pytest.param("56 FD FF", -3, id="two bytes that mean -3"),
        pytest.param("56 05 01", 5, id="261: the nibble counts"),
        pytest.param("57 00 00 00 80", 0, id="more than any number: the nibble counts"),
    ],
)
def test_a_unit_exponent_is_a_nibble_or_a_byte(item: str, exponent: int) -> None:
    data = bytes.fromhex("05 01 09 05 A1 01" + item + "09 30 15 00 25 7F 75 08 95 01 81 02 C0")
    assert parse_descriptor(data).input_fields()[0].unit_exponent == exponent
