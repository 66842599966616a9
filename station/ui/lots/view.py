"""The Lots view: the lots at the left, the chosen one at the right; in a narrow window one of the two."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLineEdit, QSplitter, QVBoxLayout, QWidget

from station.records.types import Lot, Unit
from station.ui.lots.page import LotPage
from station.ui.painting.look import Look
from station.ui.painting.tables import Line, LineTable
from station.ui.painting.widgets import set_tip
from station.ui.panes import sizes_of
from station.ui.ports import DeskEvent, LotAnswer, LotChanged, SettingsPort, StockPort, UnitPort
from station.ui.views import View
from station.words import figures
from station.words import views as words

NARROW_PX = 860
"""below this width, at 100 %, the lots and the chosen lot do not stand side by side"""
LEFT_SHARE = 0.26
LOOSE = "loose"
"""stands in the place of a lot for the units that belong to none"""


class LotsView(View):
    """Signals as in View."""

    def __init__(self, stock: StockPort, units: UnitPort, settings: SettingsPort, look: Look) -> None:
        super().__init__(words.LOTS, words.LOTS_KEYS, look, "lots")
        self._stock, self._records, self._settings = stock, units, settings
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        self.lots = LineTable(words.LOTS_HEADS, look, right=(1, 2), wide=3)
        self.search = QLineEdit()
        self.search.setPlaceholderText(words.SEARCH)
        set_tip(self.search, words.SEARCH_HOW)
        self.search.setAccessibleName(words.SEARCH)
        self.lots.setAccessibleName(words.LOTS)
        column.addWidget(self.lots, 1)
        column.addWidget(self.search)
        self.page = LotPage(look)
        self.units = self.page.units
        self.tables = [self.lots, *self.page.tables()]
        self._sides = QSplitter(Qt.Orientation.Horizontal)
        self._sides.setChildrenCollapsible(False)
        self._sides.setHandleWidth(10)
        self._sizes = sizes_of(settings.get("lot_panes"), 2)
        for side in (left, self.page):
            self._sides.addWidget(side)
        self._sides.splitterMoved.connect(self._remember)
        self._left, self._front_is_page = left, False
        self.box.addWidget(self._sides, 1)
        self._chosen, self._filling = settings.get("lot"), False
        self.lots.moved.connect(lambda _: self._lot_moved())
        self._last = self.lots
        for table in self.tables:
            table.installEventFilter(self)
        self.lots.opened.connect(lambda _: self.show_page())
        self.page.open_unit.connect(self.open_unit)
        self.search.textChanged.connect(lambda _: self._fill_page())
        self.search.returnPressed.connect(self.show_found)

    # --- what is chosen ----------------------------------------------------------------------------------

    def lot(self) -> Lot | None:
        """The lot under the cursor."""
        what = self.lots.current()
        return what if isinstance(what, Lot) else None

    def unit(self) -> Unit | None:
        """The unit of the row that has the keys."""
        return self.page.unit()

    # --- the two sides -----------------------------------------------------------------------------------

    def set_look(self, look: Look) -> None:
        self.page.set_look(look)
        super().set_look(look)
        self._fold()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        narrow = self.width() < self.look.px(NARROW_PX)
        self._left.setVisible(not narrow or not self._front_is_page)
        self.page.setVisible(not narrow or self._front_is_page)
        if not narrow:
            wide = max(self.width(), 600)
            self._sides.setSizes(self._sizes or [round(wide * LEFT_SHARE), round(wide * (1 - LEFT_SHARE))])
        folded = words.NARROW_KEYS_ON_LOT if self._front_is_page else words.NARROW_KEYS_ON_LOTS
        self.keys.setText(folded if narrow else words.LOTS_KEYS)

    def _remember(self) -> None:
        self._sizes = self._sides.sizes()
        self._settings.put("lot_panes", ",".join(str(s) for s in self._sizes))

    def show_page(self) -> None:
        """The chosen lot comes in front and takes the keys."""
        self._front_is_page = True
        self._fold()
        self.page.attend()

    def show_found(self) -> None:
        """The units found take the keys."""
        self.show_page()
        self.units.setFocus()

    def next_pane(self) -> None:
        """The other side takes the keys."""
        if self._front_is_page and (self.page.isAncestorOf(self.focusWidget()) or not self._left.isVisible()):
            self._front_is_page = False
            self._fold()
            self.lots.setFocus()
        else:
            self.show_page()

    def take_focus(self) -> None:
        """The keys go where they were, else to the lots."""
        if self._last.isVisible():
            self._last.setFocus()
        elif self._last is not self.lots or not self._left.isVisible():
            self.page.attend()
        else:
            self.lots.setFocus()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusIn and isinstance(watched, LineTable):
            self._last = watched
        return super().eventFilter(watched, event)

    def begin_search(self) -> None:
        self._front_is_page = False
        self._fold()
        self.search.setFocus()

    # --- filling -----------------------------------------------------------------------------------------

    def fill(self) -> None:
        states = self._stock.lot_states()
        lots = list(self._stock.lots())
        self._filling = True
        lines = [_lot_line(lot, states.get(lot.id, {})) for lot in lots]
        if loose := states.get(""):
            lines.append(Line((words.WITHOUT_LOT, *_counts(loose), ""), LOOSE))
        self.lots.set_lines(lines)
        self.lots.choose(next((k for k, line in enumerate(lines) if _key(line.what) == self._chosen), 0))
        self._filling = False
        self._fill_page()

    def _lot_moved(self) -> None:
        chosen = _key(self.lots.current())
        if chosen and not self._filling:
            self._chosen = chosen
            self._settings.put("lot", chosen)
            self._fill_page()

    def told(self, event: DeskEvent) -> None:
        super().told(event)
        lot = self.lot()
        if isinstance(event, LotChanged) and lot is not None and lot.id == event.lot_id:
            self._fill_page()

    def _fill_page(self) -> None:
        text, lot = self.search.text().strip(), self.lot()
        answer = self._stock.lot_answer(lot.id) if lot is not None else LotAnswer()
        loose = self.lots.current() == LOOSE
        mine = self._stock.units_of_lot(lot.id if lot is not None else "")
        found = self._records.find(text) if text else mine
        self.page.show_lot(lot, answer.view, answer.fresh, found, text, words.WITHOUT_LOT_TOLD if loose else "")


def _lot_line(lot: Lot, states: Mapping[str, int]) -> Line:
    return Line((lot.name, *_counts(states), figures.day(lot.bought_on)), lot)


def _counts(states: Mapping[str, int]) -> tuple[str, str]:
    """How many units, and how many of them are open."""
    return figures.number(sum(states.values()), 0), figures.number(states.get("open", 0), 0)


def _key(what: object) -> str:
    """What a row of the lots is remembered by."""
    return what.id if isinstance(what, Lot) else str(what or "")
