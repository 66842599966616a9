"""A line in which the arrows take one of some texts."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit


class StepField(QLineEdit):
    """Down takes the next of some texts and Up the one before; anything else can be typed."""

    def __init__(self, options: Sequence[str], text: str = "") -> None:
        super().__init__(text)
        self._options = tuple(options)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}.get(Qt.Key(event.key()), 0)
        if not step or not self._options:
            super().keyPressEvent(event)
            return
        at = self._options.index(self.text()) if self.text() in self._options else -1 if step > 0 else 1
        self.setText(self._options[max(0, min(len(self._options) - 1, at + step))])
        self.selectAll()
