"""A lesson through the real path: watcher, reader process, ring; a device that describes nothing, and an unplug."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator

import pytest

from station.app import paths
from station.app.desk import StationDesk
from station.app.walks import kept_steps
from station.ui.ports import DeskEvent, DeviceAppeared
from tests.records.records_kit import open_store
from tests.rig import claimed
from tests.rig.fakehid import Device, Rig
from tests.rig.fakeusb import UsbPad

Until = Callable[[Callable[[], object]], None]
VENDOR, PRODUCT, NAME = 0x1209, 0x0009, "Silent test pad"
MUTE = bytes.fromhex("05 01 09 05 A1 01 75 08 95 08 81 03 C0")
"""a game pad whose eight bytes are declared as padding (HID 1.11, 6.2.2.5: constant items carry no control)"""
COUNTS = {"sticks": 0, "triggers": 0, "pads": 0, "shoulders": 2, "face": 0, "centre": 0, "stick_presses": 0}


class Presser:
    """Feeds reports of eight bytes, 250 a second, the first of which says whether a button is down."""

    def __init__(self, device: Device) -> None:
        self.device, self.down = device, 0
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._feed, daemon=True)
        self._thread.start()

    def _feed(self) -> None:
        while not self._stop.wait(0.004):
            self.device.feed(bytes([self.down, 0, 0, 0, 0, 0, 0, 0]))

    def stop(self) -> None:
        self._stop.set()
        self._thread.join()


@pytest.fixture
def desk(rig: Rig) -> Iterator[StationDesk]:
    desk = StationDesk(open_store(paths.records_folder()))
    yield desk
    desk.close()


def test_a_device_that_describes_nothing_is_taught_and_may_be_unplugged(rig: Rig, desk: StationDesk, until: Until):
    seen: list[DeskEvent] = []

    def state() -> str:
        seen.extend(desk.live.take_events())
        view = desk.teaching.lesson()
        return view.state if view is not None else ""

    device = rig.plug(MUTE, VENDOR, PRODUCT, NAME, "")
    until(lambda: [state(), next((e for e in seen if isinstance(e, DeviceAppeared)), None)][1])
    appeared = next(e for e in seen if isinstance(e, DeviceAppeared))
    assert (appeared.described, appeared.sheet) == ("nothing", "")

    presser = Presser(device)
    desk.teaching.begin(appeared.device, COUNTS, go_on=False)
    until(lambda: state() == "walking" and desk.teaching.lesson().reports > 10)
    until(lambda: state() == "walking" and desk.teaching.lesson().number == 2)
    presser.stop()
    device.unplug()
    until(lambda: state() == "away")

    presser = Presser(rig.plug(MUTE, VENDOR, PRODUCT, NAME, ""))
    until(lambda: state() == "paused")
    assert desk.teaching.lesson().number == 2, "the step that was interrupted is asked again"
    desk.teaching.press("next")
    until(lambda: state() == "walking" and desk.teaching.lesson().reports > 10)
    desk.teaching.press("stop")
    presser.stop()
    desk.settle()
    assert desk.teaching.lesson() is None
    (path,) = paths.walks_folder().glob("*.npz")
    kept = kept_steps(path)
    assert [o.step.id for o in kept] == ["rest"]
    assert len(kept[0].block) > 300


def test_what_is_taught_of_one_pad_is_not_called_as_the_sheet_of_its_class(rig: Rig, desk: StationDesk, until: Until):
    UsbPad(rig)
    until(lambda: any(isinstance(event, DeviceAppeared) for event in desk.live.take_events()))
    assert desk.sheets.sheet().name == "Pad of interface class FF 5D 01"
    assert desk.teaching.proposed_name() == claimed.NAME
