"""The rumble ask reaches a device through the unmodified hidapi: by the sheet's bytes, by effects, by haptics."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

import pytest

from station.bench.memory import MemoryRecorder
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Answer, Fault, Step
from station.hid.descriptor import parse_descriptor
from station.records.types import Unit
from station.sheets.bind import bind
from station.sheets.model import Sheet
from station.sources.port import DeviceInfo
from station.sources.usb import UsbSource
from tests.rig import fakehid, pad
from tests.rig.feel import HapticPad, PidPad, haptic_descriptor, pid_descriptor

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
                UnitOnBench(Unit("u", "T-1", "Pad"), source, bind(sheet, layout)),
                VisitPlan(steps=(RUMBLE,)),
                BenchSetup(MemoryRecorder()),
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


@pytest.fixture
def ask(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[PidPad | HapticPad, bytes], Chain]]:
    """A rumble ask with a device on the rig."""
    chains: list[Chain] = []
    with fakehid.Rig() as rig:
        for name, value in rig.variables().items():
            monkeypatch.setenv(name, value)

        def made(feel: PidPad | HapticPad, descriptor: bytes) -> Chain:
            chains.append(Chain(rig, feel, descriptor))
            return chains[-1]

        yield made
        for chain in chains:
            chain.source.close()
            assert chain.source.join()


class Chain:
    """A device that vibrates by a standard, behind the whole path: session, source, reader process, hidapi."""

    def __init__(self, rig: fakehid.Rig, feel: PidPad | HapticPad, descriptor: bytes) -> None:
        self.feel = feel
        self.device = rig.plug(descriptor, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL)
        self.device.on_written, self.device.on_feature = feel.written, feel.feature
        self.device.on_get = feel.get
        node = f"/dev/hidraw{self.device.n}"
        info = DeviceInfo(node, *self.device.ids, pad.NAME, pad.SERIAL, "usb", descriptor, (0x10005,))
        self.source = UsbSource(info)
        self.source.wait_open()
        layout = parse_descriptor(descriptor)
        self.session = Session(
            UnitOnBench(Unit("u", "T-1", "Pad"), self.source, bind(Sheet("Pad"), layout)),
            VisitPlan(steps=(RUMBLE,)),
            BenchSetup(MemoryRecorder()),
        )

    def until(self, condition: Callable[[], object]) -> None:
        end = time.monotonic() + 20
        while not condition():
            assert time.monotonic() < end, "it did not happen"
            self.session.tick()
            time.sleep(0.002)


@pytest.mark.skipif(bool(fakehid.unavailable()), reason=fakehid.unavailable() or "available")
@pytest.mark.parametrize(
    ("feel", "descriptor"),
    [
        pytest.param(PidPad, pid_descriptor(), id="effects"),
        pytest.param(HapticPad, haptic_descriptor(), id="haptics"),
        pytest.param(HapticPad, haptic_descriptor(one_report=True), id="haptics, one report"),
    ],
)
def test_a_unit_vibrates_by_the_standards_and_is_stopped(
    ask: Callable[[PidPad | HapticPad, bytes], Chain], feel: type[PidPad | HapticPad], descriptor: bytes
) -> None:
    chain = ask(feel(descriptor), descriptor)
    chain.until(lambda: chain.feel.felt == [{0}])
    chain.until(lambda: chain.feel.felt == [{0}, set(), {1}])
    chain.session.do(Answer("pass"))
    chain.session.tick()
    chain.until(lambda: chain.feel.felt == [{0}, set(), {1}, set()])
    chain.session.close()
    chain.source.close()
    assert chain.source.join()
    assert chain.feel.faults == []
    if isinstance(chain.feel, PidPad):
        assert (chain.feel.effects, chain.feel.playing) == ({}, set())


@pytest.mark.skipif(bool(fakehid.unavailable()), reason=fakehid.unavailable() or "available")
def test_closing_the_bench_at_once_still_stops_them(ask: Callable[[PidPad | HapticPad, bytes], Chain]) -> None:
    descriptor = pid_descriptor()
    chain = ask(PidPad(descriptor), descriptor)
    chain.until(lambda: chain.feel.felt == [{0}])
    chain.session.close()
    chain.source.close()
    assert chain.source.join()
    assert chain.feel.felt == [{0}, set()]
    assert isinstance(chain.feel, PidPad)
    assert chain.feel.effects == {}


@pytest.mark.skipif(bool(fakehid.unavailable()), reason=fakehid.unavailable() or "available")
def test_a_full_pool_is_told_in_a_sentence(ask: Callable[[PidPad | HapticPad, bytes], Chain]) -> None:
    descriptor = pid_descriptor()
    chain = ask(PidPad(descriptor, room=0), descriptor)
    faults: list[str] = []

    def told() -> bool:
        faults.extend(e.message for e in chain.session.take_events() if isinstance(e, Fault))
        return bool(faults)

    chain.until(told)
    assert faults[0].startswith("The unit has no room for a vibration effect")
    assert chain.feel.felt == []
