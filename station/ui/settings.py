"""The room of the settings: opens their panel, and hands it what comes of a change."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QWidget

from station.ui.frame import Frame
from station.ui.painting.look import Look
from station.ui.panels.settings import SettingsPanel
from station.ui.panels.shop import ASKED, ShopPanel
from station.ui.ports import (
    DeskEvent,
    OptionsPort,
    RecordChanged,
    Said,
    SettingChanged,
    ShopFileReady,
    Undoable,
    UnitPort,
)
from station.ui.undo import UndoRoom
from station.words import options as words
from station.words import undo as undo_words


class SettingsRoom:
    """`take_over`: have the window follow a setting; True where it looks otherwise then."""

    def __init__(
        self,
        options: OptionsPort,
        units: UnitPort,
        frame: Frame,
        take_over: Callable[[str], bool],
        undo: UndoRoom,
    ) -> None:
        self._options, self._units, self._frame = options, units, frame
        self._take_over, self._undo = take_over, undo
        self._panel: SettingsPanel | None = None
        self._greeting: ShopPanel | None = None
        self._dressed = True
        """the panel looks as the window does"""

    def open(self) -> None:
        """All that can be set."""
        self._open("")

    def shop(self) -> None:
        """The same, at who issues the certificates."""
        self._open("shop")

    def welcome(self) -> None:
        """On records in which there is nothing yet: the shop and the person, which can be put off."""
        stored = {view.name: view.stored for view in self._options.views()}
        if any(stored[name] for name in ASKED) or self._units.find():
            return
        self._frame.open_panel(self._welcome_panel)

    def _welcome_panel(self, look: Look, over: QWidget) -> ShopPanel:
        panel = self._greeting = ShopPanel(self._options, None, look, over)
        panel.closed.connect(self._greeted)
        return panel

    def _greeted(self) -> None:
        self._greeting = None

    def step_aside(self) -> None:
        """Something else is to be done now: who works here can be asked the next time, unless it is being typed."""
        if self._greeting is not None and not self._greeting.unsaved():
            self._greeting.close_panel()

    def _open(self, at: str) -> None:
        self._frame.open_panel(lambda look, over: self._made(at, look, over))

    def _made(self, at: str, look: Look, over: QWidget) -> SettingsPanel:
        panel = SettingsPanel(self._options, self._units.photos, self._take_back, at, look, over)
        panel.closed.connect(lambda: self._closed(panel))
        self._panel, self._dressed = panel, True
        return panel

    def _closed(self, panel: SettingsPanel) -> None:
        if self._panel is panel:
            self._panel = None

    def _take_back(self) -> None:
        """Ctrl+Z, with the panel open."""
        if self._undo.offered:
            self._undo.undo()
        elif self._panel is not None:
            self._panel.say(words.NOTHING_TO_TAKE_BACK, "dim")

    def told(self, event: DeskEvent) -> None:
        """Something happened; what the panel asked for is among it."""
        match event:
            case SettingChanged(key=key):
                if self._take_over(key):
                    self._dressed = False
            case ShopFileReady(path=path):
                opened = self._frame.show_file(path)
                self._say((words.FILE_OPENED if opened else words.FILE_OPEN_BY_HAND).format(path=path))
            case RecordChanged(answers=number) if self._panel is not None:
                self._panel.answered(number)
                self._dress()
            case Said(text=text, bad=True, answers=number) if self._panel is not None:
                self._panel.refused(text, number)
            case Undoable(said=said) if self._panel is not None:
                saved = words.PANEL_UNDO.format(said=undo_words.SAVED.format(what=said))
                self._panel.told = saved if said else undo_words.TAKEN_BACK_ALONE
            case _:
                pass

    def _say(self, text: str) -> None:
        if self._panel is not None:
            self._panel.told = text
        else:
            self._frame.say(text)

    def _dress(self) -> None:
        """A panel in the window's new look takes the place of the one in the old."""
        before = self._panel
        if before is None or self._dressed or before.editing:
            return
        self._open(before.current().view.name)
        assert self._panel is not None
        self._panel.told = before.told
        self._panel.refresh()
