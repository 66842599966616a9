"""The window on a fake desk, with time moved by hand and no timer of its own."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

sys.path.insert(0, str(Path(__file__).resolve().parent))

from fake_desk import DEVICE, FakeDesk
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from station.records.types import Unit
from station.ui.sound import Sound
from station.ui.start import load_fonts
from station.ui.window import MainWindow

UNIT = Unit("unit-4", "SM-07-04", "Plover T2", None, "PT2-0419", 0x1209, 1, "Plover T2", "left stick goes by itself")


@pytest.fixture(autouse=True)
def _fonts(qapp: QApplication) -> None:
    load_fonts()


@pytest.fixture
def desk() -> FakeDesk:
    return FakeDesk()


@pytest.fixture
def window(qtbot: QtBot, desk: FakeDesk) -> MainWindow:
    made = MainWindow(desk, "dark", Sound({}))
    made.stop_clock()
    qtbot.addWidget(made)
    made.resize(1280, 720)
    made.show()
    made.activateWindow()
    made.tick()
    return made


@pytest.fixture
def visit(window: MainWindow, desk: FakeDesk) -> MainWindow:
    """The window with a visit of SM-07-04 that has just begun."""
    desk.unit_rows = [UNIT]
    desk.known_devices = [DEVICE]
    desk.start_visit(UNIT.id, DEVICE, "intake")
    window.tick()
    return window


@pytest.fixture
def press(qtbot: QtBot) -> Callable[..., None]:
    """Press a key where the focus is, as a person would, and let one frame pass."""

    def send(window: MainWindow, key: Qt.Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        target = window.focusWidget() or window
        qtbot.keyClick(target, key, held)
        window.tick()

    return send


@pytest.fixture
def write(qtbot: QtBot) -> Callable[..., None]:
    """Type text where the focus is."""

    def send(window: MainWindow, text: str) -> None:
        qtbot.keyClicks(window.focusWidget() or window, text)
        window.tick()

    return send
