"""The strip that lists what is plugged in, where it is more than one pad."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QHBoxLayout, QWidget

from station.ui.painting.look import Look
from station.ui.painting.widgets import WrappedText
from station.words import grammar
from station.words import hub as words


class HubStrip(QWidget):
    """One line, there only while two pads or more are plugged in."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.line = WrappedText(look, 15, "dim")
        box = QHBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(self.line)
        self.hide()

    def set_look(self, look: Look) -> None:
        self.line.set_look(look)

    def show_pads(self, front: str, others: Sequence[str]) -> None:
        """What the pads are called."""
        self.setVisible(bool(others))
        if others:
            self.line.set_text(words.STRIP.format(front=front, others=grammar.COMMA.join(others)))
