"""The pane of a lesson, in the place of the checklist: its prompt while the walk goes on, then what it taught."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from station.bench.teaching_types import TeachView
from station.ui.painting.look import Look
from station.ui.teaching.card import TeachCard
from station.ui.teaching.taught import TeachList


class LessonPane(QWidget):
    """`show_lesson` every frame of a lesson."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.prompt, self.taught = TeachCard(look), TeachList(look)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        for part in (self.prompt, self.taught):
            box.addWidget(part, 1)
            part.hide()

    def set_look(self, look: Look) -> None:
        self.prompt.set_look(look)
        self.taught.set_look(look)

    def show_lesson(self, view: TeachView) -> None:
        """The prompt, or what was taught while it waits for answers."""
        answers = view.state == "answering"
        self.prompt.setVisible(not answers)
        self.taught.setVisible(answers)
        if answers:
            self.taught.show_view(view)
        else:
            self.prompt.show_view(view)
