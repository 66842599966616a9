"""Panels that write into the record: treatment, note, the unit's own lines, a lot, a shelf part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtWidgets import QGridLayout, QLineEdit, QVBoxLayout, QWidget

from station.diagnosis.faults import fits as shelf_fits
from station.diagnosis.faults import needs_part
from station.errors import InputError
from station.records.money import amount_text
from station.records.types import BECOMES, CLAIM_STATES, TREATMENT_KINDS, Note, ShelfPart, Treatment, Unit
from station.sheets.model import Part
from station.ui.painting.hazards import Cautions
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.panel import NoteEdit, Panel
from station.ui.panels.photo_field import PhotoField
from station.ui.panels.typed import amount, later_example, parse_later, whole
from station.ui.ports import ProposalView, StockPort, UnitPort
from station.words import common, figures, grammar
from station.words import panels as words

MOST_MINUTES = 9999
"""of one treatment: a working week and more"""
MOST_SHELF = 9
"""parts of the shelf that a treatment offers, each with its digit"""


class TreatmentPanel(Panel):
    """What was done to the unit: T, a digit, Enter is enough; everything else is Tab away."""

    width_px = 640
    keys = words.TREATMENT_KEYS

    def __init__(
        self,
        units: UnitPort,
        stock: StockPort,
        unit: Unit,
        parts: Sequence[Part],
        proposal: ProposalView | None,
        cautions: Cautions,
        look: Look,
        parent: QWidget,
    ) -> None:
        super().__init__(words.TREATMENT.format(tag=unit.tag), look, parent)
        self._units, self._unit, self._proposal = units, unit, proposal
        self._currency = currency_of(units, unit)
        self._parts = tuple(parts)
        proposed = proposal.kind if proposal is not None else ""
        chosen = TREATMENT_KINDS.index(proposed) if proposed in TREATMENT_KINDS else 0
        self.kind = ChoiceList(tuple(common.TREATMENT_KINDS[k] for k in TREATMENT_KINDS), look, chosen, columns=2)
        self.add(self.kind, words.TREATMENT_KIND, focus=True)
        here = [p for p in stock.shelf() if p.count > 0 and p.model in ("", unit.model)]
        wanted = proposal.part if proposal is not None else ""
        self._shelf = sorted(here, key=lambda p: not (wanted and shelf_fits(p, unit.model, wanted)))[:MOST_SHELF]
        self.source = ChoiceList((words.NOT_FROM_SHELF, *(_on_shelf(p) for p in self._shelf)), look, columns=2)
        self._from = _labelled(words.TREATMENT_SOURCE, self.source)
        self.add(self._from)
        self._order.append(self.source)
        self.part, self.minutes, self.materials = QLineEdit(), QLineEdit(), QLineEdit()
        self.cost, self.note = QLineEdit(), QLineEdit()
        self.part.setPlaceholderText(grammar.COMMA.join(p.name for p in self._parts[:2]) or words.PART_HINT)
        self.materials.setPlaceholderText(words.MATERIALS_HINT)
        self.cost.setPlaceholderText(amount_text(40, self._currency))
        self._add_fields()
        self._cautions = cautions
        self.add_hazards(TREATMENT_KINDS[chosen], cautions)
        self.kind.changed.connect(self._kind_changed)
        self._kind_changed(chosen)
        self.finish(self.kind)

    def _add_fields(self) -> None:
        rows = QWidget()
        grid = QGridLayout(rows)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(self.look.px(10))
        grid.setVerticalSpacing(self.look.px(2))
        places = (
            (words.PART, self.part, 0, 0),
            (words.MINUTES, self.minutes, 0, 1),
            (words.COST.format(currency=self._currency), self.cost, 0, 2),
            (words.MATERIALS, self.materials, 2, 0),
            (words.NOTE, self.note, 2, 1),
        )
        for text, field, y, x in places:
            grid.addWidget(plain_label(text, "small"), y, x)
            grid.addWidget(field, y + 1, x, 1, 2 if field is self.note else 1)
        grid.setColumnStretch(0, 2)
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(2, 1)
        self.add(rows)
        self._order += [self.part, self.minutes, self.cost, self.materials, self.note]

    def _kind_changed(self, index: int) -> None:
        """Each kind brings its caution; the proposed one also its part and figures."""
        kind = TREATMENT_KINDS[index]
        self.show_hazards(kind, self._cautions)
        proposal = self._proposal
        fits = proposal is not None and proposal.kind == kind
        self.part.setText(proposal.part if fits and proposal else "")
        self.minutes.setText(str(proposal.minutes) if fits and proposal and proposal.minutes else "")
        priced = fits and proposal is not None and proposal.currency == self._currency
        self.cost.setText(amount_text(proposal.cost_minor, self._currency) if priced and proposal else "")
        name = self.part.text()
        here = (k for k, p in enumerate(self._shelf, start=1) if name and shelf_fits(p, self._unit.model, name))
        self.source.choose(next(here, 0))
        self._from.setVisible(bool(self._shelf) and needs_part(kind))
        if self.isVisible():
            self.place()

    def _taken(self) -> ShelfPart | None:
        """The part that comes from the shelf."""
        chosen = self.source.chosen if needs_part(TREATMENT_KINDS[self.kind.chosen]) else 0
        return self._shelf[chosen - 1] if chosen else None

    def commit(self) -> None:
        taken = self._taken()
        self._units.treat(
            Treatment(
                id="",
                unit_id=self._unit.id,
                kind=TREATMENT_KINDS[self.kind.chosen],
                at="",
                part=self.part.text().strip() or (taken.name if taken is not None else ""),
                minutes=self.read(self.minutes, lambda text: whole(text, 0, MOST_MINUTES)),
                materials=self.materials.text().strip(),
                cost_minor=self.read(self.cost, lambda text: amount(text, self._currency)),
                currency=self._currency,
                note=self.note.text().strip(),
                donor_unit_id=taken.source_unit_id if taken is not None else None,
            ),
            taken.id if taken is not None else "",
        )


class NotePanel(Panel):
    """A note on the unit."""

    keys = words.NOTE_KEYS

    def __init__(self, units: UnitPort, unit: Unit, look: Look, parent: QWidget) -> None:
        super().__init__(words.NOTE_ON.format(tag=unit.tag), look, parent)
        self._units, self._unit = units, unit
        self.text = NoteEdit()
        self.text.setFixedHeight(look.px(110))
        self.photo = PhotoField(units.photos(), look)
        self.add(self.text, focus=True)
        self.add(self.photo, words.NOTE_PHOTO, focus=True)
        self.add(self.photo.below)
        self.photo.line.textChanged.connect(self.place)
        self.finish(self.text)

    def commit(self) -> None:
        text, photo = self.text.toPlainText().strip(), self.photo.line.text().strip()
        if not text and not photo:
            raise InputError(words.NOTE_EMPTY)
        self._units.note(Note("", self._unit.id, "", text or words.NOTE_IS_PHOTO), photo)


class UnitPanel(Panel):
    """The unit's own lines: claim, condition, rest date, what becomes of it."""

    width_px = 640
    keys = words.UNIT_KEYS

    def __init__(self, units: UnitPort, unit: Unit, look: Look, parent: QWidget, first: str = "claim") -> None:
        title = words.UNIT_OF_MODEL.format(tag=unit.tag, model=unit.model) if unit.model else unit.tag
        super().__init__(title, look, parent)
        self._units, self._unit = units, unit
        self.claim, self.condition, self.rest, self.reason = (
            QLineEdit(unit.claim),
            QLineEdit(unit.condition),
            QLineEdit(figures.day(unit.rest_until)),
            QLineEdit(),
        )
        self.claim.setPlaceholderText(words.CLAIM_HINT)
        self.condition.setPlaceholderText(words.CONDITION_HINT)
        self.rest.setPlaceholderText(words.REST_HINT.format(example=later_example(units.today())))
        self.claim_state = ChoiceList(
            tuple(common.CLAIM_STATES[s] for s in CLAIM_STATES), look, _index(CLAIM_STATES, unit.claim_state), columns=2
        )
        self.becomes = ChoiceList(
            tuple(common.BECOMES[b] for b in BECOMES), look, _index(BECOMES, unit.becomes), columns=3
        )
        self.add(self.claim, words.CLAIM, focus=True)
        self.add(self.claim_state, words.CLAIM_STATE, focus=True)
        self.add(self.condition, words.CONDITION_OF_CASE, focus=True)
        self.add(self.rest, words.REST, focus=True)
        self.add(self.becomes, words.BECOMES, focus=True)
        self._currency = currency_of(units, unit)
        self.sold = QLineEdit(amount_text(unit.sold_minor, self._currency))
        self.sold.setPlaceholderText(amount_text(3100, self._currency))
        self.add(self.sold, words.SOLD_FOR.format(currency=self._currency), focus=True)
        self.reason.setPlaceholderText(words.UNIT_REASON_HINT)
        self.add(self.reason, words.UNIT_REASON, focus=True)
        self.finish({"becomes": self.becomes, "rest": self.rest}.get(first, self.claim))

    def commit(self) -> None:
        unit = replace(
            self._unit,
            claim=self.claim.text().strip(),
            claim_state=CLAIM_STATES[self.claim_state.chosen],
            condition=self.condition.text().strip(),
            rest_until=self.read(self.rest, lambda text: parse_later(text, self._units.today())),
            becomes=BECOMES[self.becomes.chosen],
            sold_minor=self.read(self.sold, lambda text: amount(text, self._currency)),
        )
        if unit.sold_minor and unit.becomes != "sold":
            raise self.wrong(self.sold, words.PRICE_BUT_NOT_SOLD.format(sold=common.BECOMES["sold"]))
        if unit != self._unit:
            self._units.change(unit, self.reason.text().strip())


def currency_of(units: UnitPort, unit: Unit) -> str:
    """In which money a unit is reckoned: that of its lot."""
    lot = units.history(unit.id).lot
    return lot.currency if lot is not None else "EUR"


def _on_shelf(part: ShelfPart) -> str:
    return words.SHELF_PART.format(part=part.name, note=part.note) if part.note else part.name


def _labelled(text: str, widget: QWidget) -> QWidget:
    """The widget under its label, to be shown and hidden together."""
    holder = QWidget()
    box = QVBoxLayout(holder)
    box.setContentsMargins(0, 0, 0, 0)
    box.setSpacing(2)
    box.addWidget(plain_label(text, "small"))
    box.addWidget(widget)
    return holder


def _index(options: Sequence[str], value: str) -> int:
    return options.index(value) if value in options else 0
