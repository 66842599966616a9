"""Panels of units that are left alone: for how long, and ending it."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QWidget

from station.bench.alone_view import said, span
from station.errors import InputError
from station.records.rules import ALONE_KEY
from station.ui.painting.hazards import Cautions
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.panel import Panel
from station.ui.ports import AlonePort, SettingsPort
from station.words import alone as words

SECONDS = (600.0, 3600.0, 0.0)
"""as `words.DURATIONS`; 0: until it is ended"""
WANTED = ("off", "on")


class LeavePanel(Panel):
    """How long the unit at the front is left alone; what to mind stands first."""

    keys = words.LEAVE_KEYS

    def __init__(
        self,
        tag: str,
        settings: SettingsPort,
        cautions: Cautions,
        begin: Callable[[float], None],
        look: Look,
        parent: QWidget,
    ) -> None:
        super().__init__(words.LEAVE.format(tag=tag), look, parent)
        self._settings, self._begin = settings, begin
        self.add_hazards("alone", cautions)
        self.add(plain_label(words.LEAVE_PROMPT, wrap=True))
        self.time = ChoiceList(words.DURATIONS, look)
        self.add(self.time, words.HOW_LONG, focus=True)
        self._was = WANTED.index("on" if settings.get(ALONE_KEY, "off") == "on" else "off")
        self.shop = ChoiceList(words.SHOP_CHOICES, look, self._was, columns=2)
        self.add(self.shop, words.SHOP_WANTS, focus=True)
        self.finish()

    def commit(self) -> None:
        if self.shop.chosen != self._was:
            self._settings.put(ALONE_KEY, WANTED[self.shop.chosen])
        self._begin(SECONDS[self.time.chosen])


class EndPanel(Panel):
    """The units that are left alone; one is ended."""

    keys = words.LIST_KEYS

    def __init__(self, alone: AlonePort, look: Look, parent: QWidget) -> None:
        super().__init__(words.LIST, look, parent)
        self._alone, self._views = alone, tuple(alone.views())
        self._asked = ""
        """which was asked about"""
        self.choice = ChoiceList([said(v) for v in self._views], look)
        if self._views:
            self.add(self.choice, focus=True)
        else:
            self.add_nothing(words.LIST_NONE)
        self.finish()

    def commit(self) -> None:
        if not self._views:
            return
        one = self._views[self.choice.chosen]
        if one.left_s is None and one.id != self._asked:  # one without an end has run for long, or is meant to
            self._asked = one.id
            raise InputError(words.END_ASKED.format(tag=one.tag, time=span(one.passed_s)))
        self._alone.end(one.id)
