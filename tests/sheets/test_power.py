"""What a unit says of its cell, by the usages of HID."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from station.checks.link import Link
from station.checks.types import Take
from station.hid.descriptor import parse_descriptor
from station.hid.types import ReportBlock
from station.sheets.bind import bind
from station.sheets.drawup import draw_up
from station.sheets.model import Control, ExplicitField, Place, Sheet
from station.sheets.power import Power, cell_reports, power_in, power_of, system_power
from station.sources.port import DeviceInfo

INFO = DeviceInfo("k", 0x1209, 7, "Pad with a cell", "", "usb", b"")
PAD = "05 01 09 05 A1 01 85 01 09 30 09 31 15 00 26 FF 00 75 08 95 02 81 02"
STRENGTH_255 = "05 06 09 20 95 01 81 02"
"""Battery Strength with the range 0…255 that is in force"""
CHARGE_REPORT = (
    "05 85 85 02 09 65 15 00 25 64 75 08 95 01 81 02 09 44 09 46 09 D0 25 01 75 01 95 03 81 02 75 05 95 01 81 01"
)
"""report 2: Absolute State Of Charge 0…100, then the flags Charging, Fully Charged, AC Present"""


def said(descriptor: str, *reports: str) -> Power:
    """What a device with that descriptor says with these reports, by the sheet drawn up for it."""
    layout = parse_descriptor(bytes.fromhex(descriptor))
    sheet = draw_up(layout, INFO)
    raw = [bytes.fromhex(report).ljust(8, b"\0") for report in reports]
    block = ReportBlock(
        0,
        np.arange(len(raw), dtype=np.int64),
        np.array([len(bytes.fromhex(r)) for r in reports], np.uint16),
        np.frombuffer(b"".join(raw), np.uint8).reshape(-1, 8),
    )
    return power_of(sheet, bind(sheet, layout).signals(block))


@pytest.mark.parametrize(
    ("descriptor", "reports", "expected"),
    [
        pytest.param(PAD + "C0", ["01 80 80"], Power(), id="a pad without a cell says nothing"),
        pytest.param(PAD + STRENGTH_255 + "C0", ["01 80 80 FF"], Power(100.0, 100 / 255), id="a full cell of 0 to 255"),
        pytest.param(PAD + STRENGTH_255 + "C0", ["01 80 80 33"], Power(20.0, 100 / 255), id="a fifth of 0 to 255"),
        pytest.param(
            PAD + CHARGE_REPORT + "C0", ["02 4B 05"], Power(75.0, 1.0, True, False, True), id="charging at 75 %"
        ),
        pytest.param(
            PAD + CHARGE_REPORT + "C0", ["02 4B 01", "02 64 06"], Power(100.0, 1.0, False, True, True),
            id="the newest word counts",
        ),
        pytest.param(PAD + CHARGE_REPORT + "C0", ["01 80 80"], Power(), id="not said yet"),
    ],
)  # fmt: skip
def test_what_it_says_of_its_cell(descriptor: str, reports: list[str], expected: Power) -> None:
    found = said(descriptor, *reports)
    assert found.level_pct == (None if expected.level_pct is None else pytest.approx(expected.level_pct))
    assert found.step_pct == pytest.approx(expected.step_pct)
    assert (found.charging, found.full, found.powered) == (expected.charging, expected.full, expected.powered)


def test_a_sheet_may_give_the_bits_itself() -> None:
    level, flag = ExplicitField(0, 0, 4, max=10), ExplicitField(0, 4, 1)
    sheet = Sheet(
        "Pad",
        controls=(
            Control("level", "battery", "Cell", at=Place(field=level)),
            Control("charges", "battery", "Charges", at=Place(field=flag)),
        ),
    )
    block = ReportBlock(0, np.zeros(1, np.int64), np.ones(1, np.uint16), np.array([[0x17]], np.uint8))
    found = power_of(sheet, bind(sheet, parse_descriptor(bytes.fromhex(PAD + "C0"))).signals(block))
    assert (found.level_pct, found.charging) == (pytest.approx(70.0), True)


def test_the_link_check_shows_it_without_judging_it() -> None:
    layout = parse_descriptor(bytes.fromhex(PAD + STRENGTH_255 + "C0"))
    sheet = draw_up(layout, INFO)
    raw = np.array([[1, 0x80, 0x80, 0x33]], np.uint8)
    block = ReportBlock(0, np.zeros(1, np.int64), np.full(1, 4, np.uint16), raw)
    signals = bind(sheet, layout).signals(block)
    take = Take(sheet, None, signals, 0, 10**10, block.t_ns, disconnects_ns=(5,))
    battery = next(r for r in Link().assess(take, {}).readings if r.name == "battery")
    assert (battery.value, battery.unit, battery.limit) == (pytest.approx(20.0), "%", None)
    assert battery.uncertainty > 0


# --- told when asked ----------------------------------------------------------------------------------

ASKED = "85 07 05 85 09 65 15 00 25 64 75 08 95 01 B1 02 09 44 09 46 09 D0 25 01 75 01 95 03 B1 02 75 05 95 01 B1 03"
"""feature report 7: Absolute State Of Charge 0…100, Charging, Fully Charged, AC Present"""
ASKED_STRENGTH = "85 08 05 06 09 20 15 00 26 FF 00 75 08 95 01 B1 02"
"""feature report 8: Battery Strength 0…255"""


@pytest.mark.parametrize(
    ("descriptor", "reports", "expected"),
    [
        pytest.param(PAD + ASKED + "C0", {7: "07 4B 05"}, Power(75.0, 1.0, True, False, True), id="level and flags"),
        pytest.param(PAD + ASKED + "C0", {7: "07 4B"}, Power(75.0, 1.0), id="shorter than announced: what it holds"),
        pytest.param(PAD + ASKED + "C0", {7: "07 FF 00"}, Power(None, 0.0, False, False, False), id="out of range"),
        pytest.param(PAD + ASKED + "C0", {7: "05 4B 05"}, Power(), id="another report's answer"),
        pytest.param(PAD + ASKED + "C0", {}, Power(), id="not answered"),
        pytest.param(PAD + ASKED_STRENGTH + "C0", {8: "08 33"}, Power(20.0, 100 / 255), id="strength, a fifth"),
        pytest.param(
            PAD + ASKED + ASKED_STRENGTH + "C0", {7: "07 4B 00", 8: "08 FF"},
            Power(100.0, 100 / 255, False, False, False), id="of two levels, strength",
        ),
        pytest.param("05 01 09 05 A1 01 09 30 15 00 26 FF 00 75 08 95 01 81 02 05 06 09 20 B1 02 C0", {0: "80"},
                     Power(100 * 128 / 255, 100 / 255), id="without report ids"),
    ],
)  # fmt: skip
def test_what_feature_reports_say(descriptor: str, reports: dict[int, str], expected: Power) -> None:
    layout = parse_descriptor(bytes.fromhex(descriptor))
    found = power_in(layout, {key: bytes.fromhex(report) for key, report in reports.items()})
    assert found == replace(
        expected, level_pct=None if expected.level_pct is None else pytest.approx(expected.level_pct)
    )


def test_which_reports_to_ask_for() -> None:
    layout = parse_descriptor(bytes.fromhex(PAD + STRENGTH_255 + ASKED + ASKED_STRENGTH + "C0"))
    assert cell_reports(layout) == (7, 8)
    assert cell_reports(parse_descriptor(bytes.fromhex(PAD + STRENGTH_255 + "C0"))) == ()


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        # the values that Documentation/ABI/testing/sysfs-class-power lists [from memory]
        ({"capacity": "64", "status": "Discharging"}, Power(64.0, 1.0, False)),
        ({"capacity": "100", "status": "Full"}, Power(100.0, 1.0, False, True)),
        ({"capacity": "5", "status": "Charging"}, Power(5.0, 1.0, True)),
        ({"capacity": "5", "status": "Not charging"}, Power(5.0, 1.0, False)),
        ({"capacity": "5", "status": "Unknown"}, Power(5.0, 1.0)),
        ({"capacity_level": "Low", "status": "Full"}, Power(None, 0, False, True, reason="the system says only: low")),
        ({"capacity_level": "Unknown"}, Power()),
        ({"capacity": "101"}, Power()),
        ({"capacity": "-1"}, Power()),
        ({"capacity": "², drop table"}, Power()),
        ({}, Power()),
    ],
)  # fmt: skip
def test_what_the_system_says(said: dict[str, str], expected: Power) -> None:
    assert system_power(said) == expected


def test_the_link_check_shows_what_was_told_when_asked_unless_the_reports_say_it() -> None:
    layout = parse_descriptor(bytes.fromhex(PAD + STRENGTH_255 + "C0"))
    sheet = draw_up(layout, INFO)
    raw = np.array([[1, 0x80, 0x80, 0x33]], np.uint8)
    signals = bind(sheet, layout).signals(ReportBlock(0, np.zeros(1, np.int64), np.full(1, 4, np.uint16), raw))
    told = Power(75.0, 1.0, charging=True)

    def shown(take: Take) -> dict[str, float | None]:
        return {r.name: r.value for r in Link().assess(take, {}).readings if r.name in ("battery", "charging")}

    times = np.zeros(1, np.int64)
    both = Take(sheet, None, signals, 0, 10**10, times, disconnects_ns=(5,), told=told)
    assert shown(both) == {"battery": pytest.approx(20.0), "charging": 1.0}
    assert shown(replace(both, signals={})) == {"battery": 75.0, "charging": 1.0}
    silent = replace(both, signals={}, told=Power(reason="the system says only: low"))
    assert shown(silent) == {"battery": None}
    reading = next(r for r in Link().assess(silent, {}).readings if r.name == "battery")
    assert reading.reason == "the system says only: low"
