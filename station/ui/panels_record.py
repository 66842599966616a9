"""Panels that write into the record: treatment, note, the unit's own lines, a lot, a shelf part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime

from PySide6.QtCore import Qt
from PySide6.QtGui import QIntValidator
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLineEdit, QWidget

from station.errors import InputError
from station.records.types import BECOMES, CLAIM_STATES, TREATMENT_KINDS, Lot, Note, ShelfPart, Treatment, Unit
from station.sheets.model import Part
from station.ui.cautions import caution_for
from station.ui.look import Look
from station.ui.panel import NoteEdit, Panel
from station.ui.ports import Desk, ProposalView
from station.ui.shapes import CAUTION, ShapeMark
from station.ui.widgets import ChoiceList, plain_label
from station.ui.words import amount, parse_date


class TreatmentPanel(Panel):
    """What was done to the unit: T, a digit, Enter is enough; everything else is Tab away."""

    width_px = 640
    keys = "a number: kind · Tab: part, minutes, materials, cost, note · Enter: save · Esc: back"

    def __init__(
        self, desk: Desk, unit: Unit, parts: Sequence[Part], proposal: ProposalView | None, look: Look, parent: QWidget
    ) -> None:
        super().__init__(f"Treatment of {unit.tag}", look, parent)
        self._desk, self._unit, self._proposal = desk, unit, proposal
        self._parts = tuple(parts)
        proposed = proposal.kind if proposal is not None else ""
        chosen = TREATMENT_KINDS.index(proposed) if proposed in TREATMENT_KINDS else 0
        self.kind = ChoiceList(TREATMENT_KINDS, look, chosen, columns=2)
        self.add(self.kind, "What was done", focus=True)
        self.part, self.minutes, self.materials = QLineEdit(), QLineEdit(), QLineEdit()
        self.cost, self.note = QLineEdit(), QLineEdit()
        self.minutes.setValidator(QIntValidator(0, 9999, self))
        self.part.setPlaceholderText(", ".join(p.name for p in self._parts[:2]) or "which part")
        self.materials.setPlaceholderText("isopropyl alcohol, swab …")
        self.cost.setPlaceholderText("0.40")
        self._add_fields()
        self._caution = plain_label("", "caution", wrap=True)
        self._add_caution()
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
            ("Part", self.part, 0, 0),
            ("Minutes", self.minutes, 0, 1),
            ("Cost", self.cost, 0, 2),
            ("Materials", self.materials, 2, 0),
            ("Note", self.note, 2, 1),
        )
        for text, field, y, x in places:
            grid.addWidget(plain_label(text, "small"), y, x)
            grid.addWidget(field, y + 1, x, 1, 2 if field is self.note else 1)
        grid.setColumnStretch(0, 2)
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(2, 1)
        self.add(rows)
        self._order += [self.part, self.minutes, self.cost, self.materials, self.note]

    def _add_caution(self) -> None:
        line = QHBoxLayout()
        line.setSpacing(self.look.px(10))
        line.addWidget(ShapeMark(CAUTION, self.look, 18), 0, Qt.AlignmentFlag.AlignTop)
        line.addWidget(self._caution, 1)
        holder = QWidget()
        holder.setLayout(line)
        line.setContentsMargins(0, self.look.px(4), 0, 0)
        self.add_foot(holder)

    def _kind_changed(self, index: int) -> None:
        """Each kind brings its caution; the proposed one also its part and figures."""
        kind = TREATMENT_KINDS[index]
        self._caution.setText(caution_for(kind))
        proposal = self._proposal
        fits = proposal is not None and proposal.kind == kind
        self.part.setText(proposal.part if fits and proposal else "")
        self.minutes.setText(str(proposal.minutes) if fits and proposal and proposal.minutes else "")
        self.cost.setText(f"{proposal.cost_minor / 100:.2f}" if fits and proposal and proposal.cost_minor else "")
        if self.isVisible():
            self.place()

    def commit(self) -> None:
        self._desk.add_treatment(
            Treatment(
                id="",
                unit_id=self._unit.id,
                kind=TREATMENT_KINDS[self.kind.chosen],
                at=datetime.now(UTC).isoformat(timespec="seconds"),
                part=self.part.text().strip(),
                minutes=int(self.minutes.text() or 0),
                materials=self.materials.text().strip(),
                cost_minor=amount(self.cost.text()),
                note=self.note.text().strip(),
            )
        )


class NotePanel(Panel):
    """A note on the unit."""

    keys = "Enter: save · Shift+Enter: new line · Esc: back"

    def __init__(self, desk: Desk, unit: Unit, look: Look, parent: QWidget) -> None:
        super().__init__(f"Note on {unit.tag}", look, parent)
        self._desk, self._unit = desk, unit
        self.text = NoteEdit()
        self.text.setFixedHeight(look.px(110))
        self.add(self.text, focus=True)
        self.finish()

    def commit(self) -> None:
        text = self.text.toPlainText().strip()
        if not text:
            raise InputError("The note is empty: write it, or press Esc.")
        self._desk.add_note(Note("", self._unit.id, datetime.now(UTC).isoformat(timespec="seconds"), text))


class UnitPanel(Panel):
    """The unit's own lines: claim, condition, rest date, what becomes of it."""

    width_px = 640
    keys = "Tab: next line · arrows: choose · Enter: save · Esc: back"

    def __init__(self, desk: Desk, unit: Unit, look: Look, parent: QWidget, first: str = "claim") -> None:
        super().__init__(f"{unit.tag}, {unit.model}" if unit.model else unit.tag, look, parent)
        self._desk, self._unit = desk, unit
        self.claim, self.condition, self.rest = (
            QLineEdit(unit.claim),
            QLineEdit(unit.condition),
            QLineEdit(unit.rest_until),
        )
        self.claim.setPlaceholderText("what the seller said is wrong")
        self.condition.setPlaceholderText("light marks, left grip worn")
        self.rest.setPlaceholderText("2026-11-28, or +3 for in three days")
        self.claim_state = ChoiceList(CLAIM_STATES, look, _index(CLAIM_STATES, unit.claim_state), columns=2)
        self.becomes = ChoiceList(BECOMES, look, _index(BECOMES, unit.becomes), columns=3)
        self.add(self.claim, "Claim", focus=True)
        self.add(self.claim_state, "The claim is", focus=True)
        self.add(self.condition, "Condition of the case", focus=True)
        self.add(self.rest, "Rest until (second test not before)", focus=True)
        self.add(self.becomes, "Becomes", focus=True)
        self.finish({"becomes": self.becomes, "rest": self.rest}.get(first, self.claim))

    def commit(self) -> None:
        unit = replace(
            self._unit,
            claim=self.claim.text().strip(),
            claim_state=CLAIM_STATES[self.claim_state.chosen],
            condition=self.condition.text().strip(),
            rest_until=parse_date(self.rest.text(), date.today()),
            becomes=BECOMES[self.becomes.chosen],
        )
        if unit != self._unit:
            self._desk.change_unit(unit)


class NewUnitPanel(Panel):
    """A unit written up by hand, before it is plugged in."""

    keys = "Tab: next line · Enter: save · Esc: back"

    def __init__(self, desk: Desk, tag: str, lots: Sequence[Lot], lot: Lot | None, look: Look, parent: QWidget) -> None:
        super().__init__("New unit", look, parent)
        self._desk, self._lots = desk, tuple(lots)
        self.tag, self.model, self.claim, self.condition = QLineEdit(tag), QLineEdit(), QLineEdit(), QLineEdit()
        self.model.setPlaceholderText("as the sheet names it; filled in when it is plugged in")
        self.add(self.tag, "Tag on the shelf label", focus=True)
        self.add(self.model, "Model", focus=True)
        self.add(self.claim, "Claim", focus=True)
        self.add(self.condition, "Condition", focus=True)
        options = ("no lot", *(x.name for x in self._lots))
        chosen = next((k for k, x in enumerate(self._lots, start=1) if lot is not None and x.id == lot.id), 0)
        self.lot = ChoiceList(options, look, chosen, columns=3)
        self.add(self.lot, "Lot", focus=True)
        self.finish()

    def commit(self) -> None:
        tag = self.tag.text().strip()
        if not tag:
            raise InputError("A unit needs a tag: write what stands on its shelf label.")
        if any(u.tag == tag for u in self._desk.units(tag)):
            raise InputError(f"The tag {tag} is taken; write another one.")
        lot = self._lots[self.lot.chosen - 1].id if self.lot.chosen else None
        self._desk.add_unit(
            Unit(
                "",
                tag,
                self.model.text().strip(),
                lot,
                claim=self.claim.text().strip(),
                condition=self.condition.text().strip(),
            )
        )


class LotPanel(Panel):
    """A purchase of several units."""

    keys = "Tab: next line · Enter: save · Esc: back"

    def __init__(self, desk: Desk, look: Look, parent: QWidget) -> None:
        super().__init__("New lot", look, parent)
        self._desk = desk
        self.name, self.bought, self.seller = QLineEdit(), QLineEdit(date.today().isoformat()), QLineEdit()
        self.cost, self.currency, self.note = QLineEdit(), QLineEdit("EUR"), QLineEdit()
        self.name.setPlaceholderText("SM-07")
        self.cost.setPlaceholderText("120.00")
        rows = (
            (self.name, "Name"),
            (self.bought, "Bought on"),
            (self.seller, "Seller"),
            (self.cost, "Cost"),
            (self.currency, "Currency"),
            (self.note, "Note"),
        )
        for field, text in rows:
            self.add(field, text, focus=True)
        self.finish()

    def commit(self) -> None:
        name, currency = self.name.text().strip(), self.currency.text().strip().upper()
        if not name:
            raise InputError("A lot needs a name: write one, such as SM-07.")
        if len(currency) != 3 or not currency.isalpha():
            raise InputError(f"“{currency}” is no currency code; write three letters, such as EUR.")
        bought = parse_date(self.bought.text(), date.today())
        cost = amount(self.cost.text())
        self._desk.add_lot(Lot("", name, bought, self.seller.text().strip(), cost, currency, self.note.text().strip()))


class PartPanel(Panel):
    """Good parts put on the shelf."""

    keys = "Tab: next line · Enter: save · Esc: back"

    def __init__(self, desk: Desk, look: Look, parent: QWidget) -> None:
        super().__init__("Put a part on the shelf", look, parent)
        self._desk = desk
        self.name, self.model, self.count = QLineEdit(), QLineEdit(), QLineEdit("1")
        self.cost, self.note = QLineEdit(), QLineEdit()
        self.count.setValidator(QIntValidator(1, 9999, self))
        rows = (
            (self.name, "Part"),
            (self.model, "Model it fits"),
            (self.count, "How many"),
            (self.cost, "Cost of each"),
            (self.note, "Note"),
        )
        for field, text in rows:
            self.add(field, text, focus=True)
        self.finish()

    def commit(self) -> None:
        name, model, count = self.name.text().strip(), self.model.text().strip(), int(self.count.text() or 0)
        if not name or count < 1:
            raise InputError("A part needs a name and a count of at least one.")
        cost = amount(self.cost.text())
        self._desk.add_shelf_part(ShelfPart("", name, model, count, cost_minor=cost, note=self.note.text().strip()))


class SheetPanel(Panel):
    """Save a drawn-up model sheet under a name."""

    keys = "Enter: save the sheet · Esc: back"

    def __init__(self, desk: Desk, look: Look, parent: QWidget) -> None:
        super().__init__("Save this model's sheet", look, parent)
        sheet = desk.sheet()
        self._desk, self._sheet = desk, sheet
        self.name = QLineEdit(sheet.name if sheet is not None else "")
        self.add(self.name, "Name of the model", focus=True)
        self.add(plain_label("Names, zones and limits can be edited in the file afterwards.", "small", wrap=True))
        self.finish()

    def commit(self) -> None:
        name = self.name.text().strip()
        if not name:
            raise InputError("A sheet needs the model's name.")
        if self._sheet is None:
            raise InputError("No unit is plugged in: plug one in, then save its sheet.")
        self._desk.save_sheet(replace(self._sheet, name=name, drawn_up=False))


def _index(options: Sequence[str], value: str) -> int:
    return options.index(value) if value in options else 0
