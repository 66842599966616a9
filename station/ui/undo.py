"""The offer to take back what was saved last, and the keys that withdraw and correct."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer

from station.errors import StationError
from station.records.types import Unit
from station.ui.frame import Frame, Shown
from station.ui.header import FootLine
from station.ui.panels.withdraw import CorrectPanel, WithdrawPanel
from station.ui.ports import StockPort, Undoable, UndoPort, UnitPort, Withdrawable
from station.ui.record.pane import RecordPane
from station.ui.record.rows import withdrawable
from station.ui.views import ShelfView
from station.words import undo as words
from station.words import window

OFFERED_MS = 10_000
"""so long a save can be taken back with one key: customary, no published source"""


class UndoRoom(QObject):
    """Keeps the last offer for some seconds."""

    def __init__(
        self,
        undo: UndoPort,
        units: UnitPort,
        stock: StockPort,
        frame: Frame,
        shown: Shown,
        foot: FootLine,
        pane: RecordPane,
        shelf: ShelfView,
    ) -> None:
        super().__init__(foot)  # or its clock would outlive what it draws on
        self._undo, self._units, self._stock, self._frame, self._shown = undo, units, stock, frame, shown
        self._foot, self._shelf = foot, shelf
        self._offer: Undoable | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(OFFERED_MS)
        self._timer.timeout.connect(self._over)
        foot.undo.clicked.connect(self.undo)
        pane.struck_wanted.connect(self.withdraw_entry)

    def told(self, event: Undoable) -> None:
        """Something was saved, or taken back."""
        if not event.said:
            said = words.TAKEN_BACK if event.logged else words.TAKEN_BACK_ALONE
            self._frame.say(words.TAKEN_BACK_OVER if event.over else said)
            self._over()
            return
        self._offer = event
        self._foot.offer_undo(True)
        if not self._foot.is_bad():
            self._frame.say(words.SAVED.format(what=event.said))
        self._timer.start()

    def _over(self) -> None:
        if self._offer is not None and self._foot.text() == words.SAVED.format(what=self._offer.said):
            self._frame.say("")
        self._offer = None
        self._timer.stop()
        self._foot.offer_undo(False)

    @property
    def offered(self) -> bool:
        """Something can be taken back with one key."""
        return self._offer is not None

    # --- keys ------------------------------------------------------------------------------------------

    def undo(self) -> None:
        """Take back what was saved last."""
        offer = self._offer
        if offer is None:
            self._frame.say(words.NOTHING_TO_UNDO.format(key="Z"))
            return
        self._over()
        self._undo.undo(offer.number)

    def withdraw(self) -> None:
        """Withdraw something of the unit that is shown."""
        self._withdraw(0)

    def withdraw_entry(self, row_id: str) -> None:
        """The same, with the entry that was clicked chosen."""
        unit = self._unit()
        if unit is None:
            return
        entries = self._entries(unit)
        self._withdraw(next((k for k, e in enumerate(entries) if e.row_id == row_id), 0))

    def _withdraw(self, first: int) -> None:
        if (unit := self._unit()) is None:
            return
        entries = self._entries(unit)
        title = words.WITHDRAW.format(tag=unit.tag)
        self._frame.open_panel(lambda look, over: WithdrawPanel(self._undo, title, entries, look, over, first))

    def _entries(self, unit: Unit) -> tuple[Withdrawable, ...]:
        try:
            return withdrawable(self._units.history(unit.id))
        except StationError as error:
            self._frame.say(str(error), bad=True)
            return ()

    def withdraw_part(self) -> None:
        """Withdraw the part under the cursor of the shelf."""
        part = self._shelf.part()
        if part is None:
            self._frame.say(words.NO_PART_CHOSEN)
            return
        said = words.PART_ADDED.format(part=part.name)
        title = words.WITHDRAW_PART.format(part=part.name)
        entry = Withdrawable("part", part.id, "", said)
        self._frame.open_panel(lambda look, over: WithdrawPanel(self._undo, title, (entry,), look, over))

    def correct(self) -> None:
        """Put right what the unit is that is shown."""
        if (unit := self._unit()) is not None:
            lots = self._stock.lots()
            self._frame.open_panel(lambda look, over: CorrectPanel(self._undo, unit, lots, look, over))

    def _unit(self) -> Unit | None:
        if self._shown.unit is None:
            self._frame.say(window.NO_UNIT_CHOSEN)
        return self._shown.unit
