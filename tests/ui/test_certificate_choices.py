"""What stands on certificates is chosen in the window: the paper, the shop's mark and the unit's photo, by key and
mouse; and a certificate is withdrawn there, with a reason."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import UNIT
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtTest import QTest
from workbench import Workbench

from station.records.types import Issued
from station.ui.painting.widgets import ChoiceList
from station.ui.panels.record import NotePanel
from station.ui.panels.settings import SettingsPanel
from station.ui.panels.withdraw import WithdrawPanel
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]


@pytest.fixture
def shot(tmp_path: Path, desk: Workbench) -> Path:
    folder = tmp_path / "pictures"
    folder.mkdir()
    image = QImage(40, 30, QImage.Format.Format_RGB32)
    image.fill(QColor("steelblue"))
    assert image.save(str(folder / "shot.png"))
    desk.store.set_setting("photo_folder", str(folder))
    return folder / "shot.png"


def second(choices: ChoiceList) -> QPoint:
    return choices._boxes(choices.width())[1].center().toPoint()


def test_the_photo_of_a_note_goes_on_the_certificates_too(
    window: MainWindow, desk: Workbench, press: Press, shot: Path
) -> None:
    unit = desk.store.add_unit(UNIT)
    window.bench.choose_unit(unit)
    press(window, K.Key_N)
    panel = window.panel
    assert isinstance(panel, NotePanel)
    press(window, K.Key_Tab)
    press(window, K.Key_Down)  # the newest picture
    press(window, K.Key_Tab)
    press(window, K.Key_2)
    press(window, K.Key_Return)
    desk.desk.settle()
    (note,) = desk.store.history(unit.id).notes
    assert desk.store.get_setting(f"certificate_photo.{unit.id}") == note.photo_sha256


def test_a_click_chooses_the_same(window: MainWindow, desk: Workbench, press: Press, shot: Path) -> None:
    unit = desk.store.add_unit(UNIT)
    window.bench.choose_unit(unit)
    press(window, K.Key_N)
    panel = window.panel
    assert isinstance(panel, NotePanel)
    panel.photo.line.setText(str(shot))
    QTest.mouseClick(panel.where, Qt.MouseButton.LeftButton, pos=second(panel.where))
    press(window, K.Key_Return)
    desk.desk.settle()
    assert desk.store.get_setting(f"certificate_photo.{unit.id}")


def test_the_photo_stays_with_the_note_where_nobody_says_more(
    window: MainWindow, desk: Workbench, press: Press, shot: Path
) -> None:
    unit = desk.store.add_unit(UNIT)
    window.bench.choose_unit(unit)
    press(window, K.Key_N)
    press(window, K.Key_Tab)
    press(window, K.Key_Down)
    press(window, K.Key_Return)
    desk.desk.settle()
    assert desk.store.history(unit.id).notes
    assert desk.store.get_setting(f"certificate_photo.{unit.id}") == ""


def test_paper_and_mark_of_the_shop_are_chosen_by_key(
    window: MainWindow, desk: Workbench, press: Press, shot: Path
) -> None:
    press(window, K.Key_I, Qt.KeyboardModifier.ControlModifier)
    panel = window.panel
    assert isinstance(panel, SettingsPanel)
    for _ in range(4):
        press(window, K.Key_Down)
    for key in (K.Key_Return, K.Key_Down, K.Key_Return):  # the newest picture
        press(window, key)
    for key in (K.Key_Down, K.Key_Down, K.Key_Return, K.Key_3, K.Key_Return):
        press(window, key)
    assert (desk.store.get_setting("mark"), desk.store.get_setting("paper")) == (str(shot), "Letter")


def test_a_certificate_is_withdrawn_with_a_reason(
    window: MainWindow, desk: Workbench, press: Press, write: Callable[..., None]
) -> None:
    unit = desk.store.add_unit(UNIT)
    number, name = desk.store.next_certificate()
    issued = desk.store.add_certificate(Issued("", unit.id, "", number, name, "", "Ines", "ab" * 32, "cd" * 32))
    assert issued is not None
    window.bench.choose_unit(unit)
    press(window, K.Key_Z)
    panel = window.panel
    assert isinstance(panel, WithdrawPanel)
    assert panel.list.options[0].endswith(f"Certificate {name}")
    press(window, K.Key_Return)  # a reason is asked for
    write(window, "the wrong serial number")
    press(window, K.Key_Return)
    desk.desk.settle()
    assert {row: by.reason for row, by in desk.store.withdrawn_certificates().items()} == {
        issued.id: "the wrong serial number"
    }
