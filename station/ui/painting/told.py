"""For those who do not see the window: painted widgets with a role and a name, and what is said aloud as it happens.

Qt gives a widget the role of the class that it is derived from. So what is painted and only tells something is derived
from a label, a bar from a progress bar; a painted list has a stand-in for each of its rows, which shows nothing itself.
"""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QAccessibleEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QGroupBox, QLabel, QSlider, QWidget

from station.ui.painting.look import Look, color
from station.words import told as words


class Painted(QLabel):
    """A widget that paints itself and tells something: its accessible name says what it is, the description how it
    stands."""


class RowButton(QAbstractButton):
    """Stands in for a row of a painted list: one of several that exclude each other, or one that is ticked by itself.
    It paints nothing, and keys and mouse go to the list."""

    def __init__(self, owner: QWidget, *, exclusive: bool) -> None:
        super().__init__(owner)
        self.setCheckable(True)
        self.setAutoExclusive(exclusive)
        _stand_in(self)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The list has painted it."""


class RowValue(QSlider):
    """Stands in for a row of a painted list that holds a number."""

    def __init__(self, owner: QWidget, most: int) -> None:
        super().__init__(Qt.Orientation.Horizontal, owner)
        self.setRange(0, most)
        _stand_in(self)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The list has painted it."""


def _stand_in(widget: QWidget) -> None:
    widget.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    widget.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
    widget.setAttribute(Qt.WidgetAttribute.WA_NoSystemBackground)


class PaintedList(QGroupBox):
    """Base of painted lists. `label` is what stands above it; `tell` after every change."""

    def __init__(self) -> None:
        super().__init__()
        self.label = words.CHOICE

    def set_label(self, label: str) -> None:
        self.label = label
        self.setAccessibleName(words.NAMED.format(label=label, chosen=self.chosen_words()))

    def chosen_words(self) -> str:
        """What is chosen, or the row that has the cursor."""
        return ""

    def tell(self, row: QWidget | None) -> None:
        """`row`: the stand-in that has the cursor now."""
        self.setAccessibleName(words.NAMED.format(label=self.label, chosen=self.chosen_words()))
        if row is not None and self.hasFocus():
            QAccessible.updateAccessibility(QAccessibleEvent(row, QAccessible.Event.Focus))


def draw_cursor(painter: QPainter, box: QRectF, look: Look, focused: bool) -> None:
    """The frame around the row that is chosen: a thin line, and a thick one where the keys are."""
    thick = 3.0 if focused else 1.0
    painter.setPen(QPen(color(look.mark), thick))
    painter.setBrush(color(look.ground))
    inset = 0.5 + thick / 2
    painter.drawRoundedRect(box.adjusted(inset, inset, -inset, -inset), 4, 4)


def put_over(row: QWidget, box: QRectF) -> None:
    """The stand-in lies where its row is painted."""
    row.setGeometry(box.toRect())


def announce(widget: QWidget, text: str, *, urgent: bool = False) -> None:
    """Say it aloud where a screen reader listens; an urgent text interrupts what is being said."""
    if not text:
        return
    event = QAccessibleAnnouncementEvent(widget, text)
    polite, now = QAccessible.AnnouncementPoliteness.Polite, QAccessible.AnnouncementPoliteness.Assertive
    event.setPoliteness(now if urgent else polite)
    QAccessible.updateAccessibility(event)
