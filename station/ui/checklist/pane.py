"""The Checklist pane: the card of the current step above the list of all of them; a lesson while a device is taught."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from station.bench.teaching_types import TeachView
from station.bench.types import SessionView
from station.ui.checklist.rows import rows_of
from station.ui.checklist.step_card import StepCard
from station.ui.checklist.step_list import StepList
from station.ui.painting.look import Look
from station.ui.teaching.card import TeachCard
from station.ui.teaching.taught import TeachList

FLASH_NS = 160_000_000
NO_VISIT = (
    "No visit",
    "Nothing to check yet",
    "Plug in a unit, or press D for a simulated one.",
    "D: sample unit · U: find a unit",
)


class ChecklistPane(QWidget):
    """`set_session` on news, `tick` every frame.

    Signals: `chosen(int)`: the person pointed at a step.
    """

    chosen = Signal(int)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._session: SessionView | None = None
        self._idle = NO_VISIT
        self.card = StepCard(look)
        self.list = StepList(look)
        self._frame = QFrame()
        self._frame.setObjectName("pane")
        self._inner = QVBoxLayout(self._frame)
        self._inner.addWidget(self.list)
        # in a low window the card keeps its words and the list gives way
        self.list.setMinimumHeight(1)
        self._box = QVBoxLayout(self)
        self._box.setContentsMargins(0, 0, 0, 0)
        self._box.addWidget(self.card)
        self._box.addWidget(self._frame, 1)
        self.list.chosen.connect(self.chosen)
        self.prompt, self.lesson = TeachCard(look), TeachList(look)
        for part in (self.prompt, self.lesson):
            self._box.addWidget(part, 1)
            part.hide()
        self._space()
        self.set_session(None)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.card.set_look(look)
        self.list.set_look(look)
        self.prompt.set_look(look)
        self.lesson.set_look(look)
        self._space()

    def _space(self) -> None:
        self._box.setSpacing(self._look.px(8))
        self._inner.setContentsMargins(self._look.px(8), self._look.px(4), self._look.px(4), self._look.px(6))

    def set_idle(self, idle: tuple[str, str, str, str]) -> None:
        """What the card says while there is no visit."""
        if idle != self._idle:
            self._idle = idle
            if self._session is None:
                self.card.set_session(None, idle)

    def set_session(self, session: SessionView | None) -> None:
        old, self._session = self._session, session
        self.card.set_session(session, self._idle)
        if session is None:
            self.list.set_rows([])
            return
        stale = old is None or (old.steps, old.current, old.running) != (
            session.steps,
            session.current,
            session.running,
        )
        if old is None or old.steps is not session.steps or stale:
            self.list.set_rows(rows_of(session.steps, session.current, session.running))

    def show_lesson(self, view: TeachView | None) -> None:
        """The prompt of a lesson, or what it taught, in the place of the checklist; None: the checklist again."""
        answers = view is not None and view.state == "answering"
        self.card.setVisible(view is None)
        self._frame.setVisible(view is None)
        self.prompt.setVisible(view is not None and not answers)
        self.lesson.setVisible(answers)
        if view is not None and answers:
            self.lesson.show_view(view)
        elif view is not None:
            self.prompt.show_view(view)

    def tick(self, now_ns: int, beat_ns: int | None) -> None:
        """Let the beat's flash fade."""
        share = 0.0 if beat_ns is None else max(0.0, 1 - (now_ns - beat_ns) / FLASH_NS)
        self.card.flash(self._session, min(share, 1.0))
