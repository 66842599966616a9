"""A panel over the window: a question that the keyboard alone can answer and that Escape always leaves.

It is a child of the window, not a dialog: the live view goes on behind it, and nothing is trapped.
"""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QLabel, QPlainTextEdit, QVBoxLayout, QWidget

from station.errors import InputError
from station.ui.look import Look
from station.ui.widgets import ChoiceList, plain_label, set_role


class NoteEdit(QPlainTextEdit):
    """Several lines of text: Enter is left to the panel, Shift+Enter breaks the line, Tab goes on."""

    def __init__(self) -> None:
        super().__init__()
        self.setTabChangesFocus(True)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if (enter and not event.modifiers() & Qt.KeyboardModifier.ShiftModifier) or event.key() == Qt.Key.Key_Escape:
            event.ignore()
        else:
            super().keyPressEvent(event)


class Panel(QFrame):
    """Base of all panels. A subclass adds rows and overrides `commit`.

    Signals: `closed()`: gone, whether something was done or not.
    """

    closed = Signal()
    width_px = 520
    keys = "Enter: save · Esc: back"

    def __init__(self, title: str, look: Look, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("sheet")
        self.look = look
        self.setAutoFillBackground(True)
        self.box = QVBoxLayout(self)
        self.box.setContentsMargins(look.px(20), look.px(14), look.px(20), look.px(14))
        self.box.setSpacing(look.px(6))
        self.title = plain_label(title, "title", wrap=True)
        self.box.addWidget(self.title)
        self._problem = plain_label("", "bad", wrap=True)
        self._keys = plain_label(self.keys, "small", wrap=True)
        self._order: list[QWidget] = []
        self.setAccessibleName(title)

    # --- building --------------------------------------------------------------------------------------

    def add(self, widget: QWidget, label: str = "", focus: bool = False) -> None:
        """A row: a small label above the widget. `focus`: part of the Tab order."""
        if label:
            self.box.addWidget(plain_label(label, "small"))
        self.box.addWidget(widget)
        if focus:
            self._order.append(widget)
        if isinstance(widget, ChoiceList):
            widget.taken.connect(self.accept)

    def finish(self, first: QWidget | None = None) -> None:
        """Add the lines at the foot, show the panel and give `first` the focus."""
        self.box.addWidget(self._problem)
        self._problem.hide()
        self.box.addWidget(self._keys)
        self.place()
        self.show()
        self.raise_()
        target = first or (self._order[0] if self._order else self)
        if target is self:
            self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        target.setFocus()

    def place(self) -> None:
        """Stand in the middle of the window, never larger than it."""
        parent = self.parentWidget()
        if parent is None:
            return
        room = parent.rect().adjusted(12, 12, -12, -12)
        wide = min(self.look.px(self.width_px), room.width())
        self.setFixedWidth(wide)
        self.box.activate()
        tall = self.heightForWidth(wide) if self.hasHeightForWidth() else self.sizeHint().height()
        self.setFixedHeight(min(max(tall, self.box.minimumSize().height()), room.height()))
        self.move(room.center() - self.rect().center())

    # --- answering -------------------------------------------------------------------------------------

    def commit(self) -> None:
        """Do what the panel is for; InputError keeps it open and is shown."""

    def accept(self) -> None:
        """Commit and close, or say what is wrong."""
        try:
            self.commit()
        except InputError as error:
            self.say(str(error))
            return
        self.close_panel()

    def say(self, text: str, role: str = "bad") -> None:
        set_role(self._problem, role)
        self._problem.setText(text)
        self._problem.show()
        self.place()

    def close_panel(self) -> None:
        self.hide()
        self.closed.emit()
        self.deleteLater()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.close_panel()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.accept()
        # every other key ends here: the bench behind must not hear it

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Tab stays inside the panel."""
        shown = [w for w in self._order if w.isVisible() and w.isEnabled()]
        if not shown:
            return True
        at = next((k for k, w in enumerate(shown) if w.hasFocus()), -1)
        shown[(at + (1 if forward else -1)) % len(shown)].setFocus(
            Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
        )
        return True

    def labels(self) -> list[str]:
        """All texts that stand on the panel."""
        return [w.text() for w in self.findChildren(QLabel) if w.text()]
