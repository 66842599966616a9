"""What the strip says of a unit that was named: a whole sentence, whatever is known of the unit."""

from __future__ import annotations

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
