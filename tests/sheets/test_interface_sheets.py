"""The sheets for pads that no HID driver presents, and how fields and devices are told apart without a descriptor."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from station import RESOURCES
from station.errors import SheetError
from station.hid.types import Layout, ReportBlock
from station.sheets.bind import bind
from station.sheets.library import match, sheets_in
from station.sheets.load import parse_sheet
from station.sheets.model import Sheet
from station.sheets.signals import ButtonSignal, Signal, StickSignal, TriggerSignal
from tests.rig import claimed
from tests.rig.claimed import Held

SHEETS = sheets_in(RESOURCES / "sheets")
KINDS: dict[str, tuple[Callable[[Held], bytes], dict[str, int]]] = {
    "ff5d01": (claimed.wired, claimed.WIRED_BITS),
    "ff5d81": (claimed.received, claimed.WIRED_BITS),
    "ff47d0": (claimed.started, claimed.STARTED_BITS),
}
OTHERS = (b"\x01\x03\x02", b"\x08\x80", b"\x00\x0f\x00\xf0" + b"\xff" * 25, b"\x00", b"\x02\x20\x01\x1c" + b"\xff" * 28)
"""what such pads say besides: lights, presence, what they are"""


def sheet_for(interface: str) -> Sheet:
    found = match(SHEETS, 1, 2, "", interface)
    assert found is not None
    return found


def signals(sheet: Sheet, *reports: bytes) -> dict[str, Signal]:
    raw = np.zeros((len(reports), 64), np.uint8)
    for row, report in zip(raw, reports, strict=True):
        row[: len(report)] = list(report)
    sizes = np.array([len(report) for report in reports], np.uint16)
    block = ReportBlock(0, np.arange(len(reports), dtype=np.int64), sizes, raw)
    return bind(sheet, Layout((), (), False)).signals(block)


@pytest.mark.parametrize("interface", KINDS)
def test_every_control_is_read_alone_and_nothing_else_is(interface: str) -> None:
    packed, places = KINDS[interface]
    sheet = sheet_for(interface)
    for name in places:
        read = signals(sheet, *OTHERS, packed(Held({name})), *OTHERS)
        closed = {n for n, s in read.items() if isinstance(s, ButtonSignal) and s.closed.any()}
        assert closed == {name}
        assert all(len(s.t_ns) == 1 for n, s in read.items() if n != "middle")
    buttons = {c.id for c in sheet.controls if c.kind == "button"}
    assert buttons == set(places) | {"middle"}


@pytest.mark.parametrize("interface", KINDS)
def test_sticks_and_triggers_up_and_right_positive(interface: str) -> None:
    packed, _ = KINDS[interface]
    axes = {"left_x": 32767, "left_y": 16384, "right_x": -32768, "right_y": -16384}
    read = signals(sheet_for(interface), packed(Held((), axes, left=1.0, right=0.2)))
    left, right = read["left_stick"], read["right_stick"]
    assert isinstance(left, StickSignal)
    assert isinstance(right, StickSignal)
    assert (left.x_pct[0], right.x_pct[0]) == (100.0, -100.0)
    assert left.y_pct[0] == pytest.approx(50, abs=0.01)
    assert right.y_pct[0] == pytest.approx(-50, abs=0.01)
    pulls = [s.pct[0] for s in (read["left_trigger"], read["right_trigger"]) if isinstance(s, TriggerSignal)]
    assert pulls == pytest.approx([100.0, 20.0], abs=0.1)


def test_the_middle_button_of_a_started_pad_has_a_report_of_its_own() -> None:
    read = signals(sheet_for("ff47d0"), claimed.started(Held()), claimed.middle(True), claimed.middle(False))
    middle = read["middle"]
    assert isinstance(middle, ButtonSignal)
    assert middle.closed.tolist() == [True, False]


@pytest.mark.parametrize("interface", KINDS)
def test_whatever_runs_the_motors_can_stop_them(interface: str) -> None:
    rumble = sheet_for(interface).rumble
    assert set(rumble) == {"left", "right", "both", "off"}
    assert len({len(report) for report in rumble.values()}) == 1


def test_a_sheet_of_the_model_goes_before_that_of_the_class() -> None:
    own = Sheet("Own", match=((1, 2),))
    assert match((*SHEETS, own), 1, 2, "", "ff5d01") is own
    assert match(SHEETS, 1, 2, "", "") is None
    assert match(SHEETS, 1, 2, "", "ff5d02") is None


def _list(key: str, entry: str, times: int) -> str:
    return f"{key} = [{', '.join([entry] * times)}]"


HEAD = 'format = "restpoint-sheet"\nversion = 1\n[model]\nname = "P"\n'


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ("open = [{ tries = 2 }]", "step 1 of open"),
        ('open = [{ send = "05", within_ms = 10 }]', "but not for what"),
        ('open = [{ expect = "20" }]', "within_ms"),
        ('open = [{ expect = "20", within_ms = 9000 }]', "within_ms"),
        ('open = [{ expect = "20", within_ms = 5000, tries = 10 }]', "30 seconds"),
        ('open = [{ expect = "20", within_ms = 10, tries = 0 }]', "tries"),
        ('open = [{ send = "05", sends = "06" }]', "sends"),
        ('answers = [{ to = "07" }]', "entry 1 of answers"),
        ('answers = [{ to = "07", send = "01", copy = [1] }]', "copy"),
        ('answers = [{ to = "00 01 02 03 04 05 06 07 08", send = "01" }]', "8 bytes"),
        ('keep_alive = { send = "05", every_ms = 1 }', "every_ms"),
        ("counter = 64", "counter"),
        (f'open = ["{"00" * 4097}"]', "1 to 4096 bytes"),
        (f'open = ["{"00" * 100_000}"]', "1 to 4096 bytes"),
        ('open = [""]', "1 to 4096 bytes"),
        (_list("open", '"01"', 65), "65 entries"),
        ('open = [{ expect = "20", within_ms = 7_200_000 }]', "1 to 5000"),
        ('open = [{ expect = "20", within_ms = -1 }]', "1 to 5000"),
        ('open = [{ expect = "20", within_ms = 1e9 }]', "whole number"),
        ('open = [{ expect = "20", within_ms = 10, tries = 1_000_000_000_000 }]', "1 to 10"),
        (_list("open", '{ expect = "20", within_ms = 5000 }', 7), "30 seconds"),
        ('open = [{ expect = "00 01 02 03 04 05 06 07 08", within_ms = 10 }]', "8 bytes"),
        (_list("answers", '{ to = "07", send = "01" }', 17), "17 entries"),
        ('answers = [{ to = "", send = "01" }]', "1 to 8 bytes"),
        ('keep_alive = { send = "05", every_ms = 0 }', "20 to 600000"),
        ('keep_alive = { send = "05", every_ms = -20 }', "20 to 600000"),
        ('keep_alive = { send = "05", every_ms = 86_400_000 }', "20 to 600000"),
        ('keep_alive = { send = "' + "05" * 5000 + '", every_ms = 20 }', "1 to 4096 bytes"),
        ('interfaces = ["ff 5d"]', "ff 5d 01"),
        ("interfaces = [1]", "ff 5d 01"),
        ('interfaces = ["03 01 01"]', "a driver of the system presents; take it out"),
        ('interfaces = ["ff 5d 01", "03 00 00"]', "a driver of the system presents; take it out"),
        ('rumble = { both = "00 08 00 00", off = "00 08 00 00" }', "off and both send the same bytes"),
        ('rumble = { left = "01", right = "00 02", off = "00 02" }', "off and right send the same bytes"),
    ],
)
def test_what_cannot_be_said_is_refused_in_one_sentence(lines: str, says: str) -> None:
    with pytest.raises(SheetError) as refused:
        parse_sheet(HEAD + lines, "p.toml")
    said = str(refused.value)
    assert says in said
    assert said.startswith("p.toml: ")
    assert said.endswith(".")
    assert "\n" not in said
    assert len(said) < 250


def test_a_field_is_of_a_report_by_its_id_or_by_its_beginning() -> None:
    at = 'at = { field = { report = 1, bit = 9, bits = 1, begins = "01" } }'
    control = f'[[control]]\nid = "a"\nkind = "button"\nname = "A"\n{at}'
    with pytest.raises(SheetError, match="take one of them out"):
        parse_sheet(HEAD + control, "p.toml")
