"""A version of PySide6 that loses references aborts Python after some thousands of repaints: found out here, early."""

from __future__ import annotations

import sys

from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QWidget

REPAINTS = 3000


class Painted(QWidget):
    painted = 0

    def paintEvent(self, event: QPaintEvent) -> None:
        self.painted += 1


def test_virtual_calls_lose_no_references(qtbot):
    widget = Painted()
    qtbot.addWidget(widget)
    widget.resize(100, 100)
    with qtbot.waitExposed(widget):
        widget.show()
    before = sys.getrefcount(None)
    for _ in range(REPAINTS):
        widget.repaint()
    assert widget.painted >= REPAINTS
    assert before - sys.getrefcount(None) < REPAINTS // 10
