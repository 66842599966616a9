"""Views that have nothing to show say what belongs there, and no unit is without a place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import scenes
from PySide6.QtCore import Qt
from workbench import Workbench

from station.records.types import ShelfPart, Unit
from station.ui.lots.view import LOOSE
from station.ui.window import MainWindow

Press = Callable[..., None]
K = Qt.Key


def test_the_empty_shelf_says_what_belongs_there(window: MainWindow, desk: Workbench, press: Press) -> None:
    press(window, K.Key_F3)
    assert window.shelf.empty.isVisible()
    assert "given up" in window.shelf.empty.text()
    desk.desk.stock.add_part(ShelfPart("", "Left stick sensor", "Plover T2", count=1))
    desk.settle(window)
    assert not window.shelf.empty.isVisible()


def test_due_says_what_belongs_there_while_nothing_rests(window: MainWindow, desk: Workbench, press: Press) -> None:
    press(window, K.Key_F4)
    assert window.due.empty.isVisible()
    assert "rest date" in window.due.empty.text()
    press(window, K.Key_F1)
    scenes.workshop(desk)
    press(window, K.Key_F4)
    assert not window.due.empty.isVisible()


def test_units_without_a_lot_have_a_place_among_the_lots(window: MainWindow, desk: Workbench, press: Press) -> None:
    scenes.lot_picture(desk)
    own = {u.tag for u in desk.store.units() if u.lot_id}
    desk.store.add_unit(Unit("stray", "X-1", "Plover T2", None))
    desk.store.add_unit(Unit("stray2", "X-2", "Plover T2", None, becomes="sold"))
    press(window, K.Key_F2)
    lots = window.lots.lots
    assert lots.texts()[-1] == ("Without a lot", "2", "1", "")
    lots.choose(len(lots.texts()) - 1)
    desk.settle(window)
    assert lots.current() == LOOSE
    tags = {line[0] for line in window.lots.units.texts()}
    assert tags == {"X-1", "X-2"}
    assert not tags & own
    assert "belong to no lot" in window.lots.page._verdict.text()
    press(window, K.Key_F1)
    press(window, K.Key_F2)
    assert lots.current() == LOOSE, "it is remembered like a lot"
    stray = desk.store.unit("stray")
    desk.desk.units.change(replace(stray, lot_id=desk.store.lots()[0].id))
    desk.settle(window)
    assert lots.texts()[-1] == ("Without a lot", "1", "0", "")


def test_without_units_of_that_kind_there_is_no_such_row(window: MainWindow, desk: Workbench, press: Press) -> None:
    scenes.lot_picture(desk)
    press(window, K.Key_F2)
    assert all(line[0] != "Without a lot" for line in window.lots.lots.texts())
