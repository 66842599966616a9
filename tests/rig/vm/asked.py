"""Pads through /dev/uhid that are asked on a real kernel: their cell, a report without id, motors by effects."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from station.bench.memory import MemoryRecorder
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Answer as Said
from station.bench.types import Step
from station.hid.descriptor import parse_descriptor
from station.records.types import Unit
from station.sheets.bind import bind
from station.sheets.model import Sheet
from station.sheets.power import power_in, system_power
from station.sources.port import Answer, DeviceInfo, Request
from station.sources.usb import UsbSource
from tests.rig import pad
from tests.rig.feel import PidPad, pid_descriptor
from tests.rig.vm import uhid
from tests.rig.vm.talk import until

STRENGTH = pad.DESCRIPTOR[:-1] + bytes.fromhex("85 08 05 06 09 20 15 00 26 FF 00 75 08 95 01 B1 02 C0")
"""the pad with Battery Strength 0…255 as feature report 8"""
PLAIN = pad.UNNUMBERED[:-1] + bytes.fromhex("06 00 FF 09 03 75 08 95 04 B1 02 C0")
"""the pad without report ids, with a feature report of four bytes"""
FIFTH = b"\x08\x33"
RUMBLE = Step("rumble", "", "Rumble", "whole unit", "whole unit", True)
BUSES = {"USB": uhid.USB, "Bluetooth": uhid.BLUETOOTH}


def told(v: Any, appeared: Callable[[], DeviceInfo]) -> None:
    """All of them. `v` is the guest's verdict, `appeared` waits for the pad to be listed."""
    for name, bus in BUSES.items():
        with plugged(STRENGTH, bus, appeared, lambda device: device.features.update({8: FIFTH})) as (_, source):
            cell(v, source, name)
        with plugged(pid_descriptor(), bus, appeared) as (device, source):
            effects(v, device, source, name)
    with plugged(PLAIN, uhid.BLUETOOTH, appeared, lambda device: device.features.update({0: b"ABCD"})) as (_, source):
        given = answered(source.ask_feature(0))
        v.must(given == Answer(b"ABCD"), f"a report without id came as {given}")


@contextmanager
def plugged(
    descriptor: bytes,
    bus: int,
    appeared: Callable[[], DeviceInfo],
    ready: Callable[[uhid.Uhid], object] = lambda device: None,
) -> Iterator[tuple[uhid.Uhid, UsbSource]]:
    """A pad that is there and open."""
    device = uhid.Uhid(descriptor, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL, bus)
    ready(device)
    source = UsbSource(appeared())
    try:
        source.wait_open()
        yield device, source
    finally:
        device.unplug()
        until(lambda: source.status().state == "lost", "the news that the device is gone")
        source.close()
        source.join()


def answered(request: Request) -> Answer:
    """The answer, waited for."""
    until(lambda: request.answer, "an answer", 15)
    assert request.answer is not None
    return request.answer


def cell(v: Any, source: UsbSource, name: str) -> None:
    """A fifth of a full cell: by the feature report, and by the kernel, which asks the pad for it too."""
    asked = power_in(parse_descriptor(STRENGTH), {8: answered(source.ask_feature(8)).report})
    system = answered(source.ask_system()).system
    kept = system_power(system)
    v.must(asked.level_pct == 20.0, f"asked over {name}, the cell is at {asked.level_pct} %")
    v.must(kept.level_pct == 20.0, f"the kernel says of the cell over {name}: {dict(system)}")
    v.tell(
        f"cell over {name}: {asked.level_pct} % when asked, the kernel says {dict(system)}",
        **{f"kernel_{name}": system},
    )


def effects(v: Any, device: uhid.Uhid, source: UsbSource, name: str) -> None:
    """Left in the second turn: the motors ran one after the other, stand still, and nothing stays taken."""
    feel = PidPad(pid_descriptor())
    device.on_written, device.on_feature, device.on_get = feel.written, feel.feature, feel.get
    session = Session(
        UnitOnBench(Unit("u", "VM-1", "Pad"), source, bind(Sheet("Pad"), parse_descriptor(pid_descriptor()))),
        VisitPlan(steps=(RUMBLE,)),
        BenchSetup(MemoryRecorder()),
    )

    def ticked(condition: Callable[[], object]) -> Callable[[], object]:
        return lambda: (session.tick(), condition())[1]

    began = time.perf_counter()
    until(ticked(lambda: feel.felt), "the first motor")
    ready_s = time.perf_counter() - began
    until(ticked(lambda: feel.felt == [{0}, set(), {1}]), "the second motor")
    session.do(Said("pass"))
    until(ticked(lambda: feel.felt == [{0}, set(), {1}, set()] and not feel.effects), "the motors to stop")
    v.must(not feel.faults, f"not understood over {name}: {feel.faults}")
    v.tell(
        f"effects over {name}: readied in {ready_s * 1e3:.0f} ms, run and stopped",
        **{f"ready_{name}_ms": round(ready_s * 1e3)},
    )
