"""Motion and touch as far as HID describes them: what is drawn up, in which units, and what is left alone."""

from __future__ import annotations

import numpy as np
import pytest

from sample_units.make import sheet_of
from station.errors import SheetError
from station.hid.descriptor import parse_descriptor
from station.hid.types import Column, Field, ReportBlock
from station.sheets.bind import bind, join_signals
from station.sheets.drawup import draw_up
from station.sheets.load import parse_sheet
from station.sheets.sensed import in_degrees_a_second, in_g, motion_signal, touch_signal
from station.sheets.signals import MotionSignal, TouchSignal
from station.sheets.write import sheet_text
from station.sources.port import DeviceInfo
from station.sources.simulated import PadDesign

INFO = DeviceInfo("k", 0x1209, 4, "Plover T2 Motion", "", "usb", b"", ())
DESIGN = PadDesign("sensing")


def field(usage: int = 0x20_0453, unit: int = 0, exponent: int = 0, physical: int = 0) -> Field:
    low, high = (-physical, physical) if physical else (-32768, 32767)
    return Field("input", 0, usage, 0, 16, True, -32768, 32767, low, high, unit, exponent)


def test_drawn_up_with_motion_and_touch_and_its_sticks_as_before() -> None:
    sheet = draw_up(DESIGN.layout, INFO)
    plain = draw_up(PadDesign("8bit").layout, INFO)
    by_kind = {c.id: c.kind for c in sheet.controls if c.kind in ("motion", "touch")}
    assert by_kind == {"motion": "motion", "touch_1": "touch", "touch_2": "touch"}
    assert [c for c in sheet.controls if c.kind not in ("motion", "touch")] == list(plain.controls)
    assert [name for name, _ in sheet.control("motion").axes] == [f"{s}_{a}" for s in ("accel", "gyro") for a in "xyz"]


def test_it_reads_back_as_it_was_written() -> None:
    for sheet in (draw_up(DESIGN.layout, INFO), sheet_of(DESIGN)):
        again = parse_sheet(sheet_text(sheet), "a sheet")
        assert again.controls == sheet.controls


@pytest.mark.parametrize(
    ("one", "factor"),
    [
        (field(), 1.0),
        (field(unit=0xE011), 0.01 / 9.80665),
        (field(unit=0xE013), 0.0254 / 9.80665),
        (field(0x1_0040), None),
        (field(0x1_0040, unit=0xE011), 0.01 / 9.80665),
        (field(unit=0x1001), None),
    ],
    ids=["sensors page", "cm/s²", "in/s²", "a vector of anything", "a vector in cm/s²", "a time"],
)
def test_what_an_acceleration_is_in_g(one: Field, factor: float | None) -> None:
    assert in_g(one) == (None if factor is None else pytest.approx(factor))


@pytest.mark.parametrize(
    ("one", "factor"),
    [(field(0x20_0457), 1.0), (field(0x20_0457, unit=0xF012), 180.0 / np.pi), (field(0x1_0043, unit=0xF014), 1.0)],
    ids=["sensors page", "rad/s", "°/s"],
)
def test_what_a_turning_is_in_degrees_a_second(one: Field, factor: float) -> None:
    assert in_degrees_a_second(one) == pytest.approx(factor)


def columns(fields: list[Field], codes: list[int], t_ns: list[int] | None = None) -> list[Column]:
    times = np.array(t_ns or [5] * len(fields), dtype=np.int64)
    return [Column(f, times[k : k + 1], np.array([codes[k]])) for k, f in enumerate(fields)]


def test_physical_values() -> None:
    """By hand: full scale 400 · 10⁻² is 4 g, so 8192 of 32768 codes from the middle are about 1 g."""
    fields = [field(exponent=-2, physical=400)] * 3
    found = motion_signal(*columns(fields, [8192, 0, -8192]), accels=3)
    assert found.accel_unit == "g"
    assert found.accel[0] == pytest.approx([1.0, 0.0, -1.0], abs=1e-3)
    assert found.accel_step == pytest.approx([800e-2 / 65535] * 3)
    assert found.gyro.shape == (1, 0)


def test_without_a_unit_the_values_are_relative() -> None:
    found = motion_signal(*columns([field(0x1_0040)] * 3, [16384, 0, -32768]), accels=3)
    assert found.accel_unit == ""
    assert found.accel[0] == pytest.approx([50.0, 0.0, -100.0], abs=0.01)


def test_axes_of_several_reports_are_held() -> None:
    fields = [field()] * 3
    made = columns(fields, [1, 2, 3], [10, 20, 30])
    assert motion_signal(*made, accels=3).t_ns.tolist() == [30]


def test_a_contact_of_a_touch_pad() -> None:
    tip = Field("input", 0, 0xD_0042, 0, 1, False, 0, 1)
    x = Field("input", 0, 0x1_0030, 8, 16, False, 0, 1919)
    found = touch_signal(*columns([tip, x, x], [1, 0, 1919]))
    assert (bool(found.touched[0]), found.x_pct[0], found.y_pct[0]) == (True, 0.0, 100.0)


def test_bound_to_reports_block_by_block() -> None:
    sheet = sheet_of(DESIGN)
    binding = bind(sheet, parse_descriptor(DESIGN.descriptor))
    raw = np.zeros((2, DESIGN.layout.reports[0].width), np.uint8)
    raw[:, 0] = 4
    raw[1, 10:12] = (0x00, 0x20)  # acceleration x: 8192
    raw[1, 22] = 1  # the tip of the first contact
    block = ReportBlock(0, np.array([0, 4_000_000]), np.full(2, raw.shape[1], np.uint16), raw)
    motion, touch = (join_signals([binding.signals(block)] * 2)[c] for c in ("motion", "touch_1"))
    assert isinstance(motion, MotionSignal)
    assert isinstance(touch, TouchSignal)
    assert motion.accel.shape == (4, 3)
    assert motion.accel[1, 0] == pytest.approx(1.0, abs=1e-3)
    assert touch.touched.tolist() == [False, True, False, True]


def test_half_a_sensor_is_refused() -> None:
    text = sheet_text(sheet_of(DESIGN)).replace("accel_y = { usage = [0x20, 0x454] }\n", "")
    with pytest.raises(SheetError, match="all three axes"):
        parse_sheet(text, "a sheet")
