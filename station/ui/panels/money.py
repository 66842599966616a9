"""The money of a lot unit by unit, and the table of all lots as a file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QLineEdit, QWidget

from station.records.types import Lot
from station.ui.painting.look import Look
from station.ui.painting.tables import Line, LineTable
from station.ui.painting.widgets import plain_label
from station.ui.panels.panel import Panel
from station.ui.ports import StockPort
from station.words import accounts as words
from station.words import figures

if TYPE_CHECKING:
    from station.lots.accounts import Sums

MOST_ROWS = 9
"""rows of the table before it scrolls in itself"""


class MoneyPanel(Panel):
    """What each unit of the lot cost and brought."""

    width_px = 820
    keys = words.MONEY_KEYS

    def __init__(self, stock: StockPort, lot: Lot, path: str, look: Look, parent: QWidget) -> None:
        super().__init__(words.MONEY.format(lot=lot.name, currency=lot.currency), look, parent)
        self._stock = stock
        found = stock.accounts_of(lot)
        self.units = LineTable(words.MONEY_HEADS, look, right=(1, 2, 3, 4, 5), wide=0)
        lines = [Line((words.SUM_OF_LOT, *_cells(found.whole)), words.SUM_OF_LOT)]
        lines += [Line((a.unit.tag, *_cells(a.sums)), a.unit) for a in found.units]
        if any(found.to_come.by_kind.values()):
            lines.append(Line((words.NOT_IN_YET, *_cells(found.to_come)), words.NOT_IN_YET))
        self.units.set_lines(lines)
        self.units.setAccessibleName(self.title.text())
        self.units.opened.connect(lambda _: self.accept())
        self.add(self.units, focus=True)
        rows = self.units.rows_height(MOST_ROWS)
        self.units.setFixedHeight(self.units.horizontalHeader().sizeHint().height() + rows + 8)
        for note in found.notes:
            self.add(plain_label(note, "cautionrest", wrap=True))
        self.path = QLineEdit(path)
        self.add(self.path, words.WRITE_TO, focus=True)
        self.finish(self.units)

    def commit(self) -> None:
        path = self.path.text().strip()
        if not path:
            raise self.wrong(self.path, words.NEEDS_PATH)
        self._stock.write_accounts(path)


def _cells(sums: Sums) -> tuple[str, ...]:
    """Costs, work, what it brought, profit, and what an hour of work brought."""
    amounts = (
        sums.of("price", "postage", "parts"),
        sums.of("labour"),
        sums.of("sale", "fees", "shipping", "refund", "return"),
        sums.profit,
        sums.per_hour,
    )
    return tuple("" if amount is None else figures.amount(amount, sums.currency) for amount in amounts)
