"""A device that nobody described, through the real path: watcher, reader process, ring, visit, records.

The unmodified hidapi wheel talks to the shim rig; everything else is the program as it runs.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator

import pytest

from station.app import paths
from station.app.desk import StationDesk
from station.bench.types import Choose, Go, ResultCommitted, SourceBack, SourceLost
from station.capture.file import read_capture
from station.checks.types import Outcome
from station.records.types import Unit
from station.ui.ports import DeskEvent, DeviceAppeared, SilentListed
from tests.records.records_kit import open_store
from tests.rig import pad
from tests.rig.fakehid import Device, Rig

HELD_NS = 120_000_000
Until = Callable[[Callable[[], object]], None]


class Finger:
    """Feeds the pad's reports at 500 a second from a thread, with the buttons that are held now."""

    def __init__(self, device: Device) -> None:
        self.device = device
        self.buttons = 0
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._feed, daemon=True)
        self._thread.start()

    def _feed(self) -> None:
        while not self._stop.wait(0.002):
            self.device.feed(pad.report(buttons=self.buttons))

    def stop(self) -> None:
        self._stop.set()
        self._thread.join()


@pytest.fixture
def desk(rig: Rig) -> Iterator[StationDesk]:
    desk = StationDesk(open_store(paths.records_folder()))
    yield desk
    desk.close()


@pytest.fixture
def seen(desk: StationDesk, until: Until) -> Callable[..., DeskEvent]:
    """Wait for an event of a kind; earlier ones are kept for later questions."""
    kept: list[DeskEvent] = []

    def wait(kind: type, wanted: Callable[[DeskEvent], bool] = lambda e: True) -> DeskEvent:
        found: list[DeskEvent] = []

        def look() -> bool:
            kept.extend(desk.live.take_events())
            found[:] = [e for e in kept if isinstance(e, kind) and wanted(e)]
            return bool(found)

        until(look)
        kept.remove(found[0])
        return found[0]

    return wait


def _runs(desk: StationDesk, step: int) -> bool:
    """This step, and not the look that is asked first."""
    view = desk.visit.session()
    return view.running and view.current == step


def test_plug_in_check_unplug_and_plug_in_again(rig: Rig, desk: StationDesk, seen, until: Until):
    device = rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL)
    finger = Finger(device)
    appeared = seen(DeviceAppeared)
    assert appeared.unit is None
    assert desk.sheets.sheet().drawn_up
    until(lambda: "button_1" in desk.live.now().signals)

    desk.units.add(Unit("", "RIG-1", appeared.sheet, serial=pad.SERIAL, sheet=appeared.sheet))
    desk.settle()
    unit = desk.units.find("RIG-1")[0]
    desk.visit.start(unit.id, appeared.device, "intake")
    desk.settle()
    steps = [s.step for s in desk.visit.session().steps]
    contact = next(i for i, s in enumerate(steps) if (s.check, s.control) == ("contact", "button_1"))
    desk.visit.do(Choose(contact))
    desk.visit.do(Go())
    until(lambda: _runs(desk, contact))
    for _ in range(3):
        for held in (1, 0):
            finger.buttons = held
            until(lambda held=held: _closed(desk) is bool(held))
            since_ns = desk.live.now().now_ns
            until(lambda since_ns=since_ns: desk.live.now().now_ns > since_ns + HELD_NS)
    done = seen(ResultCommitted, lambda e: e.result.check == "contact")
    assert done.result.assessment.outcome is Outcome.PASS
    assert done.result.clock == "process"
    with open_store(paths.records_folder(), read_only=True) as reader:
        evidence = read_capture(reader.capture_path(done.result.capture_sha256))
    assert {m.event for m in evidence.marks} == {"begin", "end"}
    assert len(evidence.block) > 50

    hold = next(i for i, s in enumerate(steps) if (s.check, s.control) == ("hold", "button_1"))
    desk.visit.do(Choose(hold))
    desk.visit.do(Go())
    until(lambda: _runs(desk, hold))
    finger.buttons = 1
    until(lambda: _closed(desk) is True)
    finger.stop()
    device.unplug()
    seen(SourceLost)
    until(lambda: len(desk.units.history(unit.id).results) == 2)
    cut = desk.units.history(unit.id).results[-1]
    assert (cut.check, cut.assessment.outcome) == ("hold", Outcome.INTERRUPTED)
    assert cut.capture_sha256, "what came is kept"

    finger = Finger(rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL))
    seen(SourceBack)
    until(lambda: _runs(desk, hold))
    finger.buttons = 1
    done = seen(ResultCommitted, lambda e: e.result.check == "hold" and e.result.assessment.outcome is Outcome.PASS)
    finger.stop()
    assert done.result.attempt == 2


def test_a_device_that_does_not_say_what_it_is_is_opened_when_the_person_chooses_it(rig: Rig, desk, seen) -> None:
    keyboard = rig.plug(pad.KEYBOARD, pad.VENDOR, 8, "Keys", "K")
    silent = rig.plug(pad.VENDOR_ONLY, pad.VENDOR, 9, "Odd pad", "S")
    desk.devices.list_silent()
    (listed,) = seen(SilentListed).devices
    assert (listed.product, silent.opens) == ("Odd pad", 0)
    desk.devices.open_silent(listed)
    appeared = seen(DeviceAppeared)
    assert (appeared.device.product, appeared.device.problem, appeared.described) == ("Odd pad", "", "nothing")
    desk.devices.list_silent()
    assert seen(SilentListed).devices == ()
    assert keyboard.opens == 0


def _closed(desk: StationDesk) -> bool | None:
    signal = desk.live.now().signals.get("button_1")
    return bool(signal.closed[-1]) if signal is not None else None
