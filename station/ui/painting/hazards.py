"""What can hurt in a step, beside it: one line of signs and the stop rules always, the whole text when new or asked."""

from __future__ import annotations

import re
from bisect import bisect_right
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
    """`set_hazards` on news; hidden without any. `in_full` is what Q switches; where there is no room for all of the
    text, `shorten` leaves as many sentences as fit, and Q is said to read it.
    """

    def __init__(self, look: Look, parent: QWidget | None = None, *, tight: bool = False) -> None:
        """`tight`: the stop rules run on, where room is short."""
        super().__init__(parent)
        self._look, self._tight = look, tight
        self._hazards: tuple[Hazard, ...] = ()
        self.in_full = False
        self._shown = 0
        """so many sentences of the text stand there, where it is in full"""
        self._mark = ShapeMark(CAUTION, look, 18)
        self.signs = KeyHints("", look, "caution")
        self.stop = plain_label("", "caution", wrap=True)
        self.text = plain_label("", "cautionrest", wrap=True)
        self._line = QHBoxLayout()
        self._line.setSpacing(look.px(8))
        self._line.addWidget(self._mark, 0, Qt.AlignmentFlag.AlignTop)
        self._line.addWidget(self.signs, 1)
        told = QVBoxLayout(self)  # the mark stands beside the signs alone: what is long has the whole width
        told.setContentsMargins(0, look.px(4), 0, 0)
        told.setSpacing(look.px(3))
        told.addLayout(self._line)
        told.addWidget(self.stop)
        told.addWidget(self.text)
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

    @property
    def is_cut(self) -> bool:
        """Whether it should stand there in full and has no room to."""
        return self.in_full and self._shown < len(self._sentences())

    def shorten(self, width: int, room: int) -> None:
        """Show as much of the whole text as there is room for, whole sentences only.

        width: of the box, px. room: what box and text may be tall together, px.
        """
        if not self.in_full or not self._hazards:
            return
        beside = width - self._mark.sizeHint().width() - self._line.spacing()
        head = max(self.signs.heightForWidth(beside), self._mark.sizeHint().height())
        least = head + self.stop.heightForWidth(width) + 2 * self._look.px(4)
        metrics, flags = self.text.fontMetrics(), Qt.TextFlag.TextWordWrap.value
        tall = [
            metrics.boundingRect(0, 0, width, 1 << 20, flags, self._first(k)).height()
            for k in range(len(self._sentences()) + 1)
        ]
        fitting = bisect_right(tall, room - least) - 1
        if max(fitting, 0) != self._shown:
            self._show(max(fitting, 0))
            self.updateGeometry()  # who asked measures anew before the next turn of the event loop

    def _first(self, sentences: int) -> str:
        return "".join(self._sentences()[:sentences]).strip()

    def _sentences(self) -> list[str]:
        """The whole text in pieces that can stand alone, each with the space after it."""
        return re.findall(r".+?[.!?](?:\s+|$)|.+?(?:\n+|$)", full_text(self._hazards), re.DOTALL)

    def _draw(self) -> None:
        stops = [hazard.stop for hazard in self._hazards if hazard.stop]
        self.stop.setText((" " if self._tight else "\n").join(stops))
        self.stop.setVisible(bool(self.stop.text()))
        self._show(len(self._sentences()) if self.in_full else 0)
        if self.parentWidget() is not None:  # or it would come up as a window of its own
            self.setVisible(bool(self._hazards))

    def _show(self, sentences: int) -> None:
        """So many sentences of the text; the key says what it does then."""
        self._shown = sentences
        signs = words.SIGN.join(hazard.sign for hazard in self._hazards)
        whole = self.in_full and not self.is_cut
        self.signs.setText((words.LESS if whole else words.READ).format(signs=signs))
        self.text.setText(self._first(sentences))
        self.text.setVisible(bool(self.text.text()))


def full_text(hazards: Sequence[Hazard]) -> str:
    """What to do before and to mind meanwhile, hazard by hazard; by whom is a matter of local rules."""
    said = [
        line.format(sign=sentence_start(hazard.sign), text=text)
        for hazard in hazards
        for line, text in ((words.BEFORE, hazard.before), (words.DURING, hazard.during))
        if text
    ]
    return "\n".join([*said, words.DEFERS])
