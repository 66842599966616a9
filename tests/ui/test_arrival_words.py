"""What the strip says of a unit that was named: a whole sentence, whatever is known of the unit."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pad import DEVICE
from workbench import Workbench

from station.records.types import Unit
from station.ui.ports import DeviceAppeared
from station.ui.window import MainWindow


@pytest.mark.parametrize(
    ("model", "claim", "said"),
    [
        ("", "", "A17-01 ·"),
        ("", "drifts", "A17-01, claim “drifts” ·"),
        ("Plover T2", "", "A17-01, Plover T2 ·"),
        ("Plover T2", "drifts", "A17-01, Plover T2, claim “drifts” ·"),
    ],
)
def test_a_unit_is_named_by_what_is_known_of_it(
    window: MainWindow, desk: Workbench, model: str, claim: str, said: str
) -> None:
    desk.store.add_unit(Unit("unit-1", "A17-01", model, claim=claim))
    window.arrival.appeared(DeviceAppeared(DEVICE, None, "sheet", "Plover T2"), attend=True)
    window.arrival.tag.setText("A17-01")
    assert f"the visit “first look” of {said}" in window.arrival.keys.text()


def test_a_pad_that_is_known_by_its_class_only_keeps_its_own_name_and_may_be_taught(
    window: MainWindow, desk: Workbench
) -> None:
    event = DeviceAppeared(replace(DEVICE, interface="ff5d01"), None, "Pad of interface class FF 5D 01", "class")
    window.arrival.appeared(event, attend=True)
    assert "tested by the sheet of its class · F5: teach its model" in window.arrival.keys.text()
    assert event.model == DEVICE.product
    assert replace(event, device=replace(event.device, product="")).model == event.sheet
    assert replace(event, device=replace(event.device, product="Receiver", place=2)).model == event.sheet


def test_the_pads_of_one_receiver_are_told_apart(window: MainWindow, desk: Workbench) -> None:
    pads = [replace(DEVICE, key=f"1-1:1.{n}", serial="", product="Receiver", place=n) for n in (1, 2)]
    for pad in pads:
        desk.plug_in(pad)
    desk.settle(window)
    assert "Receiver, pad 1" in window.arrival.said.text()
    assert window.bench.pads() == ("Receiver, pad 1, no unit yet", ("Receiver, pad 2, no unit yet",))
    assert replace(DEVICE, product="", place=3).called == "Receiver, pad 3"
