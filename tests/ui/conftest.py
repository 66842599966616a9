"""The window on the real desk over a made-up pad, with time moved by hand and no timer of its own."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

sys.path.insert(0, str(Path(__file__).resolve().parent))

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from workbench import Workbench, prepare

from station.records.types import Unit
from station.ui.sound import Sound
from station.ui.start import load_fonts
from station.ui.window import MainWindow

UNIT = Unit("unit-4", "SM-07-04", "Plover T2", None, "PT2-0419", 0x1209, 1, "Plover T2", "left stick goes by itself")


@pytest.fixture(autouse=True)
def _fonts(qapp: QApplication) -> None:
    load_fonts()


@pytest.fixture(scope="session")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Empty records and the pad's sheet."""
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("prepared")
        patch.setenv("RESTPOINT_DATA", str(folder))
        prepare(folder)
    return folder


@pytest.fixture
def desk(prepared: Path) -> Iterator[Workbench]:
    made = Workbench(prepared)
    yield made
    made.close()


@pytest.fixture
def window(qtbot: QtBot, desk: Workbench) -> MainWindow:
    made = MainWindow(desk.desk, "dark", Sound({}))
    made.stop_clock()
    made.shown.late_key_s = 0.0  # the keys of a test come in no time
    qtbot.addWidget(made)
    made.resize(1280, 720)
    made.show()
    made.activateWindow()
    made.tick()
    return made


@pytest.fixture
def visit(window: MainWindow, desk: Workbench) -> MainWindow:
    """The window with a visit of SM-07-04 that has just begun: the left stick at rest is next."""
    desk.begin(window, desk.store.add_unit(UNIT))
    return window


@pytest.fixture
def press(qtbot: QtBot, desk: Workbench) -> Callable[..., None]:
    """Press a key where the focus is, as a person would, and let what it asks for be done and drawn."""

    def send(window: MainWindow, key: Qt.Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        target = window.focusWidget() or window
        qtbot.keyClick(target, key, held)
        desk.settle(window)

    return send


@pytest.fixture
def write(qtbot: QtBot, desk: Workbench) -> Callable[..., None]:
    """Type text where the focus is."""

    def send(window: MainWindow, text: str) -> None:
        qtbot.keyClicks(window.focusWidget() or window, text)
        desk.settle(window)

    return send
