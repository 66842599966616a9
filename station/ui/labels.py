"""Labels for the printer: for the unit at hand, or for a whole lot."""

from __future__ import annotations

from station.errors import StationError
from station.records.types import Lot, Unit
from station.ui.frame import Frame, Shown
from station.ui.lots.view import LotsView
from station.ui.panels.labels import LabelPanel, Wanted
from station.ui.ports import LabelPort, StockPort
from station.words import grammar, window
from station.words import labels as words


class LabelRoom:
    """Asks what to print and on what; the PDF is written by the desk."""

    def __init__(self, labels: LabelPort, stock: StockPort, frame: Frame, shown: Shown, view: LotsView) -> None:
        self._labels, self._stock, self._frame = labels, stock, frame
        self._shown, self._view = shown, view

    def of_unit(self) -> None:
        """For the unit that is shown; its lot may be chosen instead."""
        unit = self._shown.unit
        if unit is None:
            self._frame.say(window.NO_UNIT_CHOSEN)
            return
        lot = next((lot for lot in self._stock.lots() if lot.id == unit.lot_id), None)
        self._ask(_one(unit), self._all_of(lot) if lot is not None else None)

    def of_lot(self) -> None:
        """For the lot that is chosen; the unit under the cursor may be chosen instead."""
        unit = self._view.unit()
        self._ask(self._all_of(self._view.lot()), _one(unit) if unit is not None else None)

    def _all_of(self, lot: Lot | None) -> Wanted | None:
        """All units of a lot, or those of none; None where there are no units."""
        units = tuple(self._stock.units_of_lot(lot.id if lot is not None else ""))
        labels = grammar.count_of(len(units), words.COUNT)
        said = words.ALL_WITHOUT_LOT if lot is None else words.ALL_OF_LOT
        name = lot.name if lot is not None else words.NO_LOT
        return Wanted(said.format(lot=name, labels=labels), name, units) if units else None

    def _ask(self, *wanted: Wanted | None) -> None:
        found = [one for one in wanted if one is not None]
        if not found:
            self._frame.say(words.NOTHING)
            return
        try:
            sizes = self._labels.sizes()
        except StationError as error:
            self._frame.say(str(error), bad=True)
            return
        self._frame.open_panel(lambda look, over: LabelPanel(self._labels, sizes, found, look, over))


def _one(unit: Unit) -> Wanted:
    return Wanted(words.ONE.format(tag=unit.tag), unit.tag, (unit,))
