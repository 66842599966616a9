"""A photo goes into a note without a path being typed."""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import UNIT
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage
from workbench import Workbench

from station.ui.panels.record import NotePanel
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]


@pytest.fixture
def pictures(tmp_path: Path) -> tuple[str, ...]:
    made = []
    folder = tmp_path / "pictures"
    folder.mkdir()
    for name, at in (("newest.png", 2_000), ("older.png", 1_000)):
        image = QImage(400, 300, QImage.Format.Format_RGB32)
        image.fill(QColor("steelblue"))
        assert image.save(str(folder / name))
        os.utime(folder / name, (at, at))
        made.append(str(folder / name))
    return tuple(made)


@pytest.fixture
def panel(window: MainWindow, desk: Workbench, pictures: tuple[str, ...], press: Press) -> NotePanel:
    desk.store.set_setting("photo_folder", str(Path(pictures[0]).parent))
    window.bench.choose_unit(desk.store.add_unit(UNIT))
    press(window, K.Key_N)
    assert isinstance(window.panel, NotePanel)
    return window.panel


def test_the_arrows_choose_among_the_newest_pictures(
    window: MainWindow, desk: Workbench, panel: NotePanel, pictures: tuple[str, ...], press: Press
) -> None:
    field = panel.photo
    assert "newest.png" in field.line.placeholderText()
    assert not field.below.isVisible()
    press(window, K.Key_Tab)
    seen = []
    for key in (K.Key_Down, K.Key_Down, K.Key_Down, K.Key_Up, K.Key_Up, K.Key_Up, K.Key_Down):
        press(window, key)
        seen.append(field.line.text())
    newest, older = pictures
    assert seen == [newest, older, older, newest, "", "", newest]
    assert not field.preview.pixmap().isNull()
    assert "1 of 2" in field.said.text()
    press(window, K.Key_Return)
    assert window.panel is None
    ((name, _, photo, on_certificate),) = desk.calls
    assert (name, photo, on_certificate) == ("note", newest, False)
    assert len(desk.history().notes[0].photo_sha256) == 64


def test_what_is_no_picture_is_said_before_it_is_saved(panel: NotePanel, tmp_path: Path) -> None:
    bad = tmp_path / "bad.png"
    bad.write_bytes(b"no picture")
    for text in itertools.accumulate(str(bad)):
        panel.photo.line.setText(text)
    assert "no picture" in panel.photo.said.text()
    assert panel.photo.preview.pixmap().isNull()
