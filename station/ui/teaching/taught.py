"""What a lesson taught: every control with how sure it is, what was left out, each open question with its answers."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QVBoxLayout, QWidget

from station.bench.teaching_types import Doubt, TeachView
from station.ui.painting.hints import KeyHints
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, plain_label, scrolling
from station.ui.teaching.said import control_lines, left_out, next_words, outcome_words, together
from station.words import lessons as words

WIDE_PX = 660
"""from here on the controls stand in two columns"""


class DoubtBox(QFrame):
    """One open question and its answers."""

    def __init__(self, doubt: Doubt, now: bool, look: Look) -> None:
        super().__init__()
        self.setObjectName("doubt")
        self.setProperty("now", now)
        options = [words.ANSWERS[a] for a in doubt.options]
        self.answers = ChoiceList(options, look, doubt.options.index(doubt.answer), columns=len(options))
        self.answers.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        box = QVBoxLayout(self)
        box.setContentsMargins(look.px(12), look.px(8), look.px(12), look.px(8))
        box.setSpacing(look.px(4))
        box.addWidget(plain_label(doubt.question.text, "bold" if now else "", wrap=True))
        box.addWidget(self.answers)
        self._laid = box

    def laid_out(self) -> bool:
        """Whether it has the room that it needs by now."""
        return self.isVisible() and self.height() >= self._laid.totalHeightForWidth(self.width())


class TeachList(QFrame):
    """Shown while the lesson waits for answers. `current` is the question that the digits answer."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self._look = look
        self._view: TeachView | None = None
        self._shown: object = None
        self._marked: DoubtBox | None = None
        self._followed: tuple[QRect, QSize] | None = None
        self.current = 0
        self.title = plain_label("", "accent", wrap=True)
        self.headline = plain_label("", "control", wrap=True)
        self.next = plain_label("", "accent", wrap=True)
        self.keys = KeyHints("", look, "bold")
        self._body = QWidget()
        self._area = scrolling()
        self._box = QVBoxLayout(self)
        self._box.addWidget(self.title)
        self._box.addWidget(self.headline)
        self._box.addWidget(self._area, 1)
        self._box.addWidget(self.next)
        self._box.addWidget(self.keys)
        self._space()

    def set_look(self, look: Look) -> None:
        self._look = look
        self.keys.set_look(look)
        self._space()
        self._shown = None
        if self._view is not None:
            self.show_view(self._view)

    def _space(self) -> None:
        pad = self._look.px(20)
        self._box.setContentsMargins(pad, self._look.px(14), pad, self._look.px(14))
        self._box.setSpacing(self._look.px(6))

    # --- what is shown -------------------------------------------------------------------------------

    def show_view(self, view: TeachView) -> None:
        """Draw what was learned; builds anew only when it changed."""
        self._view = view
        self.current = min(self.current, max(len(view.doubts) - 1, 0))
        shown = (view.learned, view.doubts, self.current, self._look, self._columns())
        if shown == self._shown:
            self._follow()
            return
        self._shown = shown
        self.title.setText(words.TEACHING.format(device=view.product))
        self.headline.setText(outcome_words(view))
        self.setAccessibleName(self.title.text())
        self.setAccessibleDescription(self.headline.text())
        go_on = words.ENTER.format(what=next_words(view)) if view.learned and self._can_go_on(view) else ""
        self.next.setText(go_on)
        self.next.setVisible(bool(self.next.text()))
        answers = words.TAUGHT_KEYS_SEVERAL if len(view.doubts) > 1 else words.TAUGHT_KEYS_ONE
        self.keys.setText(together(answers if view.doubts else words.TAUGHT_KEYS))
        self._build(view)

    def _can_go_on(self, view: TeachView) -> bool:
        again = any(d.answer == "again" for d in view.doubts)
        return again or bool(view.learned and view.learned.sheet.controls)

    def _build(self, view: TeachView) -> None:
        at = self._area.verticalScrollBar().value()
        self._body = QWidget()
        box = QVBoxLayout(self._body)
        box.setContentsMargins(0, 0, self._look.px(8), 0)
        box.setSpacing(self._look.px(8))
        boxes = [DoubtBox(d, k == self.current, self._look) for k, d in enumerate(view.doubts)]
        for doubt in boxes:
            box.addWidget(doubt)
        box.addWidget(self._controls(view))
        for text in self._remarks(view):
            box.addWidget(plain_label(text, "dim", wrap=True))
        box.addStretch(1)
        self._area.setWidget(self._body)
        self._area.verticalScrollBar().setValue(at)
        self._marked, self._followed = boxes[self.current] if boxes else None, None

    def _follow(self) -> None:
        """Bring the marked question into sight, some frames after it was made: whenever it has another place."""
        marked = self._marked
        if marked is None or not marked.laid_out():
            return
        place = (marked.geometry(), self._area.viewport().size())
        if place != self._followed:
            self._followed = place
            self._area.ensureWidgetVisible(marked, 0, self._look.px(8))

    def _columns(self) -> int:
        return 2 if self.width() >= self._look.px(WIDE_PX) else 1

    def _controls(self, view: TeachView) -> QWidget:
        lines = control_lines(view.learned, view.doubts) if view.learned is not None else []
        holder = QWidget()
        grid = QGridLayout(holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(self._look.px(18))
        grid.setVerticalSpacing(self._look.px(2))
        columns = self._columns()
        tall = -(-len(lines) // columns)
        for k, (name, sure) in enumerate(lines):
            column, row = divmod(k, tall)
            grid.addWidget(plain_label(name, "bold"), row, 2 * column)
            grid.addWidget(plain_label(sure, "good" if sure == words.SURE else "dim"), row, 2 * column + 1)
        for column in range(1, columns):
            grid.setColumnMinimumWidth(2 * column, self._look.px(210))
        grid.setColumnStretch(2 * columns, 1)
        return holder

    def _remarks(self, view: TeachView) -> list[str]:
        if view.learned is None:
            return []
        out = left_out(view.learned.ignored)
        return ([words.LEFT_OUT.format(what=out)] if out else []) + list(view.learned.notes)

    # --- keys ------------------------------------------------------------------------------------------

    def choose(self, by: int) -> None:
        """Another question."""
        if self._view is not None and self._view.doubts:
            self.current = (self.current + by) % len(self._view.doubts)
            self.show_view(self._view)

    def scroll_pages(self, pages: float) -> None:
        bar = self._area.verticalScrollBar()
        bar.setValue(bar.value() + round(pages * bar.pageStep()))

    def doubt(self) -> Doubt | None:
        """The question that the digits answer."""
        doubts = self._view.doubts if self._view is not None else ()
        return doubts[self.current] if self.current < len(doubts) else None

    def labels(self) -> list[str]:
        """All texts that stand on it."""
        return [w.text() for w in self.findChildren(QLabel) if w.text() and not w.isHidden()]
