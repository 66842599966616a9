"""How hard to press next: the panel of the key H."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from workbench import Workbench

from station.bench.types import LongForm, Strength
from station.ui.panels.bench import StrengthPanel
from station.ui.window import MainWindow
from station.words.checks import LONG_SEES

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


def test_the_long_form_is_the_fourth(asked: MainWindow, desk: Workbench, press: Press) -> None:
    press(asked, K.Key_4)
    press(asked, K.Key_Return)
    assert desk.commands[-1] == LongForm()
    assert asked.panel is None


def test_the_long_form_takes_no_mass(asked: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    before = list(desk.commands)
    press(asked, K.Key_4)
    press(asked, K.Key_Tab)
    write(asked, "160")
    press(asked, K.Key_Return)
    assert asked.panel is not None
    assert "The long form is pressed by the finger: leave the mass empty." in asked.panel.labels()
    assert desk.commands == before


def test_one_key_makes_the_long_form_the_next_check(visit: MainWindow, desk: Workbench, press: Press) -> None:
    """The card says what it can see; it is there for this button alone, and the next visit does not have it."""
    desk.go_to("light", "left_shoulder")
    desk.settle(visit)
    assert "L:\N{NO-BREAK SPACE}100 presses" in visit.checklist.card.keys.text()
    press(visit, K.Key_L)
    desk.settle(visit)
    assert desk.commands[-1] == LongForm()
    session = desk.session()
    step = session.steps[session.current].step
    assert (step.check, step.control, step.offered) == ("long_press", "left_shoulder", True)
    assert [v.step.control for v in session.steps if v.step.check == "long_press"] == ["left_shoulder"]
    assert "Long light press" in visit.checklist.card.title.text()
    assert LONG_SEES in visit.checklist.card.hint.text()


def test_the_key_says_where_there_is_nothing_to_press(visit: MainWindow, desk: Workbench, press: Press) -> None:
    desk.go_to("rest", "left_stick")
    desk.settle(visit)
    press(visit, K.Key_L)
    desk.settle(visit)
    assert "light press" in visit.checklist.card.do.text() or "light press" in desk.session().message


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
