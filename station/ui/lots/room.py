"""The keys of the Lots view: write up lots and units, give one up, sell one, put a part on the shelf."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import PurePath

from PySide6.QtWidgets import QWidget

from station.records.types import Lot, Unit
from station.ui.frame import Frame
from station.ui.lots.view import LotsView
from station.ui.painting.hazards import Cautions
from station.ui.painting.look import Look
from station.ui.panels.donor import DonorPanel
from station.ui.panels.incoming import FilePanel, PreviewPanel, QuickPanel
from station.ui.panels.money import MoneyPanel
from station.ui.panels.plan import PlanPanel
from station.ui.panels.record import UnitPanel
from station.ui.panels.stock import LotPanel, PartPanel
from station.ui.panels.withdraw import WithdrawPanel
from station.ui.ports import (
    AdvicePort,
    PlanMade,
    SettingsPort,
    SpreadsheetRead,
    StockPort,
    UndoPort,
    UnitPort,
    Withdrawable,
)
from station.ui.tags import by_age, next_tag, shelf_order
from station.words import accounts, common, figures, grammar
from station.words import incoming as coming
from station.words import views as words
from station.words.figures import money


class LotsRoom:
    """Opens a panel for what the cursor of the view is on."""

    def __init__(
        self,
        stock: StockPort,
        units: UnitPort,
        advice: AdvicePort,
        settings: SettingsPort,
        undo: UndoPort,
        came_back: Callable[[Unit], None],
        cautions: Cautions,
        frame: Frame,
        view: LotsView,
    ) -> None:
        self._advice, self._undo, self._came_back = advice, undo, came_back
        self._settings = settings
        self._planning: PlanPanel | None = None
        """the panel of the plan, while it is open"""
        self._reading = 0
        """the number of the answer to a spreadsheet that is looked through; 0 when nobody waits for it"""
        self._stock, self._units, self._cautions = stock, units, cautions
        self._frame, self._view = frame, view

    def new_lot(self) -> None:
        name = self._next_lot()
        self._frame.open_panel(lambda look, over: LotPanel(self._stock, look, over, name=name))

    def _next_lot(self) -> str:
        """What a new lot would be called after those that are here."""
        return next_tag([lot.name for lot in reversed(self._stock.lots())])

    def edit_lot(self) -> None:
        lot = self._view.lot()
        if lot is not None:
            self._frame.open_panel(lambda look, over: LotPanel(self._stock, look, over, lot))

    def new_unit(self) -> None:
        """Write up units one after the other."""
        lot = self._view.lot()
        here = by_age(self._stock.units_of_lot(lot.id)) if lot is not None else by_age(self._units.find())
        tag = self._next_tag(lot)
        self._frame.open_panel(lambda look, over: QuickPanel(self._units, self._stock, tag, lot, here, look, over))

    # --- a spreadsheet -----------------------------------------------------------------------------------

    def import_lot(self) -> None:
        """Take in the units of a spreadsheet; the name of a new lot is the next one."""
        name = self._next_lot()
        self._frame.open_panel(lambda look, over: FilePanel(self._stock, name, self._asked, look, over))

    def _asked(self, number: int, file: str) -> None:
        self._reading = number
        self._frame.say(coming.LOOKING.format(file=file))

    def spreadsheet_read(self, event: SpreadsheetRead) -> None:
        """Show what it would bring; an answer that nobody waits for any more is dropped."""
        if event.answers == self._reading:
            self._reading = 0
            self._frame.say("")
            if not self._frame.panel_open():
                self._frame.open_panel(lambda look, over: PreviewPanel(self._stock, event.draft, look, over))

    def money(self) -> None:
        """What each unit of the lot cost and brought."""
        lot = self._view.lot()
        if lot is None:
            self._frame.say(accounts.NO_LOT)
        else:
            path = str(PurePath("~") / accounts.FILE)
            self._frame.open_panel(lambda look, over: MoneyPanel(self._stock, lot, path, look, over))

    def plan(self) -> None:
        """What to do with each unit of the lot in the hours at hand."""
        lot = self._view.lot()
        if lot is None:
            self._frame.say(accounts.NO_LOT)
        else:
            self._frame.open_panel(lambda look, over: self._plan_panel(lot, look, over))

    def _plan_panel(self, lot: Lot, look: Look, over: QWidget) -> PlanPanel:
        panel = self._planning = PlanPanel(self._stock, self._settings, lot, look, over)
        panel.closed.connect(self._planned)
        panel.open_unit.connect(self._view.open_unit)
        return panel

    def _planned(self) -> None:
        self._planning = None

    def plan_made(self, event: PlanMade) -> None:
        if self._planning is not None:
            self._planning.told(event)

    def withdraw(self) -> None:
        """Withdraw units that came into the lot together, or a lot that is empty."""
        lot = self._view.lot()
        if lot is None:
            self._frame.say(coming.NO_LOT_TO_WITHDRAW)
            return
        entries = self._withdrawable(lot)
        title = coming.WITHDRAW_LOT.format(lot=lot.name)
        self._frame.open_panel(lambda look, over: WithdrawPanel(self._undo, title, entries, look, over))

    def _withdrawable(self, lot: Lot) -> tuple[Withdrawable, ...]:
        if not self._stock.units_of_lot(lot.id):
            return (Withdrawable("lot", lot.id, "", coming.WHOLE_LOT),)
        found = []
        for arrival in self._stock.arrivals(lot):
            tags = [unit.tag for unit in sorted(arrival.units, key=shelf_order)]
            said = coming.ARRIVAL.format(
                when=figures.when(arrival.at),
                units=grammar.count_of(len(tags), common.UNITS),
                first=tags[0],
                last=tags[-1],
            )
            if count := len(arrival.worked_on):
                said = coming.ARRIVAL_WORKED_ON.format(arrival=said, count=grammar.count_of(count, common.UNITS))
            found.append(Withdrawable("arrival", lot.id, "", said, arrival.at))
        return tuple(found)

    def _next_tag(self, lot: Lot | None) -> str:
        mine = self._stock.units_of_lot(lot.id) if lot is not None else self._units.find()
        return next_tag([u.tag for u in by_age(mine)]) or (f"{lot.name}-01" if lot is not None else "")

    def becomes(self) -> None:
        unit = self._view.unit()
        if unit is None:
            self._frame.say(words.NO_UNIT_CHOSEN)
        else:
            self._frame.open_panel(
                lambda look, over: UnitPanel(
                    self._units, unit, lambda: self._advice.standing(unit.id), look, over, first="becomes"
                )
            )

    def came_back(self) -> None:
        """The unit under the cursor came back from its buyer."""
        unit = self._view.unit()
        if unit is None:
            self._frame.say(words.NO_UNIT_CHOSEN)
        else:
            self._came_back(unit)

    def give_up(self) -> None:
        """Offer to make the unit under the cursor a donor, where that is proposed."""
        page, lot = self._view.page, self._view.lot()
        proposal = page.donor()
        if proposal is None or lot is None:
            self._frame.say(words.NO_DONOR_CHOSEN)
        else:
            gain = money(proposal.gain_minor, page.gain_currency)
            self._frame.open_panel(
                lambda look, over: DonorPanel(self._stock, proposal, gain, lot.currency, self._cautions, look, over)
            )

    def part_came(self) -> None:
        row, lot = self._view.page.waited(), self._view.lot()
        if row is None or lot is None:
            self._frame.say(words.NO_PART_CHOSEN)
        else:
            part, model, currency = row.part, row.unit.model, lot.currency
            self._frame.open_panel(lambda look, over: PartPanel(self._stock, look, over, part, model, currency))

    def new_part(self) -> None:
        currency = self._stock.currency_of_new()
        self._frame.open_panel(lambda look, over: PartPanel(self._stock, look, over, currency=currency))

    def next_pane(self) -> None:
        self._view.next_pane()

    def search(self) -> None:
        self._view.begin_search()
