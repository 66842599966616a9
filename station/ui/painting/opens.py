"""A widget that opens something: by a click, and by Enter where the keys are on it."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QWidget

_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class Opens(QObject):
    """Watches a widget, which owns it. Tab comes to it, Enter and a click open."""

    def __init__(self, widget: QWidget, opened: Callable[[], None]) -> None:
        super().__init__(widget)
        self._opened = opened
        widget.setCursor(Qt.CursorShape.PointingHandCursor)
        widget.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        widget.setProperty("opens", True)
        widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QMouseEvent) and event.type() == QEvent.Type.MouseButtonRelease:
            widget = self.parent()
            if isinstance(widget, QWidget) and widget.rect().contains(event.position().toPoint()):
                self._opened()
                return True
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and event.key() in _ENTER:
            if not event.isAutoRepeat():
                self._opened()
            return True
        return False
