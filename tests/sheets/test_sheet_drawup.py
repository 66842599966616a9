"""A sheet drawn up from a descriptor alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.bench.plan import plan
from station.hid.descriptor import parse_descriptor
from station.hid.types import Collection, Field, Layout, ReportLayout
from station.sheets.bind import bind
from station.sheets.drawup import draw_up
from station.sheets.load import parse_sheet, sheet_text
from station.sheets.shared import remark
from station.sources.port import DeviceInfo
from tests.rig import pad
from tests.rig.feel import pid_descriptor

INFO = DeviceInfo("k", 0x1209, 7, "Nameless pad", "", "usb", b"")
X, Y, Z, RX, RY, RZ = range(0x10030, 0x10036)
HAT, SLIDER, ACCELERATOR, BRAKE = 0x10039, 0x10036, 0x200C4, 0x200C5
PAD = (Collection(1, 0x10005),)
WIDE = {"bit_width": 16, "logical_max": 65535}


def fields(*usages: int, **more: object) -> list[Field]:
    made = []
    for i, usage in enumerate(usages):
        bits = {"bit_width": 1, "logical_max": 1} if usage >> 16 == 9 else {"bit_width": 8, "logical_max": 255}
        values = {"signed": False, "logical_min": 0, "collections": PAD, **bits, **more}
        made.append(Field("input", 0, usage, 16 * i, **values))  # type: ignore[arg-type]
    return made


def layout_of(*parts: Field) -> Layout:
    return Layout((ReportLayout("input", 0, 64, parts),), (0x10005,), False)


def kinds(*parts: Field) -> dict[str, str]:
    return {control.id: control.kind for control in draw_up(layout_of(*parts), INFO).controls}


def test_a_pad_is_drawn_up_in_hid_words() -> None:
    layout = layout_of(*fields(X, Y, Z, RZ, ACCELERATOR, BRAKE, HAT, 0x90001, 0x90005))
    sheet = draw_up(layout, INFO)
    assert sheet.drawn_up
    assert (sheet.name, sheet.match) == ("Nameless pad", ((0x1209, 7),))
    assert [(c.id, c.kind, c.name, c.zone, c.twin) for c in sheet.controls] == [
        ("x_y", "stick", "X and Y", "left hand", "z_rz"),
        ("z_rz", "stick", "Z and Rz", "right hand", "x_y"),
        ("accelerator", "trigger", "Accelerator", "top", "brake"),
        ("brake", "trigger", "Brake", "top", "accelerator"),
        ("hat_switch", "hat", "Hat Switch", "left hand", None),
        ("button_1", "button", "Button 1", "centre", None),
        ("button_5", "button", "Button 5", "centre", None),
    ]
    bind(sheet, layout)  # what is drawn up fits the device it was drawn up from
    assert parse_sheet(sheet_text(sheet), "again") == replace(sheet, drawn_up=False)


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        (fields(X, Y, Z, RX, RY), {"x_y": "stick", "rx_ry": "stick", "z": "trigger"}),
        (fields(X, Y, RZ, SLIDER), {"x_y": "stick", "rz": "trigger", "slider": "trigger"}),
        (fields(X, Y, Z, RX, RY, RZ), {"x_y": "stick", "z_rz": "stick", "rx": "trigger", "ry": "trigger"}),
        (
            [*fields(X, Y, RX, RY, **WIDE), *fields(Z, RZ)],
            {"x_y": "stick", "rx_ry": "stick", "z": "trigger", "rz": "trigger"},
        ),
        (fields(X, 0x90001), {"x": "trigger", "button_1": "button"}),
        (fields(X, Y, is_relative=True), {}),
        (
            [*fields(X, Y), *fields(0x850065, 0x850044, collections=(Collection(1, 0x850000),))],
            {"x_y": "stick", "absolute_state_of_charge": "battery", "charging": "battery"},
        ),
        (fields(0xFF000001, 0x60020, 0x10090), {"battery_strength": "battery", "d_pad_up": "button"}),
        (
            [Field("input", 0, 0, 0, 8, False, 1, 2, is_array=True, usages=(0x90001, 0x90002), collections=PAD)] * 2,
            {"button_1": "button", "button_2": "button"},
        ),
        (
            [*fields(X, Y), *fields(Z, 0x90009, collections=(Collection(1, 0x10002),))],
            {"x_y": "stick"},
        ),
        (
            [*fields(HAT), *fields(HAT, bit_width=4, logical_max=7)],
            {"hat_switch": "hat", "hat_switch_2": "hat"},
        ),
    ],
    ids=[
        "Rx and Ry are the second stick where Z has no Rz",
        "a twist and a slider are triggers",
        "with both pairs Z and Rz are the stick",
        "with both pairs the one scaled like X is the stick",
        "X alone is a trigger",
        "relative axes are no sticks",
        "what a cell says in a collection of its own counts",
        "vendor data is left out, a battery is not",
        "buttons in an array",
        "a mouse beside the pad is left out",
        "a second hat is named by its bits",
    ],
)
def test_axes_and_buttons_become(parts: list[Field], expected: dict[str, str]) -> None:
    assert kinds(*parts) == expected


def test_a_device_without_a_name_or_input_still_gets_a_sheet() -> None:
    sheet = draw_up(Layout((), (), False), replace(INFO, product="\x07"))
    assert (sheet.name, sheet.controls) == ("Device 1209:0007", ())


@pytest.mark.parametrize(
    ("usages", "says"),
    [
        pytest.param((X, Y, Z, RX, RY), "Z may be two triggers presented as one axis", id="one axis beside two sticks"),
        pytest.param((X, Y, Z, RZ, RX, RY), "", id="two axes beside two sticks"),
        pytest.param((X, Y, SLIDER), "", id="one axis beside one stick"),
        pytest.param((X, Y, RX, RY), "", id="no axis"),
    ],
)
def test_an_axis_that_may_be_two_triggers_is_said(usages: tuple[int, ...], says: str) -> None:
    said = remark(draw_up(layout_of(*fields(*usages)), INFO))
    assert said.startswith(says)
    assert bool(said) is bool(says)
    assert not said or "restpoint learn" in said


def test_a_device_that_vibrates_by_the_standards_is_asked_for_it() -> None:
    asked = draw_up(parse_descriptor(pid_descriptor()), INFO)
    assert [ask.id for ask in asked.asks] == ["rumble"]
    assert [step.check for step in plan(asked) if step.person_answers] == ["rumble"]
    assert draw_up(parse_descriptor(pad.DESCRIPTOR), INFO).asks == ()
