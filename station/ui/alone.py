"""Units that are left alone, in the window: the strip that tells of them, and the keys that leave and end them."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from station.bench.alone_view import AloneView, said
from station.ui.bench import BenchRoom
from station.ui.frame import Frame
from station.ui.painting.hazards import Cautions
from station.ui.painting.look import Look
from station.ui.painting.widgets import WrappedText
from station.ui.panels.alone import EndPanel, LeavePanel
from station.ui.ports import AlonePort, SettingsPort
from station.words import alone as words


class AloneStrip(QWidget):
    """One line, there only while a unit is left alone; a click lists them.

    Signals: `opened()`: the person wants the list.
    """

    opened = Signal()

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.line = WrappedText(look, 15, "dim")
        box = QHBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(self.line)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.hide()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        self.opened.emit()

    def set_look(self, look: Look) -> None:
        self.line.set_look(look)

    def show_views(self, views: Sequence[AloneView]) -> None:
        """How they do now."""
        self.setVisible(bool(views))
        if views:
            eventful = any(v.movements or v.disconnects or v.problem or v.state == "away" for v in views)
            units = words.NEXT_UNIT.join(map(said, views))
            self.line.set_text(words.STRIP.format(units=units), "text" if eventful else "dim")


class AloneRoom:
    """The keys of it."""

    def __init__(
        self, alone: AlonePort, settings: SettingsPort, cautions: Cautions, frame: Frame, bench: BenchRoom
    ) -> None:
        self._alone, self._settings, self._cautions = alone, settings, cautions
        self._frame, self._bench = frame, bench

    def leave(self) -> None:
        """Leave the unit at the front alone."""
        found = self._bench.at_hand()
        if found is None:
            self._frame.say(words.NO_UNIT)
            return
        unit, device, kind = found

        def begin(seconds: float) -> None:
            self._bench.let_go()
            self._alone.leave(unit.id, device, kind, seconds)

        self._frame.open_panel(
            lambda look, over: LeavePanel(unit.tag, self._settings, self._cautions, begin, look, over)
        )

    def list(self) -> None:
        """Those that are left alone, to end one."""
        self._frame.open_panel(lambda look, over: EndPanel(self._alone, look, over))
