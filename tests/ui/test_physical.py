"""Letter keys on keyboards of other alphabets and other orders."""

from __future__ import annotations

import pytest
from conftest import UNIT
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent
from workbench import Workbench

from station.bench.types import Again
from station.ui.keys import key_of
from station.ui.panels.treatment import TreatmentPanel
from station.ui.physical import digit_of
from station.ui.window import MainWindow

NO, SHIFT, CONTROL = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.ControlModifier,
)


def struck(text: str, scan: int = 0, virtual: int = 0, held: Qt.KeyboardModifier = NO) -> QKeyEvent:
    """A key as the window system tells of it; `key` is what Qt makes of a sign."""
    return QKeyEvent(QEvent.Type.KeyPress, ord(text.upper()[:1] or "\0"), held, scan, virtual, 0, text)


@pytest.mark.parametrize(
    ("platform", "event", "key"),
    [
        # X11 key codes: the kernel's code plus 8
        ("xcb", struck("r", 27), "R"),
        ("xcb", struck("к", 27), "R"),  # Cyrillic at the place of R
        ("xcb", struck("К", 27, held=SHIFT), "Shift+R"),
        ("xcb", struck("ρ", 27), "R"),  # Greek
        ("xcb", struck("ר", 26), "E"),  # Hebrew at the place of E
        ("xcb", struck("ن", 45), "K"),  # Arabic
        ("wayland", struck("м", 55), "V"),
        ("xcb", struck("a", 24), "A"),  # AZERTY: A at the place of Q is A
        ("xcb", struck("z", 29), "Z"),  # QWERTZ: Z at the place of Y is Z
        ("xcb", struck("y", 52), "Y"),
        ("xcb", struck(",", 58), ","),  # AZERTY: a comma at the place of M is no M
        ("xcb", struck("'", 24), "'"),  # another order of Latin letters: an apostrophe at the place of Q
        ("xcb", struck("ö", 47), "ö"),
        ("xcb", struck("é", 11), "2"),  # AZERTY digits need Shift
        ("xcb", struck("&", 10), "1"),
        ("xcb", struck("!", 10, held=SHIFT), "!"),  # QWERTY: Shift+1
        ("xcb", struck("?", 61, held=SHIFT), "?"),
        ("xcb", struck("/", 61), "/"),
        ("windows", struck("к", 19, 0x52), "R"),
        ("windows", struck("/", 16, 0x51), "Q"),  # Hebrew: the system itself calls it Q
        ("windows", struck("é", 3, 0x32), "2"),
        ("cocoa", struck("к", 0, 15), "R"),
        ("cocoa", struck("ф", 0, 0), "A"),
        ("offscreen", struck("к", 0), "к"),
    ],
)
def test_a_key_is_what_stands_on_it_else_the_letter_of_its_place(
    monkeypatch: pytest.MonkeyPatch, platform: str, event: QKeyEvent, key: str
) -> None:
    monkeypatch.setattr(QGuiApplication, "platformName", staticmethod(lambda: platform))
    assert key_of(event) == key


def test_digits_of_other_scripts_are_digits() -> None:
    assert digit_of(struck("٣")) == "3"


def test_a_cyrillic_keyboard_works_the_bench(visit: MainWindow, desk: Workbench) -> None:
    assert desk.session().unit.tag == UNIT.tag
    for event in (struck("к", 27), struck("е", 28)):  # the places of R and T
        QCoreApplication.sendEvent(visit, event)
    assert desk.commands == [Again()]
    assert isinstance(visit.panel, TreatmentPanel)
    QCoreApplication.sendEvent(visit.focusWidget(), struck("é", 11))
    assert visit.panel.kind.chosen == 1
