"""How hard to press next: the panel of the key H."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from workbench import Workbench

from station.bench.types import Strength
from station.ui.panels.bench import StrengthPanel
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]
Write = Callable[[MainWindow, str], None]


@pytest.fixture
def asked(visit: MainWindow, desk: Workbench, press: Press) -> MainWindow:
    """The window with the panel open over a light press."""
    desk.go_to("light", "left_shoulder")
    desk.settle(visit)
    press(visit, K.Key_H)
    return visit


def test_a_strength_is_chosen_by_its_number(asked: MainWindow, desk: Workbench, press: Press) -> None:
    assert isinstance(asked.panel, StrengthPanel)
    assert "How hard to press: Left shoulder" in asked.panel.labels()
    press(asked, K.Key_3)
    press(asked, K.Key_Return)
    assert desk.commands[-1] == Strength("firm")
    assert asked.panel is None


@pytest.mark.parametrize(("text", "mass_g"), [("160", 160.0), ("99,5 g", 99.5), ("  ", None)])
def test_a_mass_is_given_in_grams(
    asked: MainWindow, desk: Workbench, press: Press, write: Write, text: str, mass_g: float | None
) -> None:
    press(asked, K.Key_1)
    press(asked, K.Key_Tab)
    write(asked, text)
    press(asked, K.Key_Return)
    assert desk.commands[-1] == Strength("light", mass_g)


@pytest.mark.parametrize("text", ["heavy", "0", "-3", "5001", "nan"])
def test_a_mass_that_cannot_be_is_asked_for_again(
    asked: MainWindow, desk: Workbench, press: Press, write: Write, text: str
) -> None:
    before = list(desk.commands)
    press(asked, K.Key_Tab)
    write(asked, text)
    press(asked, K.Key_Return)
    assert asked.panel is not None
    assert "Write the mass in grams, more than 0 and at most 5000, like 160." in asked.panel.labels()
    assert desk.commands == before


def test_over_another_check_it_is_for_the_button_pressed_last(visit: MainWindow, desk: Workbench, press: Press) -> None:
    desk.go_to("rest", "left_stick")
    desk.settle(visit)
    press(visit, K.Key_H)
    assert visit.panel is not None
    assert "How hard to press: the button pressed last" in visit.panel.labels()
