"""Behind a panel no check begins, and no beat sounds."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from workbench import Workbench

from station.checks.types import Outcome
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]


def test_while_a_note_is_written_no_further_check_begins(visit: MainWindow, desk: Workbench, press: Press) -> None:
    press(visit, K.Key_N)
    desk.mark(Outcome.PASS)
    current = desk.session().current
    desk.advance(6000)
    assert not desk.session().running, "the next waits for the panel"
    press(visit, K.Key_Escape)
    assert not desk.session().running
    desk.advance(1500)
    assert (desk.session().running, desk.session().current) == (True, current), "and begins after it"
