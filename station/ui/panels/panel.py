"""A panel over the window: a question that the keyboard alone can answer and that Escape always leaves.

It is a child of the window, not a dialog: the live view goes on behind it, and nothing is trapped.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QLabel, QLineEdit, QPlainTextEdit, QVBoxLayout, QWidget

from station.errors import InputError
from station.ui.keys import press_of
from station.ui.painting.hazards import Cautions, HazardBox
from station.ui.painting.look import Look
from station.ui.painting.told import PaintedList
from station.ui.painting.widgets import ChoiceList, has_keys, plain_label, scrolling, set_role
from station.ui.panels.foot import PanelFoot
from station.words import panels as words

T = TypeVar("T")
_SCROLLS = {Qt.Key.Key_Up: -0.15, Qt.Key.Key_Down: 0.15, Qt.Key.Key_PageUp: -0.9, Qt.Key.Key_PageDown: 0.9}


def name_it(widget: QWidget, label: str) -> None:
    """The words above a field or a list are its name for those who do not see them."""
    if isinstance(widget, PaintedList):
        widget.set_label(label)
    elif (proxy := widget.focusProxy()) is not None:
        proxy.setAccessibleName(label)
    else:
        widget.setAccessibleName(label)


def _name_of(widget: QWidget) -> str:
    proxy = widget.focusProxy()
    return (proxy if proxy is not None else widget).accessibleName()


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
    keys = words.SAVE_KEYS
    tag_field: QLineEdit | None = None
    """where the tag of a new unit goes that is scanned, wherever the cursor is"""

    def __init__(self, title: str, look: Look, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("sheet")
        self.look = look
        self.setAutoFillBackground(True)
        self._outer = QVBoxLayout(self)
        self._outer.setContentsMargins(look.px(20), look.px(14), look.px(20), look.px(14))
        self._outer.setSpacing(look.px(6))
        self.title = plain_label(title, "title", wrap=True)
        self._body = QWidget()
        self.box = QVBoxLayout(self._body)
        self.box.setContentsMargins(0, 0, 0, 0)
        self.box.setSpacing(look.px(6))
        self._area = scrolling()
        self._area.setWidget(self._body)
        self._area.setMinimumHeight(1)  # what scrolls takes no room from what does not
        self._problem = plain_label("", "bad", wrap=True)
        self._stop = plain_label("", "caution", wrap=True)
        """the stop rules of what the panel begins, where the rows scroll: beside the Enter that begins it"""
        self._stop.hide()
        self._keys = PanelFoot(self.keys, self, look)
        self._outer.addWidget(self.title)
        self._outer.addWidget(self._area, 1)
        self._order: list[QWidget] = []
        self._hazards: HazardBox | None = None
        self.setAccessibleName(title)

    # --- building --------------------------------------------------------------------------------------

    def add(self, widget: QWidget, label: str = "", focus: bool = False) -> None:
        """A row: a small label above the widget. `focus`: part of the Tab order."""
        if label:
            self.box.addWidget(plain_label(label, "small"))
        self.box.addWidget(widget)
        if focus:
            self._order.append(widget)
        if label:
            name_it(widget, label)
        if isinstance(widget, ChoiceList):
            widget.taken.connect(self.accept)

    def add_nothing(self, text: str) -> None:
        """In place of a choice when there is nothing to choose from."""
        self.add(plain_label(text, wrap=True))
        self._keys.setText(words.NOTHING_KEYS)

    def add_foot(self, widget: QWidget) -> None:
        """What must stay in sight below everything that scrolls."""
        self._outer.addWidget(widget)

    def add_hazards(self, what: str, cautions: Cautions, *, in_full: bool = False) -> None:
        """What can hurt in what the panel begins; in full where that is new in this visit, or always. Q switches."""
        self._hazards = HazardBox(self.look)
        self._hazards.in_full = in_full
        self.add(self._hazards)
        self.show_hazards(what, cautions)

    def show_hazards(self, what: str, cautions: Cautions) -> None:
        """Something else was chosen: what can hurt in that."""
        if self._hazards is not None:
            hazards = tuple(cautions.of(what))
            self._hazards.set_hazards(hazards, in_full=cautions.are_new(hazards) or self._hazards.in_full)

    def finish(self, first: QWidget | None = None) -> None:
        """Add the lines at the foot, show the panel and give `first` the focus."""
        self.box.addStretch(1)  # spare height goes below the rows, not into them
        for field in self._order:
            if not _name_of(field):  # without a label it is called as it says itself, or as the panel
                hint = field.placeholderText() if isinstance(field, QLineEdit) else ""
                name_it(field, hint or self.title.text())
        self._outer.addWidget(self._stop)
        self._outer.addWidget(self._problem)
        self._problem.hide()
        self._outer.addWidget(self._keys)
        self.show()
        self.place()  # only what is shown has its style, and with it the height of its words
        self.raise_()
        target = first or (self._order[0] if self._order else self)
        if target is self:
            self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        target.setFocus()
        self._area.ensureWidgetVisible(target)

    def place(self) -> None:
        """Stand in the middle of the window, never larger than it."""
        parent = self.parentWidget()
        if parent is None:
            return
        room = parent.rect().adjusted(12, 12, -12, -12)
        wide = min(self.look.px(self.width_px), room.width())
        margins = self._outer.contentsMargins()
        inner = wide - margins.left() - margins.right() - 4
        self._keep_stop_in_view(scrolls=False)
        if self._needs(inner) > room.height():
            self._keep_stop_in_view(scrolls=True)
        self.setFixedSize(wide, min(self._needs(inner), room.height()))
        self.move(room.center() - self.rect().center())

    def _keep_stop_in_view(self, *, scrolls: bool) -> None:
        """The stop rules stand with the rest of the caution, or, where that scrolls away, above the keys."""
        rules = self._hazards.stop.text() if self._hazards is not None else ""
        if self._hazards is not None:
            self._hazards.stop.setVisible(bool(rules) and not scrolls)
        self._stop.setText(rules)
        self._stop.setVisible(bool(rules) and scrolls)

    def _needs(self, inner: int) -> int:
        """Height that the panel needs at a width of its rows."""
        margins = self._outer.contentsMargins()
        tall = margins.top() + margins.bottom() + 4 + self.box.spacing() * self._outer.count()
        for k in range(self._outer.count()):
            item = self._outer.itemAt(k)
            part = item.widget() if item is not None else None
            if part is self._area:
                tall += _height(self._body, inner)
            elif part is not None and not part.isHidden():
                tall += max(_height(part, inner), part.minimumSizeHint().height())
        return tall + self.look.px(6)  # frames of buttons are known only once they are drawn

    def unsaved(self) -> bool:
        """Whether closing it would lose something that was typed; what stands in a field for a tag is quickly there
        again."""
        lines = any(f.isModified() and not takes_tag(f) for f in self.findChildren(QLineEdit))
        return lines or any(f.document().isModified() for f in self.findChildren(QPlainTextEdit))

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

    def wrong(self, field: QLineEdit, text: str) -> InputError:
        """The error to raise for what stands in a field; the cursor goes there."""
        field.setFocus()
        field.selectAll()
        self._area.ensureWidgetVisible(field)
        return InputError(text)

    def read(self, field: QLineEdit, reader: Callable[[str], T]) -> T:
        """What a field says. InputError if the reader cannot read it; the cursor goes into the field."""
        try:
            return reader(field.text())
        except InputError as error:
            raise self.wrong(field, str(error)) from error

    def say(self, text: str, role: str = "bad") -> None:
        set_role(self._problem, role)
        self._problem.setText(text)
        self._problem.show()
        self.place()

    def close_panel(self) -> None:
        self.hide()
        self.closed.emit()
        self.deleteLater()

    def key_clicked(self, key: str) -> None:
        """A click on a key of the foot."""
        if key == "Tab":
            self.focusNextPrevChild(True)
        else:
            self.keyPressEvent(press_of(key))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.close_panel()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if not event.isAutoRepeat():  # a key that is leaned on answers nothing
                self.accept()
        elif event.key() == Qt.Key.Key_Q and self._hazards is not None:
            self._hazards.toggle()
            self.place()
        elif event.key() in _SCROLLS:
            bar = self._area.verticalScrollBar()
            bar.setValue(bar.value() + round(_SCROLLS[Qt.Key(event.key())] * bar.pageStep()))
        # every other key ends here: the bench behind must not hear it

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Tab stays inside the panel."""
        shown = [w for w in self._order if w.isVisible() and w.isEnabled()]
        if not shown:
            return True
        at = next((k for k, w in enumerate(shown) if has_keys(w)), None)
        step = 1 if forward else -1
        target = shown[((0 if forward else -1) if at is None else at + step) % len(shown)]
        target.setFocus(Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason)
        self._area.ensureWidgetVisible(target)
        return True

    def labels(self) -> list[str]:
        """All texts that stand on the panel."""
        return [w.text() for w in self.findChildren(QLabel) if w.text()]


def for_tag(field: QLineEdit) -> QLineEdit:
    """The field asks for a unit's tag: what a scanner types belongs there."""
    field.setProperty("tag", True)
    return field


def takes_tag(field: QWidget) -> bool:
    """Whether `for_tag` was said of it."""
    return bool(field.property("tag"))


def _height(widget: QWidget, width: int) -> int:
    """Height that a widget needs at a width."""
    layout = widget.layout()
    if layout is not None:
        layout.activate()
        return layout.totalHeightForWidth(width) if layout.hasHeightForWidth() else layout.totalSizeHint().height()
    return widget.heightForWidth(width) if widget.hasHeightForWidth() else widget.sizeHint().height()
