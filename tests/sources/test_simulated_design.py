"""Simulated models: their descriptors say what they claim, in every layout."""

from __future__ import annotations

import numpy as np
import pytest

from station.errors import InputError
from station.hid.decode import find_field
from station.hid.pack import encode
from station.sources.simulated.design import ACCELERATOR, BRAKE, HAT, RX, RY, RZ, PadDesign, X, Y, Z
from station.sources.simulated.sensor import codes

KITS = ("8bit", "16bit", "packed")
# usage → (first bit as hidapi returns the report, bits, minimum, maximum)
PLACES = {
    "8bit": {X: (0, 8, 0, 255), RZ: (24, 8, 0, 255), HAT: (32, 4, 0, 7), RX: (56, 8, 0, 255), RY: (64, 8, 0, 255)},
    "16bit": {
        X: (8, 16, -32768, 32767),
        Y: (24, 16, -32768, 32767),
        BRAKE: (72, 16, 0, 1023),
        ACCELERATOR: (88, 16, 0, 1023),
        HAT: (104, 4, 1, 8),
    },
    "packed": {X: (8, 12, 0, 4095), Y: (20, 12, 0, 4095), Z: (32, 12, 0, 4095), RX: (56, 10, 0, 1023)},
}


@pytest.mark.parametrize("kit", KITS)
def test_fields_stand_where_the_layout_says(kit: str) -> None:
    fields = PadDesign(kit).fields
    found = {u: (f.bit_offset, f.bit_width, f.logical_min, f.logical_max) for u, f in fields.items()}
    assert {u: found[u] for u in PLACES[kit]} == PLACES[kit]


@pytest.mark.parametrize("kit", KITS)
def test_every_control_has_its_field_and_every_field_its_control(kit: str) -> None:
    design = PadDesign(kit)
    used = [usage for control in design.controls for usage in control.usages]
    assert sorted(used) == sorted(design.fields)
    assert len(used) == len(set(used))


@pytest.mark.parametrize("kit", KITS)
def test_it_is_a_game_pad_with_test_ids_and_twins_that_name_each_other(kit: str) -> None:
    design = PadDesign(kit)
    twins = {c.id: c.twin for c in design.controls}
    assert design.layout.applications == (0x1_0005,)
    assert design.ids[0] == 0x1209
    assert 0x0001 <= design.ids[1] <= 0x0010
    assert all(twins[twin] == one for one, twin in twins.items() if twin)


@pytest.mark.parametrize("kit", KITS)
def test_the_null_code_of_the_hat_is_no_direction_and_fits_its_bits(kit: str) -> None:
    design = PadDesign(kit)
    hat = design.fields[HAT]
    *directions, null = design.hat_codes
    assert directions == list(range(hat.logical_min, hat.logical_max + 1))
    assert hat.has_null
    assert not hat.logical_min <= null <= hat.logical_max
    assert encode(design.report, {HAT: null})


def test_hidden_parts_of_the_report_are_padding_only() -> None:
    for kit in KITS:
        report = PadDesign(kit).report
        assert sum(f.bit_width for f in report.fields) + (8 if report.report_id else 0) == 8 * report.width


@pytest.mark.parametrize(
    ("usage", "turned", "pct", "code"),
    [(X, False, -100.0, 0), (X, False, 100.0, 255), (X, True, 100.0, 0), (X, False, 0.0, 128)],
    ids=["left end is 0", "right end is 255", "turned: up end is 0", "the middle lies between two codes"],
)
def test_codes_of_an_eight_bit_axis(usage: int, turned: bool, pct: float, code: int) -> None:
    field = PadDesign("8bit").fields[usage]
    assert codes(np.array([pct]), field, -100.0, 100.0, 12, turned)[0] == code


def test_a_sixteen_bit_report_shows_only_what_its_converter_resolves() -> None:
    field = PadDesign("16bit").fields[X]
    found = np.unique(codes(np.linspace(-100, 100, 200_001), field, -100.0, 100.0, 12, False))
    assert len(found) == 4096
    assert (found[0], found[-1]) == (-32768, 32767)


@pytest.mark.parametrize(("kit", "rate"), [("9bit", 250), ("8bit", 9000), ("8bit", 1)])
def test_what_no_model_has_is_refused_in_one_sentence(kit: str, rate: int) -> None:
    with pytest.raises(InputError, match=r"; (choose|give) "):
        PadDesign(kit, rate)


def test_find_field_agrees_with_the_design() -> None:
    design = PadDesign("packed")
    assert find_field(design.layout, Z) == design.fields[Z]
