"""A device that another program holds: the window says which unit to plug in instead."""

from __future__ import annotations

from dataclasses import replace

import pytest
from conftest import UNIT
from pad import DEVICE
from workbench import Workbench

from station.errors import DeviceBusy
from station.records.types import Lot, Treatment, Unit
from station.sources.problems import device_error
from station.ui.window import MainWindow


@pytest.fixture
def held(desk: Workbench, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(info: object, sheet: object) -> object:
        raise device_error("busy", DEVICE.product)

    monkeypatch.setattr(desk.sockets, "open", refuse)
    assert isinstance(device_error("busy", "x"), DeviceBusy)


def said(window: MainWindow, desk: Workbench) -> str:
    desk.plug_in()
    desk.settle(window)
    return window.foot.message.text()


def of_lot(desk: Workbench, *tags: str) -> list[Unit]:
    lot = desk.store.add_lot(Lot("", "Spring", "2026-11-01", "", 0, "EUR", ""))
    return [desk.store.add_unit(Unit("", tag, "Plover T2", lot.id)) for tag in tags]


def test_it_says_the_next_unit_of_the_lot_that_was_not_tested(held: None, window: MainWindow, desk: Workbench) -> None:
    units = of_lot(desk, "SP-01", "SP-02", "SP-03")
    desk.store.change_unit(replace(units[0], serial=DEVICE.serial, vendor_id=0x1209, product_id=1))
    desk.store.start_visit(units[1].id, "intake")
    text = said(window, desk)
    assert text == (
        "Another program holds Plover T2; close that program and plug the device in again, or plug in SP-03 instead."
    )


def test_one_that_is_ready_for_its_second_test_comes_first(held: None, window: MainWindow, desk: Workbench) -> None:
    units = of_lot(desk, "SP-01", "SP-02")
    desk.store.start_visit(units[1].id, "intake")
    desk.store.add_treatment(Treatment("", units[1].id, "clean from outside", ""))
    desk.clock.move(days=9)
    assert "plug in SP-02 instead" in said(window, desk)


def test_with_nothing_to_go_on_with_it_says_only_what_to_do(held: None, window: MainWindow, desk: Workbench) -> None:
    desk.store.add_unit(replace(UNIT, becomes="scrap", serial=""))
    assert said(window, desk).endswith("close that program and plug the device in again.")


@pytest.mark.parametrize("others", [True, False], ids=["a unit waits", "none waits"])
def test_one_that_is_known_to_be_held_before_it_is_opened_gets_the_same_sentence(
    window: MainWindow, desk: Workbench, others: bool
) -> None:
    if others:
        of_lot(desk, "SP-03")
    desk.plug_in(replace(DEVICE, problem=str(device_error("busy", DEVICE.product)), held=True))
    desk.settle(window)
    text = window.foot.message.text()
    assert text.startswith("Another program holds Plover T2; close that program and plug the device in again")
    assert text.endswith("or plug in SP-03 instead." if others else "again.")
