"""The panel that asks what a look over the unit saw."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QWidget

from station.checks.ask import SIGNS
from station.ui.painting.hazards import Cautions
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList
from station.ui.panels.panel import Panel
from station.words import checks
from station.words import panels as words


class LookPanel(Panel):
    """What was seen: one of what stops everything, or (`worn`: where that may be said) mere wear."""

    keys = words.LOOK_KEYS

    def __init__(
        self, tag: str, cautions: Cautions, seen: Callable[[str], None], look: Look, parent: QWidget, *, worn: bool
    ) -> None:
        """`seen`: gets one of `SIGNS`, or "" for mere wear."""
        super().__init__(words.LOOK.format(tag=tag), look, parent)
        self._seen = seen
        self._signs = (*SIGNS, "") if worn else SIGNS
        self.sign = ChoiceList([checks.LOOK_SIGNS[s] if s else words.LOOK_WORN for s in self._signs], look)
        self.add(self.sign, words.LOOK_SEEN, focus=True)
        self.add_hazards("look", cautions)
        self.finish()

    def commit(self) -> None:
        self._seen(self._signs[self.sign.chosen])
