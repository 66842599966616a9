"""The rumble ask reaches a device through the unmodified hidapi, as output or as feature reports."""

from __future__ import annotations

import time

import pytest

from station.bench.memory import MemoryRecorder
from station.bench.session import Session
from station.bench.types import Answer, Step
from station.hid.descriptor import parse_descriptor
from station.records.types import Unit
from station.sheets.model import Sheet
from station.sources.port import DeviceInfo
from station.sources.usb import UsbSource
from tests.rig import fakehid, pad

RUMBLE = Step("rumble", "", "Rumble", "whole unit", "whole unit", True)


@pytest.mark.skipif(bool(fakehid.unavailable()), reason=fakehid.unavailable() or "available")
@pytest.mark.parametrize(
    ("on", "off"),
    [
        pytest.param(b"\x02\x80\x80", b"\x02\x00\x00", id="output reports"),
        pytest.param(b"\x03" + bytes(8 * [9]), b"\x03" + bytes(8), id="feature reports"),
    ],
)
def test_the_motors_of_the_sheet_are_run_and_stopped(monkeypatch: pytest.MonkeyPatch, on: bytes, off: bytes) -> None:
    with fakehid.Rig() as rig:
        for name, value in rig.variables().items():
            monkeypatch.setenv(name, value)
        device = rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL)
        info = DeviceInfo("/dev/hidraw0", *device.ids, device.name, device.serial, "usb", device.descriptor, (0x10005,))
        source = UsbSource(info)
        try:
            source.wait_open()
            sheet = Sheet("Pad", rumble={"both": on, "off": off})
            layout = parse_descriptor(pad.DESCRIPTOR)
            session = Session(
                source, sheet, layout, Unit("u", "T-1", "Pad"), "intake", MemoryRecorder(), steps=(RUMBLE,)
            )
            session.tick()
            session.do(Answer("pass"))
            session.tick()
            got = device.set_features if on[0] == 3 else device.written
            end = time.monotonic() + 20
            while len(got) < 2 and time.monotonic() < end:
                time.sleep(0.002)
            assert got == [on, off]
        finally:
            source.close()
            assert source.join()
