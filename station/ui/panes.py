"""The three panes of the bench side by side, as many as a window is wide enough for; their sizes are remembered."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QSplitter, QVBoxLayout, QWidget

from station.ui.ports import SettingsPort

THREE_PANES_PX, TWO_PANES_PX = 1120, 700
SHARES = (0.452, 0.253, 0.295)
LEAST_PX = (300, 250, 250)
TEACHING_TWO_PANES_PX = 900
TEACHING_SHARES = (0.42, 0.58, 0.0)
"""while a device is taught: the prompt gets the room of the record, which has nothing to say yet"""


class BenchPanes(QSplitter):
    """Live, checklist, record. In a narrow window one or two of them; `next_pane` brings the others in front."""

    def __init__(self, settings: SettingsPort, panes: tuple[QWidget, QWidget, QWidget]) -> None:
        super().__init__(Qt.Orientation.Horizontal)
        self._settings, self._panes = settings, panes
        self._front = 0
        self._teaching = False
        self._sizes = sizes_of(settings.get("panes"), 3)
        self.setChildrenCollapsible(False)
        self.setHandleWidth(10)
        for pane, least in zip(panes, LEAST_PX, strict=True):
            pane.setMinimumWidth(least)
            self.addWidget(pane)
        self.splitterMoved.connect(self.remember)

    def next_pane(self) -> None:
        """The following pane comes in front; `fold` shows it."""
        self._front = (self._front + 1) % len(self._panes)

    def set_teaching(self, on: bool) -> None:
        """Room for the prompt while a device is taught; `fold` shows it."""
        self._teaching = on
        self._front = 0

    def fold(self, width: int, scale: float) -> bool:
        """Show the panes that are readable at this width; True if some are folded away."""
        room = width / scale
        count = 3 if room >= THREE_PANES_PX else 2 if room >= TWO_PANES_PX else 1
        if self._teaching:
            shown = {0, 1} if room >= TEACHING_TWO_PANES_PX else {1}
        elif count == 3:
            shown = {0, 1, 2}
        elif count == 2:
            shown = {1, 2} if self._front == 2 else {0, 1}
        else:
            # what to do comes first
            shown = {(1, 0, 2)[self._front]}
        for k, pane in enumerate(self._panes):
            pane.setVisible(k in shown)
        wide = max(self.width(), 600)
        if self._teaching:
            self.setSizes([round(wide * share) for share in TEACHING_SHARES])
            return False
        self.setSizes(self._sizes or [round(wide * share) for share in SHARES])
        return count < 3

    def remember(self) -> None:
        """Keep the sizes that the person gave, while all three stand side by side."""
        if all(pane.isVisible() for pane in self._panes):
            self._sizes = self.sizes()
            self._settings.put("panes", ",".join(str(s) for s in self._sizes))


class InPlace(QWidget):
    """Two panes of which one stands in the place of the other."""

    def __init__(self, usual: QWidget, other: QWidget) -> None:
        super().__init__()
        self._usual, self._other = usual, other
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        for pane in (usual, other):
            box.addWidget(pane)
        other.hide()

    def show_other(self, on: bool) -> None:
        self._usual.setVisible(not on)
        self._other.setVisible(on)


def sizes_of(text: str, count: int) -> list[int]:
    """Remembered sizes; none if the text is not so many numbers."""
    parts = text.split(",")
    return [int(p) for p in parts] if len(parts) == count and all(p.isdecimal() for p in parts) else []
