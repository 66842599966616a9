"""A note that the records could not take is not typed twice."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from workbench import Workbench

from station.errors import RecordFull
from station.records.store import Store
from station.records.types import Note
from station.ui.panels.record import NotePanel
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]
Write = Callable[..., None]
WORDS = "grip worn, a crack beside the left stick"


def begun(window: MainWindow, press: Press) -> str:
    """What stands in the note that N begins."""
    press(window, K.Key_N)
    assert isinstance(window.panel, NotePanel)
    return window.panel.text.toPlainText()


def test_what_was_written_stands_there_again_when_there_is_room(
    visit: MainWindow, desk: Workbench, press: Press, write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: object, note: Note) -> Note:
        raise RecordFull("The disk is full; make room.")

    with monkeypatch.context() as patch:
        patch.setattr(Store, "add_note", full)
        assert begun(visit, press) == ""
        write(visit, WORDS)
        press(visit, K.Key_Return)
        assert "The disk is full" in visit.foot.message.text()
    assert begun(visit, press) == WORDS
    press(visit, K.Key_Return)
    assert [n.text for n in desk.history().notes] == [WORDS]
    assert begun(visit, press) == "", "it is kept now"
