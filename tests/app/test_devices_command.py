"""`restpoint devices` says of each unit how it vibrates and where it tells its cell, without asking it anything."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from station.app.commands.devices import lines
from station.app.main import main
from station.app.shelf_of_sheets import SheetShelf
from station.sources.devices import list_devices
from tests.rig import pad
from tests.rig.fakehid import Rig, unavailable
from tests.rig.feel import haptic_descriptor, pid_descriptor
from tests.sheets.test_power import ASKED, PAD, STRENGTH_255


@pytest.fixture
def rig(monkeypatch: pytest.MonkeyPatch) -> Iterator[Rig]:
    if reason := unavailable():
        pytest.skip(reason)
    with Rig() as made:
        for name, value in made.variables().items():
            monkeypatch.setenv(name, value)
        yield made


SHEET = """format = "restpoint-sheet"
version = 1
[model]
name = "Pad by hand"
match = [{ vendor_id = 0x1209, product_id = 0x0001 }]
rumble = { both = "02 80 80", off = "02 00 00" }
[[control]]
id = "stick"
kind = "stick"
name = "Stick"
x = { usage = [0x01, 0x30] }
y = { usage = [0x01, 0x31] }
"""


@pytest.mark.parametrize(
    ("descriptor", "sheet", "vibrates", "cell"),
    [
        (pad.DESCRIPTOR, "", "in no way that is known; write the reports of its motors into a sheet (rumble)", "no"),
        (pad.DESCRIPTOR, SHEET, "by the reports in its sheet", "no"),
        (pid_descriptor(), "", "by effects, as HID's physical input devices do (PID)", "no"),
        (haptic_descriptor(), "", "by the haptics page of HID", "no"),
        (bytes.fromhex(PAD + STRENGTH_255 + "C0"), "", "in no way", "in its reports"),
        (bytes.fromhex(PAD + STRENGTH_255 + ASKED + "C0"), "", "in no way", "in its reports, when it is asked"),
    ],
    ids=["neither", "a sheet with motors", "effects", "haptics", "cell in reports", "cell in both kinds of reports"],
)
def test_how_it_vibrates_and_tells_its_cell(
    rig: Rig, tmp_path: Path, descriptor: bytes, sheet: str, vibrates: str, cell: str
) -> None:
    if sheet:
        (tmp_path / "pad.toml").write_text(sheet)
    device = rig.plug(descriptor, pad.VENDOR, pad.PRODUCT if sheet else 0x000A, pad.NAME, pad.SERIAL)
    (info,) = list_devices()
    said = {line.split(":")[0].strip(): line.split(": ", 1)[-1] for line in lines(info, SheetShelf(tmp_path))}
    assert said["vibrates"].startswith(vibrates)
    assert said["tells its cell"] == cell
    assert (device.written, device.set_features) == ([], [])


def test_what_is_listed_unasked_and_what_on_request(rig: Rig, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["devices", "--all"]) == 0
    assert "no HID device at all" in capsys.readouterr().out
    silent = rig.plug(pad.VENDOR_ONLY, pad.VENDOR, 9, "Odd pad", "")
    keyboard = rig.plug(pad.KEYBOARD, pad.VENDOR, 8, "Keys", "")
    assert main(["devices"]) == 0
    assert capsys.readouterr().out.startswith("No game controller is plugged in.")
    assert main(["devices", "--all"]) == 0
    said = capsys.readouterr().out
    assert "not opened: Odd pad does not say that it is a game controller; teach it if it is one." in said
    assert "not opened: Keys is a keyboard or mouse" in said
    assert (silent.opens, keyboard.opens) == (0, 0)
