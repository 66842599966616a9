"""All that a shop can set, in one panel: what it is now, whether it is as it ships, and a change of it in its place."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QRectF, Qt, QTimer
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QBoxLayout, QLineEdit, QSizePolicy, QVBoxLayout, QWidget

from station.errors import InputError
from station.ui.painting.look import Look
from station.ui.painting.told import draw_cursor
from station.ui.painting.widgets import ChoiceList, WrappedText, has_keys, plain_label
from station.ui.panels.panel import Panel, name_it
from station.ui.panels.photo_field import PhotoField
from station.ui.ports import OptionsPort, SettingView
from station.words import common
from station.words import options as words

SIDE_BY_SIDE_PX = 620
"""from this width of a row on, at 100 %, title, value and state stand side by side"""
MOST_TYPED = 4096
"""signs that a field takes: the longest path"""
CHOICE_COLUMNS = 3
_MOVES = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
_PAGES = {Qt.Key.Key_PageUp: -1, Qt.Key.Key_PageDown: 1}
_STATE_TONE = {False: "dim", True: "text"}


class SettingRow(QAbstractButton):
    """One row; a click puts the cursor on it, a click on the row that has it changes it. Keys go to the panel."""

    def __init__(self, view: SettingView, keys: Callable[[QKeyEvent], None], look: Look) -> None:
        """`keys`: takes what is pressed; what scrolls around the rows would take the arrows."""
        super().__init__()
        self._look, self._keys = look, keys
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)  # a click comes to `mousePressEvent` first
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.line = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self.line.setContentsMargins(look.px(10), look.px(3), look.px(10), look.px(3))
        self.title, self.value = WrappedText(look, 15), WrappedText(look, 15, bold=True)
        self.state = WrappedText(look, 13, "dim")
        for part, share in ((self.title, 5), (self.value, 4), (self.state, 4)):
            part.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
            self.line.addWidget(part, share)
        self.had_focus = False
        self.show_view(view)

    def show_view(self, view: SettingView) -> None:
        """What it is now."""
        self.view = view
        state = _state(view)
        self.title.set_text(view.title)
        self.value.set_text(view.value)
        self.state.set_text(state, "bad" if view.problem else _STATE_TONE[view.own])
        self.setAccessibleName(words.ROW.format(title=view.title, value=view.value, state=state))

    def stand(self, *, wide: bool) -> None:
        """Side by side, or below each other."""
        direction = QBoxLayout.Direction.LeftToRight if wide else QBoxLayout.Direction.TopToBottom
        self.line.setDirection(direction)
        self.line.setSpacing(self._look.px(14) if wide else 0)

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self.hasFocus():
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        draw_cursor(painter, QRectF(self.rect()), self._look, focused=True)
        painter.end()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        self._keys(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.had_focus = self.hasFocus()
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        super().mousePressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self.update()


def _state(view: SettingView) -> str:
    """ "Yours; ships as 18.00 EUR · from the next visit on"."""
    if view.problem:
        return view.problem
    own = words.YOURS.format(value=view.shipped) if view.shipped else words.YOURS_ALONE
    return common.DOT.join(text for text in (own if view.own else words.AS_IT_SHIPS, view.counts) if text)


class SettingsPanel(Panel):
    """`at`: the row that has the cursor first; `take_back`: Ctrl+Z."""

    width_px = 940
    keys = words.PANEL_KEYS

    def __init__(
        self,
        options: OptionsPort,
        pictures: Callable[[], Sequence[str]],
        take_back: Callable[[], None],
        at: str,
        look: Look,
        parent: QWidget,
    ) -> None:
        super().__init__(words.PANEL, look, parent)
        self._options, self._pictures, self._take_back = options, pictures, take_back
        self.rows: dict[str, SettingRow] = {}
        self._holders: dict[str, tuple[QWidget, QVBoxLayout]] = {}
        self._editor: ChoiceList | QLineEdit | PhotoField | None = None
        self._edited = ""
        """the name of the row that is being changed"""
        self._seen = ""
        self._answer = 0
        """the number of the answer that is waited for; 0: none"""
        self.told = ""
        """what came of the last change; said until the next key"""
        self._last: SettingRow | None = None
        group = ""
        for view in options.views():
            if view.group != group:
                group = view.group
                heading = plain_label(words.GROUPS[group], "section")
                heading.setContentsMargins(0, look.px(8), 0, 0)
                self.add(heading)
            self._add_row(view)
        first = self._last = self.rows.get(at) or next(iter(self.rows.values()))
        self._fit_rows()
        self.finish(first)
        self._show_keys()
        QTimer.singleShot(0, self, self._see_row)  # where rows lie is known once they are laid out

    def _add_row(self, view: SettingView) -> None:
        row = self.rows[view.name] = SettingRow(view, self.keyPressEvent, self.look)
        row.clicked.connect(lambda: self._row_clicked(row))
        holder = QWidget()
        box = QVBoxLayout(holder)
        self._holders[view.name] = holder, box
        box.setContentsMargins(0, 0, self.look.px(8), 0)
        box.setSpacing(self.look.px(4))
        box.addWidget(row)
        self.add(holder)
        self._order.append(row)

    def _fit_rows(self) -> None:
        over = self.parentWidget()
        wide = min(self.look.px(self.width_px), over.width() - 24 if over is not None else 0)
        for row in self.rows.values():
            row.stand(wide=wide >= self.look.px(SIDE_BY_SIDE_PX))

    def place(self) -> None:
        self._fit_rows()
        super().place()

    # --- rows ----------------------------------------------------------------------------------------------

    def current(self) -> SettingRow:
        """The row that is being changed, or has the cursor."""
        if self._edited:
            return self.rows[self._edited]
        rows = self.rows.values()
        return next((row for row in rows if has_keys(row)), self._last or next(iter(rows)))

    @property
    def editing(self) -> bool:
        return self._editor is not None

    def refresh(self) -> None:
        """What is set may be another thing now; what is being typed stays."""
        for view in self._options.views():
            if view.name in self.rows:
                self.rows[view.name].show_view(view)
        self._show_keys()
        if self.told and self._editor is None:
            self.say(self.told, "good")
        else:
            self.place()

    def _go(self, row: SettingRow) -> None:
        self._last = row
        row.setFocus(Qt.FocusReason.OtherFocusReason)
        self._see_row()
        self._show_keys()

    def _see_row(self) -> None:
        row = self.current()
        self._area.ensureWidgetVisible(self._holders[row.view.name][0], 0, self.look.px(40))

    def _move(self, by: int) -> None:
        rows = list(self.rows.values())
        at = rows.index(self.current()) + by
        if 0 <= at < len(rows):
            self._go(rows[at])

    def _to_group(self, by: int) -> None:
        """The first row of the group after, or of the one before; round at the ends."""
        rows = list(self.rows.values())
        groups = list(dict.fromkeys(row.view.group for row in rows))
        wanted = groups[(groups.index(self.current().view.group) + by) % len(groups)]
        self._go(next(row for row in rows if row.view.group == wanted))

    def _row_clicked(self, row: SettingRow) -> None:
        if self._editor is not None:
            if row.view.name != self._edited:
                self._leave()
                self._go(row)
            return
        again = row.had_focus
        self._go(row)
        if again:
            self._change(row)

    # --- changing --------------------------------------------------------------------------------------------

    def _change(self, row: SettingRow) -> None:
        """The field or the list for it opens beneath the row."""
        self.refresh()  # another window may have changed it
        view = row.view
        self._problem.hide()
        if view.file:
            self._answer = self._options.open_file(view.name)
            return
        self._edited, self._seen = view.name, view.stored
        editor = self._editor = self._field_for(view)
        _, box = self._holders[view.name]
        box.addWidget(editor)
        if isinstance(editor, PhotoField):
            box.addWidget(editor.below)
            editor.line.textChanged.connect(self.place)
        name_it(editor, view.title)
        editor.show()
        self._show_keys()
        self.place()
        editor.setFocus()
        self._see_row()

    def _field_for(self, view: SettingView) -> ChoiceList | QLineEdit | PhotoField:
        if view.choices:
            typed = [choice for choice, _ in view.choices]
            chosen = typed.index(view.typed) if view.typed in typed else 0
            options = [told for _, told in view.choices]
            choices = ChoiceList(options, self.look, chosen, columns=min(CHOICE_COLUMNS, len(options)))
            choices.taken.connect(self.accept)
            return choices
        if view.picture:
            picture = PhotoField(self._pictures(), self.look)
            picture.line.setText(view.typed)
            picture.line.setMaxLength(MOST_TYPED)
            return picture
        field = QLineEdit(view.typed)
        field.setMaxLength(MOST_TYPED)
        field.setPlaceholderText(view.hint)
        field.selectAll()
        return field

    def _typed(self) -> str:
        editor = self._editor
        if isinstance(editor, ChoiceList):
            return self.rows[self._edited].view.choices[editor.chosen][0]
        field = editor.line if isinstance(editor, PhotoField) else editor
        assert field is not None
        return field.text()

    def _leave(self) -> None:
        """The field goes, the cursor is on its row."""
        editor, row = self._editor, self.rows[self._edited]
        self._editor, self._edited, self._answer = None, "", 0
        for part in (editor, editor.below if isinstance(editor, PhotoField) else None):
            if part is not None:
                part.hide()
                self._holders[row.view.name][1].removeWidget(part)
                part.deleteLater()
        self._problem.hide()
        self.place()
        self._go(row)

    def commit(self) -> None:
        name = self._edited
        self._answer = self._options.put(name, self._typed(), self._seen)

    def accept(self) -> None:
        """Save what is being changed, or begin to change the row; the panel stays."""
        if self._editor is None:
            self._change(self.current())
            return
        try:
            self.commit()
        except InputError as error:
            self.refused(str(error))

    def answered(self, number: int) -> None:
        """It is saved."""
        if number and number == self._answer:
            if self._editor is not None:
                self._leave()
            self._answer = 0
        self.refresh()

    def refused(self, text: str, number: int = 0) -> None:
        """It is not: what was typed stays, and what is stored by now is what a second Enter replaces."""
        self.refresh()
        if self._editor is not None and number in (0, self._answer):
            self._seen = self.rows[self._edited].view.stored
            self._editor.setFocus()
        if number == self._answer:
            self._answer = 0
        self.say(text)
        self._see_row()

    def _put_back(self) -> None:
        """As it ships."""
        self.refresh()  # another window may have changed it
        view = self.current().view
        self._problem.hide()
        if view.file:
            self._answer = self._options.set_aside(view.name)
        elif view.own:
            self._answer = self._options.put(view.name, "", view.stored)
        else:
            self.say(words.IS_AS_SHIPPED, "dim")

    # --- keys ------------------------------------------------------------------------------------------------

    def _show_keys(self) -> None:
        keys = words.PANEL_FILE_KEYS if self.current().view.file else words.PANEL_KEYS
        wanted = words.PANEL_EDIT_KEYS if self._editor is not None else keys
        if self._keys.text() != wanted:
            self._keys.setText(wanted)

    def key_clicked(self, key: str) -> None:
        if key == "Tab" and self._editor is None:
            self._to_group(1)
        else:
            super().key_clicked(key)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self.told:
            self.told = ""
            self._problem.hide()
        key = Qt.Key(event.key())
        control = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        if self._editor is not None:
            if key == Qt.Key.Key_Escape:
                self._leave()
            elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                super().keyPressEvent(event)
        elif key in _MOVES:
            self._move(_MOVES[key])
        elif key in _PAGES:
            self._to_group(_PAGES[key])
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self._go(list(self.rows.values())[0 if key == Qt.Key.Key_Home else -1])
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace) and not event.isAutoRepeat():
            self._put_back()
        elif key == Qt.Key.Key_Z and control:
            self._take_back()
        elif key == Qt.Key.Key_Space and not event.isAutoRepeat():
            self.accept()
        else:
            super().keyPressEvent(event)

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Tab goes to the next group; a field that is being filled in keeps the cursor."""
        if self._editor is None:
            self._to_group(1 if forward else -1)
        return True
