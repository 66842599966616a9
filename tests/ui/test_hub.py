"""Several pads at a hub, without serial numbers: the one that is picked up or scanned comes to the front."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from pad import DEVICE, Pad, button, stick
from PySide6.QtCore import Qt
from scanner import Keyboard
from workbench import Workbench

from station.app.picked_up import PickedUp
from station.records.types import Unit
from station.sheets.signals import Signal
from station.sources.devices import Gone
from station.sources.port import DeviceInfo
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]
FIRST, SECOND = (replace(DEVICE, key=f"pad:{k}", serial="") for k in (11, 12))
ONE, TWO = Unit("u1", "B-01", "Plover T2"), Unit("u2", "B-02", "Plover T2")


def scan(window: MainWindow, desk: Workbench, tag: str) -> None:
    Keyboard(window).scan(tag)
    desk.settle(window)


def begin(window: MainWindow, desk: Workbench, press: Press, unit: Unit, info: DeviceInfo) -> None:
    """The unit is scanned, its pad plugged in, and its visit begun."""
    scan(window, desk, unit.tag)
    desk.plug_in(info)
    desk.settle(window)
    window.arrival.attend()
    press(window, K.Key_Return)
    assert desk.session().unit.tag == unit.tag


@pytest.fixture
def two(window: MainWindow, desk: Workbench, press: Press) -> MainWindow:
    """Two pads, each with a visit that was begun; the second one is at the front."""
    for unit, info in ((ONE, FIRST), (TWO, SECOND)):
        desk.store.add_unit(unit)
        begin(window, desk, press, unit, info)
    look(window, desk)
    return window


def look(window: MainWindow, desk: Workbench) -> None:
    """As many frames as the hub takes to look."""
    for _ in range(20):
        window.tick()
    desk.settle(window)


def wave(window: MainWindow, desk: Workbench, info: DeviceInfo, seconds: float = 1.5) -> None:
    """Somebody swings the left stick of that pad."""
    pad = desk.sockets.sources[info.key]
    assert isinstance(pad, Pad)
    for k in range(round(seconds / 0.1)):
        x = 95.0 if k % 2 else -95.0
        pad.feed(left_stick=stick(np.arange(1, 11) * 10_000_000 + pad.now, np.full(10, x), np.zeros(10)))
        pad.advance(0.1)
        for _ in range(6):
            window.tick()
    desk.settle(window)


def test_a_strip_lists_them(window: MainWindow, desk: Workbench, two: MainWindow, press: Press) -> None:
    assert two.hub.isVisible()
    assert two.hub.line.text().startswith("At the front: B-02 · beside it: B-01 (")
    desk.plug_in(replace(DEVICE, key="pad:13", serial="", product="Plover T2"))
    desk.settle(two)
    look(two, desk)
    assert "B-01, Plover T2, no unit yet" in two.hub.line.text()
    desk.sockets.seen.extend((Gone(FIRST), Gone(replace(DEVICE, key="pad:13", serial=""))))
    desk.settle(two)
    look(two, desk)
    assert not two.hub.isVisible()


def test_the_one_that_is_moved_for_a_second_comes_to_the_front_and_its_visit_goes_on(
    two: MainWindow, desk: Workbench
) -> None:
    before = desk.session().visit.id
    wave(two, desk, FIRST)
    assert desk.session().unit.id == ONE.id
    assert two.header.tag.text() == "B-01"
    assert two.bench.device == FIRST
    assert two.arrival.device is None, "nothing is asked"
    look(two, desk)
    wave(two, desk, SECOND)
    assert desk.session().visit.id == before, "the other one goes on where it was"
    assert len(desk.store.history(TWO.id).visits) == 1


def test_the_one_whose_tag_is_scanned_comes_to_the_front(two: MainWindow, desk: Workbench) -> None:
    scan(two, desk, "B-01")
    assert desk.session().unit.id == ONE.id
    assert two.bench.device == FIRST


def test_during_a_check_nothing_is_taken_away(two: MainWindow, desk: Workbench, press: Press) -> None:
    press(two, K.Key_Space)
    assert desk.session().running
    wave(two, desk, FIRST)
    assert desk.session().unit.id == TWO.id
    assert desk.session().running
    scan(two, desk, "B-01")
    assert desk.session().unit.id == TWO.id
    assert desk.session().running
    assert two.shown.unit is not None
    assert two.shown.unit.id == ONE.id, "its record is shown"


def test_a_panel_and_another_view_keep_the_front(two: MainWindow, desk: Workbench, press: Press) -> None:
    press(two, K.Key_N)
    wave(two, desk, FIRST)
    press(two, K.Key_Escape)
    press(two, K.Key_F2)
    wave(two, desk, FIRST)
    assert desk.session().unit.id == TWO.id


def test_a_pad_that_nobody_knows_is_asked_about_when_it_is_moved(two: MainWindow, desk: Workbench) -> None:
    third = replace(DEVICE, key="pad:13", serial="")
    desk.plug_in(third)
    desk.settle(two)
    two.arrival.dismiss()
    look(two, desk)
    wave(two, desk, third)
    assert two.arrival.device is not None
    assert two.arrival.device.device == third


def test_the_next_pad_in_a_socket_is_not_taken_for_the_one_before(two: MainWindow, desk: Workbench) -> None:
    desk.sockets.seen.append(Gone(FIRST))
    desk.settle(two)
    desk.plug_in(FIRST)
    desk.settle(two)
    assert two.arrival.device is not None
    assert two.arrival.device.unit is None


# --- what is picked up -------------------------------------------------------------------------------------


def told(*ticks: dict[str, Signal]) -> bool:
    held = PickedUp()
    return True in [held.feed(round(k * 1e8), signals) for k, signals in enumerate(ticks)]


def to_and_fro(k: int, name: str = "left_stick", pct: float = 80.0) -> dict[str, Signal]:
    return {name: stick(k * 10**8, pct * (-1) ** k, 0.0)}


def test_a_stick_that_is_worked_for_a_second_is_picked_up() -> None:
    assert told(*(to_and_fro(k) for k in range(14)))


def test_two_buttons_are_too() -> None:
    assert told(*({f"b{k % 2}": button(k * 10**8, k % 4 > 1)} for k in range(20)))


@pytest.mark.parametrize(
    "ticks",
    [
        [to_and_fro(k) for k in range(8)],
        [to_and_fro(k, pct=8.0) for k in range(40)],
        [{"south": button(k * 10**8, bool(k % 2))} for k in range(40)],
        [to_and_fro(k) if k % 10 < 3 else {} for k in range(40)],
        [{"left_stick": stick(k * 10**8, 0.5 * k, 0.0)} for k in range(60)],
        [{}] * 40,
    ],
    ids=["half a second", "jitter", "a contact that closes by itself", "a knock now and then", "slow drift", "nothing"],
)
def test_what_lies_there_is_not(ticks: list[dict[str, Signal]]) -> None:
    assert not told(*ticks)
