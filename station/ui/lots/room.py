"""The keys of the Lots view: write up lots and units, give one up, sell one, put a part on the shelf."""

from __future__ import annotations

from station.records.types import Lot
from station.ui.frame import Frame
from station.ui.lots.view import LotsView
from station.ui.painting.hazards import Cautions
from station.ui.panels.donor import DonorPanel
from station.ui.panels.record import UnitPanel
from station.ui.panels.stock import LotPanel, NewUnitPanel, PartPanel
from station.ui.ports import AdvicePort, StockPort, UnitPort
from station.ui.tags import by_age, next_tag
from station.words import views as words
from station.words.figures import money


class LotsRoom:
    """Opens a panel for what the cursor of the view is on."""

    def __init__(
        self, stock: StockPort, units: UnitPort, advice: AdvicePort, cautions: Cautions, frame: Frame, view: LotsView
    ) -> None:
        self._advice = advice
        self._stock, self._units, self._cautions = stock, units, cautions
        self._frame, self._view = frame, view

    def new_lot(self) -> None:
        self._frame.open_panel(lambda look, over: LotPanel(self._stock, look, over))

    def edit_lot(self) -> None:
        lot = self._view.lot()
        if lot is not None:
            self._frame.open_panel(lambda look, over: LotPanel(self._stock, look, over, lot))

    def new_unit(self) -> None:
        lot, lots = self._view.lot(), self._stock.lots()
        tag = self._next_tag(lot)
        self._frame.open_panel(lambda look, over: NewUnitPanel(self._units, tag, lots, lot, look, over))

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
        self._frame.open_panel(lambda look, over: PartPanel(self._stock, look, over))

    def next_pane(self) -> None:
        self._view.next_pane()

    def search(self) -> None:
        self._view.begin_search()
