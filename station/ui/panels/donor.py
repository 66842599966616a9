"""The panel that gives a unit up for parts: which go on the shelf, for whom, and why."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF
from PySide6.QtWidgets import QLineEdit, QWidget

from station.lots.outlook import GoodPart
from station.lots.view import DonorProposal
from station.records.types import ShelfPart
from station.ui.painting.hazards import Cautions
from station.ui.painting.look import Look
from station.ui.painting.widgets import plain_label
from station.ui.panels.panel import Panel
from station.ui.panels.ticks import TickList
from station.ui.ports import StockPort
from station.words import grammar
from station.words import panels as words


class DonorPanel(Panel):
    """Nothing happens before Enter: then the unit becomes a donor and what is ticked goes on the shelf."""

    width_px = 640
    keys = words.DONOR_KEYS

    def __init__(
        self,
        stock: StockPort,
        proposal: DonorProposal,
        gain: str,
        currency: str,
        cautions: Cautions,
        look: Look,
        parent: QWidget,
    ) -> None:
        """`gain` in words; `currency`: of the lot, for the parts."""
        unit = proposal.unit
        super().__init__(words.DONOR.format(tag=unit.tag), look, parent)
        self._stock, self._unit, self._currency = stock, unit, currency
        self._parts = in_order(proposal)
        who = grammar.COMMA.join(dict.fromkeys(u.tag for u, _ in proposal.serves))
        self.add(plain_label(words.DONOR_GAIN.format(units=who, gain=gain), wrap=True))
        self.add_hazards("harvest", cautions)
        wanted = {part for _, part in proposal.serves}
        rows = [(p.name, remark(p, proposal)) for p in self._parts]
        ticked = [p.name in wanted or (p.listed and p.tested) for p in self._parts]
        self.parts = TickList(rows, ticked, look)
        self.reason = QLineEdit(proposal.reason())
        self.add(self.parts, words.DONOR_PARTS, focus=True)
        self.add(self.reason, words.DONOR_REASON, focus=True)
        self.parts.moved.connect(self._show_row)
        self.finish(self.parts)

    def _show_row(self, box: QRectF) -> None:
        y = self.parts.mapTo(self._body, box.center().toPoint()).y()
        self._area.ensureVisible(0, y, 0, round(2 * box.height()))

    def commit(self) -> None:
        unit = self._unit
        note = words.DONOR_NOTE.format(tag=unit.tag)
        taken = [
            ShelfPart("", self._parts[k].name, unit.model, 1, unit.id, 0, self._currency, note)
            for k in self.parts.ticked()
        ]
        self._stock.give_up(unit, taken, self.reason.text().strip())


def in_order(proposal: DonorProposal) -> Sequence[GoodPart]:
    """What others wait for first, then what the model sheet lists, then what was tested."""
    wanted = {part for _, part in proposal.serves}
    return sorted(proposal.gives, key=lambda p: (p.name not in wanted, not p.listed, not p.tested))


def remark(part: GoodPart, proposal: DonorProposal) -> str:
    """Who waits for it, and whether anything was tested on its control."""
    tags = [unit.tag for unit, name in proposal.serves if name == part.name]
    said = [words.DONOR_FOR.format(units=grammar.COMMA.join(tags))] if tags else []
    return grammar.COMMA.join(said + ([] if part.tested else [words.DONOR_NOT_TESTED]))
