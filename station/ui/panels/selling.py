"""Panels for what comes back: a sold unit is taken back, and what was found of it is said when it is known."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QLineEdit, QWidget

from station.records.money import amount_text
from station.records.types import FOUND, SAME_FAULT, Comeback, Treatment, UnitHistory
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.panel import Panel
from station.ui.panels.typed import amount, parse_date
from station.ui.ports import UnitPort
from station.words import common, figures
from station.words import selling as words

_SAME = FOUND.index(SAME_FAULT)


class FoundRows:
    """The rows of a panel that ask what was found, and for the same fault which cure did not hold."""

    def __init__(self, panel: Panel, treatments: Sequence[Treatment], back: Comeback) -> None:
        """`back`: the return, with the sale that it undoes."""
        found, treatment_id, sold_on = back.found, back.treatment_id, back.sold_on or back.at
        self._panel, self._treatments = panel, tuple(reversed(treatments))
        options = tuple(words.FOUND[f] for f in FOUND)
        self.found = ChoiceList(options, panel.look, FOUND.index(found), columns=3)
        told, ids = [_treatment(t) for t in self._treatments], [t.id for t in self._treatments]
        before_sale = (k for k, t in enumerate(self._treatments) if t.at[:10] <= sold_on)
        chosen = ids.index(treatment_id) if treatment_id in ids else next(before_sale, 0)
        self.cure = ChoiceList((*told, words.NO_CURE), panel.look, chosen, columns=1)
        self._label = plain_label(words.WHICH_CURE, "small")
        panel.add(self.found, words.FOUND_NOW, focus=True)
        panel.add(self._label)
        panel.add(self.cure, focus=True)
        self.cure.set_label(words.WHICH_CURE)
        self.found.changed.connect(lambda _: self._changed())
        self._changed()

    def _asked(self) -> bool:
        return self.found.chosen == _SAME and bool(self._treatments)

    def _changed(self) -> None:
        """Which cure is asked for the same fault alone."""
        self._label.setVisible(self._asked())
        self.cure.setVisible(self._asked())
        self._panel.place()

    def what(self) -> str:
        """What was found."""
        return FOUND[self.found.chosen]

    def cured_by(self) -> str | None:
        """The cure that did not hold."""
        named = self._asked() and self.cure.chosen < len(self._treatments)
        return self._treatments[self.cure.chosen].id if named else None


class ComebackPanel(Panel):
    """A sold unit comes back."""

    width_px = 640
    keys = words.CAME_BACK_KEYS

    def __init__(self, units: UnitPort, history: UnitHistory, look: Look, parent: QWidget) -> None:
        unit = history.unit
        super().__init__(words.CAME_BACK.format(tag=unit.tag), look, parent)
        self._units, self._unit = units, unit
        self._certificate = history.certificates[-1].id if history.certificates else None
        self._currency = history.currency
        self.reason, self.at = QLineEdit(), QLineEdit(figures.day(units.today().isoformat()))
        self.refund, self.cost = QLineEdit(amount_text(unit.sold_minor, self._currency)), QLineEdit()
        self.reason.setPlaceholderText(words.CAME_BACK_WHY_HINT)
        self.add(self.reason, words.CAME_BACK_WHY, focus=True)
        self.add(self.at, words.CAME_BACK_ON, focus=True)
        self.add(self.refund, words.REFUND.format(currency=self._currency), focus=True)
        self.add(self.cost, words.RETURN_COST.format(currency=self._currency), focus=True)
        self.rows = FoundRows(self, history.treatments, Comeback("", unit.id, "9", sold_on=unit.sold_on))
        self.withdrawn = ChoiceList((words.CERTIFICATE_WITHDRAWN, words.CERTIFICATE_STAYS), look, columns=2)
        if self._certificate:
            self.add(self.withdrawn, words.ITS_CERTIFICATE, focus=True)
        self.finish(self.reason)

    def commit(self) -> None:
        reason = self.reason.text().strip()
        if not reason:
            raise self.wrong(self.reason, words.NEEDS_REASON)
        refund = self.read(self.refund, lambda text: amount(text, self._currency))
        if refund > self._unit.sold_minor:
            price = figures.money(self._unit.sold_minor, self._currency)
            raise self.wrong(self.refund, words.REFUND_TOO_MUCH.format(price=price))
        at = self.read(self.at, lambda text: parse_date(text, self._units.today()))
        if at and at < self._unit.sold_on:
            raise self.wrong(self.at, words.BACK_BEFORE_SALE.format(day=figures.day(self._unit.sold_on)))
        self._units.come_back(
            Comeback(
                "",
                self._unit.id,
                at or self._units.today().isoformat(),
                reason,
                self.rows.what(),
                refund,
                self.read(self.cost, lambda text: amount(text, self._currency)),
                treatment_id=self.rows.cured_by(),
                certificate_id=self._certificate if self.withdrawn.chosen == 0 else None,
            )
        )


class FoundPanel(Panel):
    """What was found of a unit that came back, once it is known."""

    width_px = 640
    keys = words.CAME_BACK_KEYS

    def __init__(self, units: UnitPort, history: UnitHistory, look: Look, parent: QWidget) -> None:
        super().__init__(words.LOOK_AGAIN.format(tag=history.unit.tag), look, parent)
        self._units, self._comeback = units, history.comebacks[-1]
        self.add(plain_label(self._comeback.reason, wrap=True))
        before = [t for t in history.treatments if t.at[:10] <= self._comeback.at]
        self.rows = FoundRows(self, before, self._comeback)
        self.finish(self.rows.found)

    def commit(self) -> None:
        found, cure = self.rows.what(), self.rows.cured_by()
        if (found, cure) != (self._comeback.found, self._comeback.treatment_id):
            self._units.look_at_comeback(self._comeback, found, cure)


def _treatment(treatment: Treatment) -> str:
    kind = common.TREATMENT_KINDS.get(treatment.kind, treatment.kind)
    return common.DOT.join(part for part in (figures.day(treatment.at), kind, treatment.part) if part)
