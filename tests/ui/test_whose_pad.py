"""What one unit's pad reports lands on no other unit unless a person says that it is that one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from conftest import UNIT
from pad import DEVICE
from PySide6.QtCore import Qt
from scanner import Keyboard
from workbench import Workbench

from station.records.types import Unit
from station.sources.devices import Gone
from station.sources.port import DeviceInfo
from station.ui.panels.bench import WhosePanel
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]
OTHER = Unit("u2", "L-002", "")
NAMELESS = replace(DEVICE, key="pad:9", serial="")


def visit_over(window: MainWindow, desk: Workbench, press: Press, device: DeviceInfo) -> None:
    """A visit of SM-07-04 on the pad is finished, and the new tag L-002 was opened."""
    desk.store.add_unit(UNIT)
    Keyboard(window).scan(UNIT.tag)
    desk.settle(window)
    desk.plug_in(device)
    desk.settle(window)
    for key in (K.Key_Return, K.Key_F, K.Key_Return):
        press(window, key)
    desk.advance(100)
    assert desk.session().finished
    desk.store.add_unit(OTHER)
    Keyboard(window).scan(OTHER.tag)
    desk.settle(window)


@pytest.mark.parametrize("device", [DEVICE, NAMELESS], ids=["by its serial number", "by its plug"])
def test_the_pad_of_one_unit_serves_another_only_after_a_question(
    window: MainWindow, desk: Workbench, press: Press, device: DeviceInfo
) -> None:
    visit_over(window, desk, press, device)
    assert window.bench.at_hand() is None, "nothing that is plugged in is L-002"
    assert "is at rest" not in window.checklist.card.do.text()
    for key in (K.Key_V, K.Key_Return):
        press(window, key)
    assert isinstance(window.panel, WhosePanel)
    assert window.panel.title.text() == "This pad is SM-07-04’s; is it L-002?"
    for key in (K.Key_Return, K.Key_Space):
        press(window, key)
    assert isinstance(window.panel, WhosePanel), "neither Enter nor Space answers it"
    press(window, K.Key_Escape)
    assert desk.session().unit.id == UNIT.id
    assert desk.store.visits(OTHER.id) == ()

    for key in (K.Key_V, K.Key_Return, K.Key_Y):
        press(window, key)
    assert (desk.session().unit.id, desk.session().finished) == (OTHER.id, False)
    assert desk.store.unit(OTHER.id).serial == "", "the serial number stays with the unit that has it"
    owner = desk.desk.visit.whose(device)
    assert owner is not None
    assert owner.tag == "L-002"


def test_the_bench_refuses_it_too(window: MainWindow, desk: Workbench, press: Press) -> None:
    visit_over(window, desk, press, DEVICE)
    desk.desk.visit.start(OTHER.id, DEVICE, "intake")
    desk.settle(window)
    assert desk.store.visits(OTHER.id) == ()
    assert "This pad is SM-07-04’s, so nothing was begun for L-002" in window.foot.message.text()


def test_leaving_it_alone_is_a_visit_too(window: MainWindow, desk: Workbench, press: Press) -> None:
    visit_over(window, desk, press, DEVICE)
    desk.desk.alone.leave(OTHER.id, DEVICE, "intake", 60.0)
    desk.settle(window)
    assert desk.store.visits(OTHER.id) == ()
    assert desk.desk.alone.views() == ()


def test_what_is_plugged_into_the_socket_next_is_nobodys(window: MainWindow, desk: Workbench, press: Press) -> None:
    visit_over(window, desk, press, NAMELESS)
    assert desk.desk.visit.whose(NAMELESS) is not None
    desk.sockets.sources[NAMELESS.key].unplug()  # type: ignore[attr-defined]
    desk.sockets.seen.append(Gone(NAMELESS))
    desk.settle(window)
    desk.plug_in(NAMELESS)
    desk.settle(window)
    assert desk.desk.visit.whose(NAMELESS) is None
    assert "L-002 is open" in window.arrival.said.text()
    press(window, K.Key_Return)
    assert desk.session().unit.id == OTHER.id
