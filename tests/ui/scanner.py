"""Keys that reach the window as they do from a keyboard, each with the time at which it was struck."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QKeyEvent

from station.ui.window import MainWindow

NO, SHIFT = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ShiftModifier
_NAMED = {"\r": Qt.Key.Key_Return, "\t": Qt.Key.Key_Tab, " ": Qt.Key.Key_Space}
_WITH_CONTROL = {
    "\n": Qt.Key.Key_J,
    "\x1c": Qt.Key.Key_Backslash,
    "\x1d": Qt.Key.Key_BracketRight,
    "\x1e": Qt.Key.Key_AsciiCircum,
    "\x1f": Qt.Key.Key_Underscore,
}


@dataclass
class Keyboard:
    """A keyboard at a window, or a scanner that stands in for one; `at_ms` goes on with each stroke."""

    window: MainWindow
    at_ms: float = 1000.0

    def type(self, text: str, gap_ms: float) -> None:
        """Strike these signs, the next one `gap_ms` after the one before; capitals with Shift, each up and down."""
        for sign in text:
            self.stroke(sign, gap_ms)

    def scan(self, tag: str, gap_ms: float = 8.0, before: str = "", after: str = "\r") -> None:
        """A burst, long after whatever came before."""
        self.at_ms += 1000
        self.type(f"{before}{tag}{after}", gap_ms)

    def stroke(self, sign: str, gap_ms: float) -> None:
        """One key down and up again."""
        shifted = sign.isupper()
        parts = 2 if shifted else 1
        if shifted:
            self._send(QEvent.Type.KeyPress, Qt.Key.Key_Shift, "", SHIFT, gap_ms / parts)
        held = Qt.KeyboardModifier.ControlModifier if sign in _WITH_CONTROL else SHIFT if shifted else NO
        key = _WITH_CONTROL.get(sign) or _NAMED.get(sign) or Qt.Key(ord(sign.upper()))
        self._send(QEvent.Type.KeyPress, key, sign, held, gap_ms / parts)
        self._send(QEvent.Type.KeyRelease, key, sign, held, 0)
        if shifted:
            self._send(QEvent.Type.KeyRelease, Qt.Key.Key_Shift, "", NO, 0)

    def line_feed(self, gap_ms: float) -> None:
        """The key of X11 that writes a line feed."""
        self._send(QEvent.Type.KeyPress, Qt.Key(0x0A), "\n", NO, gap_ms)

    def with_control(self, letter: str, gap_ms: float) -> None:
        """A letter with Ctrl, as systems tell it that give no control sign for it."""
        self._send(
            QEvent.Type.KeyPress, Qt.Key(ord(letter)), letter.lower(), Qt.KeyboardModifier.ControlModifier, gap_ms
        )

    def _send(self, kind: QEvent.Type, key: Qt.Key, text: str, held: Qt.KeyboardModifier, after_ms: float) -> None:
        self.at_ms += after_ms
        event = QKeyEvent(kind, key, held, text)
        event.setTimestamp(round(self.at_ms))
        QCoreApplication.sendEvent(self.window.windowHandle(), event)
