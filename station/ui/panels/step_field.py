"""A line in which the arrows take one of some texts."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit


class StepField(QLineEdit):
    """Down takes the next of some texts and Up the one before; of those that begin as what was typed, if any do.
    Anything else can be typed."""

    def __init__(self, options: Sequence[str], text: str = "") -> None:
        super().__init__(text)
        self._options, self._begun = tuple(options), ""
        self.textEdited.connect(self._typed)

    def _typed(self, text: str) -> None:
        self._begun = text.strip().casefold()

    def _fitting(self) -> tuple[str, ...]:
        fits = tuple(option for option in self._options if option.casefold().startswith(self._begun))
        return fits or self._options

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}.get(Qt.Key(event.key()), 0)
        options = self._fitting()
        if not step or not options:
            super().keyPressEvent(event)
            return
        at = options.index(self.text()) if self.text() in options else -1 if step > 0 else 1
        self.setText(options[max(0, min(len(options) - 1, at + step))])
        self.selectAll()
