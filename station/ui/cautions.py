"""The key that reads out what can hurt in the step at hand."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from station.ui.checklist.pane import ChecklistPane
from station.ui.frame import Frame, Shown
from station.ui.painting.hazards import Cautions
from station.ui.painting.look import Look
from station.ui.panels.panel import Panel
from station.ui.ports import AdvicePort
from station.words import cautions as words
from station.words import common


class HazardPanel(Panel):
    """The whole text."""

    width_px = 640
    keys = words.KEYS

    def __init__(self, what: str, cautions: Cautions, look: Look, parent: QWidget) -> None:
        said = words.STEPS.get(what) or common.TREATMENT_KINDS.get(what, what)
        super().__init__(words.TITLE.format(what=said), look, parent)
        self.add_hazards(what, cautions, in_full=True)
        self.finish()


class CautionRoom:
    """On the card, where the step there can hurt, or over it where the card is too small; else of the treatment that is
    proposed."""

    def __init__(self, advice: AdvicePort, cautions: Cautions, frame: Frame, shown: Shown, pane: ChecklistPane) -> None:
        self._advice, self._cautions, self._frame, self._shown, self._pane = advice, cautions, frame, shown, pane

    def read(self) -> None:
        if self._pane.card.toggle_hazards():
            return
        unit = self._shown.unit
        proposal = self._advice.proposal(unit.id) if unit is not None else None
        if what := self._pane.card.cautioned:
            self._read(what)
        elif proposal is None or not proposal.hazards:
            self._frame.say(words.NOTHING_AT_HAND)
        else:
            self._read(proposal.kind)

    def _read(self, what: str) -> None:
        self._frame.open_panel(lambda look, over: HazardPanel(what, self._cautions, look, over))
