"""The foot of a panel: the keys that it knows, and a button for each that ends it."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from station.ui.keys import cap_of
from station.ui.painting.hints import KeyHints, TakesClicks, key_hints
from station.ui.painting.look import Look
from station.ui.painting.widgets import key_button
from station.words import common
from station.words import panels as words

_ENDS = ("Enter", "Esc")


class PanelFoot(QWidget):
    """`setText` with a line such as "Tab: reason · Enter: save · Esc: back"; a click is handed to `panel`."""

    def __init__(self, text: str, panel: TakesClicks, look: Look) -> None:
        super().__init__()
        self._panel = panel
        self.hints = KeyHints("", look)
        self.buttons: dict[str, QPushButton] = {}
        self._line = QHBoxLayout(self)
        self._line.setContentsMargins(0, look.px(4), 0, 0)
        self._line.setSpacing(look.px(8))
        self._line.addWidget(self.hints, 1)
        self.setText(text)

    def text(self) -> str:
        """The whole line, buttons included."""
        return self._text

    def setText(self, text: str) -> None:
        self._text = text
        for old in self.buttons.values():
            self._line.removeWidget(old)
            old.hide()
            old.deleteLater()
        self.buttons = {}
        rest = []
        for part in text.split(common.DOT):
            key = next((key for _, key in key_hints(part) if key in _ENDS), "")
            if not key:
                rest.append(part)
                continue
            what = part.partition(":")[2].strip()
            button = key_button(words.KEY_BUTTON.format(key=cap_of(key), what=what), wanted=key == "Enter")
            button.clicked.connect(lambda _=False, key=key: self._panel.key_clicked(key))
            self.buttons[key] = button
        for key in sorted(self.buttons, reverse=True):  # what is wanted stands last, under the thumb of the mouse hand
            self._line.addWidget(self.buttons[key])
            self.buttons[key].ensurePolished()
        self.hints.setText(common.DOT.join(rest))
