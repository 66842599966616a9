"""Plugging in serves the unit that is open, and what is on the screen never says two things of one key."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from conftest import UNIT
from pad import DEVICE
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from scanner import Keyboard
from workbench import Workbench

from station.records.types import Unit
from station.sources.devices import Gone
from station.sources.port import DeviceInfo
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]
Write = Callable[..., None]
BARE = Unit("u1", "B-01", "Plover T2")
"""written up by hand, never plugged in"""
NAMELESS = replace(DEVICE, key="pad:9", serial="")


def open_unit(window: MainWindow, desk: Workbench, unit: Unit) -> None:
    desk.store.add_unit(unit)
    Keyboard(window).scan(unit.tag)
    desk.settle(window)


def plug(window: MainWindow, desk: Workbench, info: DeviceInfo = NAMELESS) -> None:
    desk.plug_in(info)
    desk.settle(window)


def pull(window: MainWindow, desk: Workbench, info: DeviceInfo = NAMELESS) -> None:
    desk.sockets.sources[info.key].unplug()  # type: ignore[attr-defined]
    desk.sockets.seen.append(Gone(info))
    desk.settle(window)


def enters(window: MainWindow) -> list[str]:
    """All that is told of Enter."""
    shown = [label.text() for label in window.findChildren(QLabel) if label.isVisible()]
    return [part for text in shown for part in text.split(" · ") if "Enter" in part]


def test_the_open_unit_gets_the_device(window: MainWindow, desk: Workbench, press: Press) -> None:
    open_unit(window, desk, BARE)
    plug(window, desk)
    assert "B-01 is open" in window.arrival.said.text()
    assert not window.arrival.tag.isVisible()
    assert enters(window) == ["Enter: start the visit “first look” of B-01", "Enter starts its visit."]
    press(window, K.Key_Return)
    assert desk.session().unit.id == BARE.id
    assert [u.tag for u in desk.store.units()] == ["B-01"], "no unit was made"


def test_it_can_be_another_unit_all_the_same(window: MainWindow, desk: Workbench, press: Press) -> None:
    open_unit(window, desk, BARE)
    plug(window, desk)
    press(window, K.Key_N)
    assert window.arrival.tag.hasFocus()
    assert [said for said in enters(window) if "new unit" not in said] == []
    press(window, K.Key_Return)
    assert desk.session().unit.tag == "B-02"


def test_a_device_that_came_before_the_unit_was_opened_is_offered_to_it(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    desk.store.add_unit(BARE)
    plug(window, desk)
    assert window.arrival.tag.isVisible()
    press(window, K.Key_Escape)
    press(window, K.Key_P)
    pull(window, desk)
    plug(window, desk)
    window.setFocus()
    press(window, K.Key_U)
    write(window, "B-01")
    press(window, K.Key_Return)
    assert "B-01 is open" in window.arrival.said.text()
    press(window, K.Key_Return)
    assert desk.session().unit.id == BARE.id


@pytest.mark.parametrize(
    ("unit", "device", "asked"),
    [
        (replace(BARE, model="Dunlin S"), NAMELESS, "written up as Dunlin S"),
        (replace(BARE, vendor_id=0x1209, product_id=9), NAMELESS, "is it the same unit"),
        (replace(BARE, serial="Z-9", vendor_id=0x1209, product_id=1), DEVICE, "serial number Z-9"),
    ],
    ids=["model", "ids", "serial"],
)
def test_a_device_that_is_not_as_written_is_asked_about(
    window: MainWindow, desk: Workbench, press: Press, unit: Unit, device: DeviceInfo, asked: str
) -> None:
    open_unit(window, desk, unit)
    plug(window, desk, device)
    assert asked in window.arrival.said.text()
    assert enters(window) == []
    for key in (K.Key_Return, K.Key_Space):
        press(window, key)
    assert desk.desk.visit.session() is None, "neither Enter nor Space answers it"
    press(window, K.Key_Y)
    assert desk.session().unit.id == unit.id
    known = desk.store.unit(unit.id)
    assert (known.vendor_id, known.product_id, known.model) == (DEVICE.vendor_id, DEVICE.product_id, "Plover T2")
    assert known.serial == device.serial


def test_a_typed_tag_of_another_model_is_asked_about(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    desk.store.add_unit(replace(BARE, model="Dunlin S"))
    plug(window, desk)
    write(window, "B-01")
    press(window, K.Key_Return)
    assert "written up as Dunlin S" in window.arrival.said.text()
    press(window, K.Key_N)
    assert window.arrival.tag.isVisible()
    assert desk.desk.visit.session() is None


@pytest.mark.parametrize("written", ["", "plover t2", "Plover T2 black"])
def test_a_model_that_was_written_by_hand_need_not_be_the_sheets_name(
    window: MainWindow, desk: Workbench, written: str
) -> None:
    open_unit(window, desk, replace(BARE, model=written))
    plug(window, desk)
    assert "is open" in window.arrival.said.text()


def test_the_unit_whose_visit_is_over_is_not_given_the_next_pad(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    open_unit(window, desk, BARE)
    plug(window, desk)
    press(window, K.Key_Return)
    press(window, K.Key_F)
    press(window, K.Key_Return)
    desk.advance(100)
    pull(window, desk)
    plug(window, desk, replace(NAMELESS, key="pad:10"))
    assert window.arrival.tag.isVisible(), "it is asked whose it is"


def test_a_device_that_is_known_as_another_unit_says_so(window: MainWindow, desk: Workbench) -> None:
    desk.store.add_unit(UNIT)
    open_unit(window, desk, BARE)
    plug(window, desk, DEVICE)
    assert "SM-07-04 is plugged in, by its serial number; B-01 was open" in window.foot.message.text()
    assert window.header.tag.text() == UNIT.tag


def test_a_strip_that_has_not_the_keys_says_how_to_get_them(visit: MainWindow, desk: Workbench, press: Press) -> None:
    press(visit, K.Key_Space)
    desk.plug_in(replace(DEVICE, key="pad:2", serial="X"))
    desk.settle(visit)
    assert visit.arrival.keys.text() == "P: answer for it"
    press(visit, K.Key_P)
    assert "Enter: new unit" in visit.arrival.keys.text()


def test_the_device_of_a_visit_that_begins_is_not_asked_about_once_more(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    """The second of two that are plugged in is opened only then, and appears anew."""
    plug(window, desk)
    other = replace(NAMELESS, key="pad:10", product="Plover T2, the other")
    plug(window, desk, other)
    press(window, K.Key_Escape)
    press(window, K.Key_Return)
    assert desk.session().unit.tag == "unit-1"
    assert window.arrival.device is None
    assert window.bench.device == other
