"""The gate that every key passes before the window hears it: what a scanner typed leaves it as one tag.

It stands before the window itself, so neither a field nor a panel nor a view has seen a sign of a tag when it turns out
to be one: nothing has to be taken back.
"""

from __future__ import annotations

import unicodedata

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QWindow

from station.ui.bursts import Bursts, Kind, Verdict

_ENDS = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Tab)
_MODIFIERS = (
    Qt.Key.Key_Shift,
    Qt.Key.Key_Control,
    Qt.Key.Key_Alt,
    Qt.Key.Key_AltGr,
    Qt.Key.Key_Meta,
    Qt.Key.Key_CapsLock,
)
_SEPARATORS = ("\x1c", "\x1d", "\x1e", "\x1f")
"""FS, GS, RS and US"""


class KeyGate(QObject):
    """Signals: `scanned(str, bool)`: a tag was scanned, and whether an Enter came after it."""

    scanned = Signal(str, bool)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._window: QWindow | None = None
        self._bursts: Bursts[QKeyEvent] = Bursts()
        self._playing = self._last_turn = False
        self._wait = QTimer(self)
        self._wait.setSingleShot(True)
        self._wait.setTimerType(Qt.TimerType.PreciseTimer)
        self._wait.timeout.connect(self._silent)

    def watch(self, window: QWindow) -> None:
        """Stand before this window; once is enough."""
        if self._window is None:
            self._window = window
            window.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        # a key without a time came from no keyboard: nothing can be told of its speed
        if (
            self._playing
            or event.type() != QEvent.Type.KeyPress
            or not isinstance(event, QKeyEvent)
            or not event.timestamp()
        ):
            return False
        sign = _sign(event)
        verdict = self._bursts.press(
            float(event.timestamp()), _kind(event, sign), sign, _copy(event), repeated=event.isAutoRepeat()
        )
        self._do(verdict)
        return verdict.taken

    def _do(self, verdict: Verdict[QKeyEvent]) -> None:
        if self._bursts.waiting:
            self._last_turn = False
            self._wait.start(self._bursts.hold_ms)
        else:
            self._wait.stop()
        for key in verdict.play:
            self._play(key)
        if verdict.tag is not None:
            self.scanned.emit(verdict.tag.text, verdict.tag.ended)

    def _silent(self) -> None:
        """Nothing came. A window that was busy meanwhile takes the keys that wait before it believes that."""
        if not self._last_turn:
            self._last_turn = True
            self._wait.start(0)
            return
        self._do(self._bursts.silence())

    def _play(self, key: QKeyEvent) -> None:
        """As if it came now: what it goes to may have changed with the key before."""
        if self._window is None:
            return
        self._playing = True
        try:
            QCoreApplication.sendEvent(self._window, key)
        finally:
            self._playing = False


def _kind(event: QKeyEvent, sign: str) -> Kind:
    key = event.key()
    if key in _ENDS or event.text() == "\n":
        return "end"  # X11 has a key that writes a line feed
    if key in _MODIFIERS:
        return "modifier"
    if sign:
        return "sign"
    # a key with Ctrl types a control sign: "]" the separator GS; keys that write no sign are numbered from Escape on
    is_control = (_has_control(event) and key < Qt.Key.Key_Escape) or event.text() in _SEPARATORS
    return "control" if is_control else "other"


def _sign(event: QKeyEvent) -> str:
    """The sign that a key writes, "" if none. Some systems tell a key with Ctrl by its letter: it writes none."""
    text = event.text()
    if len(text) != 1 or unicodedata.category(text).startswith("C") or _has_control(event):
        return ""
    return text


def _has_control(event: QKeyEvent) -> bool:
    """Ctrl is held, and not as half of AltGr, which writes signs."""
    held, alt = event.modifiers(), Qt.KeyboardModifier.AltModifier
    return bool(held & (Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.MetaModifier)) and not held & alt


def _copy(event: QKeyEvent) -> QKeyEvent:
    copy = QKeyEvent(
        event.type(),
        event.key(),
        event.modifiers(),
        event.nativeScanCode(),
        event.nativeVirtualKey(),
        event.nativeModifiers(),
        event.text(),
        event.isAutoRepeat(),
        event.count(),
    )
    copy.setTimestamp(event.timestamp())
    return copy
