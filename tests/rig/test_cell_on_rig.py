"""The cell of a unit through the whole path: asked for by the session, answered by device and kernel, in the result."""

from __future__ import annotations

import time

import pytest

from station.bench.memory import MemoryRecorder
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Go, Step
from station.hid.descriptor import parse_descriptor
from station.records.types import Unit
from station.sheets.bind import bind
from station.sheets.drawup import draw_up
from station.sources.port import DeviceInfo
from station.sources.usb import UsbSource
from tests.rig import fakehid, pad
from tests.sheets.test_power import ASKED, PAD

LINK = Step("link", "", "Link", "whole unit", "whole unit")
TOLD = ("battery", "charging", "fully_charged", "powered")


@pytest.mark.skipif(bool(fakehid.unavailable()), reason=fakehid.unavailable() or "available")
@pytest.mark.parametrize(
    ("asked", "kernel", "told"),
    [
        (b"\x07\x4b\x05", {}, {"battery": 75.0, "charging": 1.0, "fully_charged": 0.0, "powered": 1.0}),
        (b"\x07\x4b", {"capacity": 60, "status": "Full"}, {"battery": 75.0, "charging": 0.0, "fully_charged": 1.0}),
        (None, {"capacity": 60, "status": "Discharging"}, {"battery": 60.0, "charging": 0.0}),
        (None, {}, {"battery": None}),
    ],
    ids=["when asked", "partly when asked, partly by the kernel", "by the kernel", "not at all"],
)
def test_the_link_checks_result_holds_what_was_told(
    monkeypatch: pytest.MonkeyPatch, asked: bytes | None, kernel: dict[str, object], told: dict[str, float | None]
) -> None:
    descriptor = bytes.fromhex(PAD + ASKED + "C0")
    with fakehid.Rig() as rig:
        for name, value in rig.variables().items():
            monkeypatch.setenv(name, value)
        device = rig.plug(descriptor, pad.VENDOR, 0x000A, pad.NAME, pad.SERIAL)
        device.on_get = {7: asked}.get
        if kernel:
            device.battery(**kernel)
        info = DeviceInfo("/dev/hidraw0", *device.ids, device.name, device.serial, "usb", descriptor, (0x10005,))
        source, recorder = UsbSource(info), MemoryRecorder()
        try:
            source.wait_open()
            layout = parse_descriptor(descriptor)
            session = Session(
                UnitOnBench(Unit("u", "T-1", "Pad"), source, bind(draw_up(layout, info), layout)),
                VisitPlan(steps=(LINK,)),
                BenchSetup(recorder),
            )
            end = time.monotonic() + 20
            while not (session._engine.told.level_pct or session._engine.told.reason):
                assert time.monotonic() < end, "nothing was told"
                session.tick()
                time.sleep(0.002)
            session.do(Go())
            session.tick()
            for n in range(50):
                device.feed(bytes((1, n, n)))
            device.unplug()  # for the link check that is its result
            while not recorder.results:
                assert time.monotonic() < end, "no result came"
                session.tick()
                time.sleep(0.002)
        finally:
            source.close()
            assert source.join()
    readings = {r.name: r.value for r in recorder.results[0].assessment.readings if r.name in TOLD}
    assert readings == told
