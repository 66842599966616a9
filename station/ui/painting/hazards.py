"""What can hurt in a step, beside it: one line of signs and the stop rules always, the whole text when new or asked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from station.diagnosis.hazards import Hazard
from station.ui.painting.hints import KeyHints
from station.ui.painting.look import Look
from station.ui.painting.shapes import CAUTION, ShapeMark
from station.ui.painting.widgets import plain_label
from station.words import cautions as words
from station.words.grammar import sentence_start


class HazardsTold:
    """Which hazards stood there in full since the visit at hand began. One for the window."""

    def __init__(self) -> None:
        self._visit = ""
        self._told: set[str] = set()

    def visit(self, name: str) -> None:
        """What is on the bench: with another visit or unit, everything is told anew."""
        if name != self._visit:
            self._visit = name
            self._told.clear()

    def new(self, hazards: Sequence[Hazard]) -> bool:
        """Whether one of them was not told in full yet; from now on all of them were."""
        names = {hazard.name for hazard in hazards}
        fresh = not names <= self._told
        self._told |= names
        return fresh


@dataclass(frozen=True, slots=True)
class Cautions:
    """What panels and cards need to caution. `of`: kind of treatment or step of the bench → what can hurt; `visit`: a
    name for what is on the bench now."""

    of: Callable[[str], Sequence[Hazard]]
    visit: Callable[[], str] = lambda: ""
    told: HazardsTold = field(default_factory=HazardsTold)

    def are_new(self, hazards: Sequence[Hazard]) -> bool:
        """Whether one of them has to stand there in full; from now on they were told."""
        self.told.visit(self.visit())
        return self.told.new(hazards)


class HazardBox(QWidget):
    """`set_hazards` on news; hidden without any. `in_full` is what Q switches."""

    def __init__(self, look: Look, parent: QWidget | None = None, *, tight: bool = False) -> None:
        """`tight`: the stop rules run on, where room is short."""
        super().__init__(parent)
        self._look, self._tight = look, tight
        self._hazards: tuple[Hazard, ...] = ()
        self.in_full = False
        self._mark = ShapeMark(CAUTION, look, 18)
        self.signs = KeyHints("", look, "caution")
        self.stop = plain_label("", "caution", wrap=True)
        self.text = plain_label("", "cautionrest", wrap=True)
        told = QVBoxLayout()
        told.setSpacing(look.px(3))
        for part in (self.signs, self.stop, self.text):
            told.addWidget(part)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, look.px(4), 0, 0)
        line.setSpacing(look.px(10))
        line.addWidget(self._mark, 0, Qt.AlignmentFlag.AlignTop)
        line.addLayout(told, 1)
        self._draw()

    def set_hazards(self, hazards: Sequence[Hazard], *, in_full: bool = False) -> None:
        self._hazards, self.in_full = tuple(hazards), in_full
        self._draw()

    def set_look(self, look: Look) -> None:
        self._look = look
        self._mark.set_look(look)
        self.signs.set_look(look)

    def toggle(self) -> None:
        self.in_full = not self.in_full
        self._draw()

    def _draw(self) -> None:
        signs = words.SIGN.join(hazard.sign for hazard in self._hazards)
        self.signs.setText((words.LESS if self.in_full else words.READ).format(signs=signs))
        stops = [hazard.stop for hazard in self._hazards if hazard.stop]
        self.stop.setText((" " if self._tight else "\n").join(stops))
        self.text.setText(full_text(self._hazards) if self.in_full else "")
        self.text.setVisible(self.in_full)
        self.stop.setVisible(bool(self.stop.text()))
        if self.parentWidget() is not None:  # or it would come up as a window of its own
            self.setVisible(bool(self._hazards))


def full_text(hazards: Sequence[Hazard]) -> str:
    """What to do before and to mind meanwhile, hazard by hazard; by whom is a matter of local rules."""
    said = [
        line.format(sign=sentence_start(hazard.sign), text=text)
        for hazard in hazards
        for line, text in ((words.BEFORE, hazard.before), (words.DURING, hazard.during))
        if text
    ]
    return "\n".join([*said, words.DEFERS])
