"""A field that cannot be read: the panel stays, says why, and the cursor stands in the field."""

from __future__ import annotations

from dataclasses import replace

import pytest
from conftest import UNIT
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot
from workbench import Workbench

from station.ui.painting.hazards import Cautions
from station.ui.painting.widgets import ChoiceList
from station.ui.panels.record import UnitPanel
from station.ui.panels.stock import LotPanel, PartPanel
from station.ui.panels.treatment import TreatmentPanel
from station.ui.window import MainWindow

pytestmark = pytest.mark.usefixtures("german_screen")


@pytest.fixture
def unit_panel(window: MainWindow, desk: Workbench) -> UnitPanel:
    unit = desk.store.add_unit(replace(UNIT, rest_until="2026-11-28"))
    return UnitPanel(desk.desk.units, unit, lambda: None, window.look, window)


def test_a_date_stands_in_its_field_as_it_is_shown(unit_panel: UnitPanel) -> None:
    assert unit_panel.rest.text() == "28.11.2026"
    assert unit_panel.rest.placeholderText().endswith("or +3 for in three days")
    assert unit_panel.rest.placeholderText()[2] == "."
    assert unit_panel.sold.placeholderText() == "31,00"


@pytest.mark.parametrize("name", ["rest", "sold"])
def test_the_cursor_goes_into_the_field_that_is_wrong(unit_panel: UnitPanel, name: str) -> None:
    field = getattr(unit_panel, name)
    field.setText("soon")
    unit_panel.accept()
    assert _focus(unit_panel) is field
    assert field.selectedText() == "soon"
    assert "“soon” is not" in unit_panel._problem.text()


@pytest.mark.parametrize(("name", "typed"), [("name", ""), ("bought", "+3"), ("cost", "two"), ("currency", "E1")])
def test_so_it_does_in_a_lot(window: MainWindow, desk: Workbench, name: str, typed: str) -> None:
    panel = LotPanel(desk.desk.stock, window.look, window)
    panel.name.setText("SM-08")
    getattr(panel, name).setText(typed)
    panel.accept()
    assert panel.isVisible()
    assert _focus(panel) is getattr(panel, name)


@pytest.mark.parametrize(("name", "typed"), [("minutes", str(2**60)), ("cost", "1" + "0" * 20), ("cost", "12²")])
def test_so_it_does_in_a_treatment(window: MainWindow, desk: Workbench, name: str, typed: str) -> None:
    unit = desk.store.add_unit(UNIT)
    ports, cautions = desk.desk, Cautions(desk.desk.advice.hazards)
    panel = TreatmentPanel(
        ports.units, ports.work, ports.stock, ports.advice, unit, cautions, lambda: None, window.look, window
    )
    getattr(panel, name).setText(typed)
    panel.accept()
    assert panel.isVisible()
    assert _focus(panel) is getattr(panel, name)
    assert not desk.store.history(unit.id).treatments


@pytest.mark.parametrize("typed", [str(2**60), "1.000", "12²"])
def test_so_it_does_for_a_part(window: MainWindow, desk: Workbench, typed: str) -> None:
    panel = PartPanel(desk.desk.stock, window.look, window, name="cap")
    panel.count.setText(typed)
    panel.accept()
    assert panel.isVisible()
    assert "from 1 to 9.999" in panel._problem.text()


def test_a_raised_digit_is_no_choice_of_a_list(window: MainWindow, qtbot: QtBot) -> None:
    choice = ChoiceList(("one", "two"), window.look)
    qtbot.addWidget(choice)
    choice.keyPressEvent(QKeyEvent(QEvent.Type.KeyPress, 0, Qt.KeyboardModifier.NoModifier, "²"))
    assert choice.chosen == 0


def _focus(panel: QWidget) -> QWidget | None:
    return panel.window().focusWidget()
