"""Panels for a lot that comes in: a spreadsheet that is looked at before it is taken in, and units written up one after
the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QLineEdit, QWidget

from station.errors import InputError
from station.records.money import amount_text
from station.records.types import BOXES, Lot, Unit
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.panel import Panel, for_tag
from station.ui.panels.step_field import StepField
from station.ui.panels.typed import amount
from station.ui.ports import StockPort, UnitPort
from station.ui.tags import next_tag
from station.words import common, figures, grammar
from station.words import incoming as words
from station.words import panels as panel_words

if TYPE_CHECKING:
    from station.lots.incoming.draft import Draft

MOST_SHOWN = 14
"""units or rows with something wrong that a preview shows"""


class FilePanel(Panel):
    """Which spreadsheet, and into which lot."""

    width_px = 640
    keys = words.IMPORT_KEYS

    def __init__(
        self, stock: StockPort, lot: str, asked: Callable[[int, str], None], look: Look, parent: QWidget
    ) -> None:
        """`lot`: its proposed name; `asked`: told the number of the answer that follows, and the file's name."""
        super().__init__(words.IMPORT, look, parent)
        self._stock, self._asked = stock, asked
        found = stock.spreadsheets()
        self.file, self.lot = StepField(found), QLineEdit(lot)
        newest = words.FILE_NEWEST.format(file=Path(found[0]).name) if found else words.FILE_PATH
        self.file.setPlaceholderText(newest)
        self.lot.setPlaceholderText(panel_words.LOT_NAME_HINT)
        self.add(self.file, words.FILE, focus=True)
        self.add(self.lot, words.INTO_LOT, focus=True)
        self.finish(self.file)

    def commit(self) -> None:
        path, lot = self.file.text().strip(), self.lot.text().strip()
        if not path:
            raise self.wrong(self.file, words.NEEDS_FILE)
        if not lot:
            raise self.wrong(self.lot, words.NEEDS_LOT)
        self._asked(self._stock.look_into(path, lot), Path(path).name)


class PreviewPanel(Panel):
    """What a spreadsheet would bring, or what is wrong in it by row."""

    width_px = 760

    def __init__(self, stock: StockPort, draft: Draft, look: Look, parent: QWidget) -> None:
        self.keys = words.PREVIEW_KEYS if draft.sound else words.PREVIEW_WRONG_KEYS
        lot, units = draft.lot, grammar.count_of(len(draft.units), common.UNITS)
        title = words.PREVIEW_TO if lot.id else words.PREVIEW
        if not draft.sound:
            title = words.PREVIEW_WRONG
        super().__init__(title.format(lot=lot.name, units=units), look, parent)
        self._stock, self._draft = stock, draft
        self.cost = QLineEdit(amount_text(lot.cost_minor, lot.currency))
        self.postage = QLineEdit(amount_text(lot.postage_minor, lot.currency))
        if draft.sound and not lot.id:
            self.add(self.cost, words.PRICE_OF_LOT.format(currency=lot.currency), focus=True)
            self.add(self.postage, words.POSTAGE.format(currency=lot.currency), focus=True)
        self.add(plain_label(draft.columns_told(), "small", wrap=True))
        if not draft.sound:
            self.add(plain_label(draft.wrong_told(), "bad", wrap=True))
            for problem in draft.problems[:MOST_SHOWN]:
                self.add(plain_label(problem.sentence(), wrap=True))
            self._add_more(len(draft.problems) - MOST_SHOWN, words.MORE_ROWS)
        for note in draft.notes:
            self.add(plain_label(note, "dim", wrap=True))
        if draft.sound:
            for unit in draft.units[:MOST_SHOWN]:
                self.add(plain_label(_unit_line(unit, lot.currency), wrap=True))
            self._add_more(len(draft.units) - MOST_SHOWN, words.MORE_UNITS)
        self.finish(self.cost if draft.sound and not lot.id and not lot.cost_minor else self)

    def _add_more(self, more: int, template: tuple[str, str]) -> None:
        if more > 0:
            text = grammar.plural(more, template).format(count=figures.number(more, 0))
            self.add(plain_label(text, "dim", wrap=True))

    def commit(self) -> None:
        draft = self._draft
        if not draft.sound:
            return
        if not draft.lot.id:
            cost = self.read(self.cost, lambda text: amount(text, draft.lot.currency))
            postage = self.read(self.postage, lambda text: amount(text, draft.lot.currency))
            draft = replace(draft, lot=replace(draft.lot, cost_minor=cost, postage_minor=postage))
        self._stock.take_in(draft)


def _unit_line(unit: Unit, currency: str) -> str:
    price = figures.money(unit.cost_minor, currency) if unit.cost_minor else ""
    parts = (unit.tag, unit.model, unit.claim, unit.condition, unit.accessories, words.BOXES[unit.box] * bool(unit.box))
    return common.DOT.join(part for part in (*parts, price) if part)


class QuickPanel(Panel):
    """Units written up one after the other: the model is carried on, the tag is the next one, the claim is typed."""

    width_px = 640
    keys = words.QUICK_KEYS

    def __init__(
        self,
        units: UnitPort,
        stock: StockPort,
        tag: str,
        lot: Lot | None,
        here: Sequence[Unit],
        look: Look,
        parent: QWidget,
    ) -> None:
        """`here`: the units of the lot, oldest first."""
        title = words.QUICK_IN_LOT.format(lot=lot.name) if lot is not None else words.QUICK
        super().__init__(title, look, parent)
        self._units, self._stock, self._lot, self._here = units, stock, lot, len(here)
        self._tags = [unit.tag for unit in here]
        models = tuple(sheet.name for sheet in stock.sheets())
        newest = [*here[-1:], *units.find()[:1]]
        carried = newest[0].model if newest else ""
        self.claim, self.tag, self.model = QLineEdit(), for_tag(QLineEdit(tag)), StepField(models, carried)
        self.accessories, self.condition = QLineEdit(), QLineEdit()
        self.box_of = ChoiceList(tuple(words.BOXES[box] for box in BOXES), look, columns=3)
        self.told, self.count = plain_label("", "small", wrap=True), plain_label("", "dim", wrap=True)
        example = stock.claim_of(words.SHORT_CLAIM, carried).text
        self.claim.setPlaceholderText(words.CLAIM_HINT.format(short=words.SHORT_CLAIM, example=example))
        self.model.setPlaceholderText(panel_words.MODEL_HINT)
        self.accessories.setPlaceholderText(words.ACCESSORIES_HINT)
        self.condition.setPlaceholderText(panel_words.CONDITION_HINT)
        self.add(self.count)
        self.add(self.model, panel_words.MODEL, focus=True)
        self.add(self.claim, panel_words.CLAIM, focus=True)
        self.add(self.told)
        self.add(self.tag, panel_words.TAG_ON_LABEL, focus=True)
        self.add(self.accessories, words.ACCESSORIES, focus=True)
        self.add(self.box_of, words.BOX, focus=True)
        self.add(self.condition, panel_words.CONDITION, focus=True)
        self.claim.textChanged.connect(self._tell)
        self.model.textChanged.connect(self._tell)
        self.tag_field = self.tag
        self._tell_count()
        self._tell()
        self.finish(self.claim if carried else self.model)

    def _tell(self, _: str = "") -> None:
        """What the claim is understood as, while it is typed."""
        text = self.claim.text().strip()
        claim = self._stock.claim_of(text, self.model.text().strip())
        said = words.BOUND_TO.format(controls=grammar.COMMA.join(claim.controls)) if claim.controls else words.NOT_BOUND
        full = words.UNDERSTOOD.format(claim=claim.text) if claim.text != text else ""
        self.told.setText(" ".join(part for part in (full, said) if part) if text else words.NO_CLAIM_YET)

    def _tell_count(self) -> None:
        expected = self._lot.expected if self._lot is not None else 0
        template = words.QUICK_HERE
        if expected:
            template = words.QUICK_OF if self._here < expected else words.QUICK_ALL
        units = figures.number(self._here, 0)
        self.count.setText(template.format(here=units, expected=figures.number(expected, 0)))

    def accept(self) -> None:
        """Save it and go on with the next; where something is wrong, say so."""
        try:
            self.commit()
        except InputError as error:
            self.say(str(error))

    def commit(self) -> None:
        tag, model = self.tag.text().strip(), self.model.text().strip()
        if not tag:
            raise self.wrong(self.tag, panel_words.UNIT_NEEDS_TAG)
        taken = any(u.tag.casefold() == tag.casefold() for u in self._units.find(tag)) or tag in self._tags
        if taken:
            raise self.wrong(self.tag, panel_words.TAG_TAKEN.format(tag=tag))
        sheet = self._stock.sheet_named(model)
        self._units.add(
            Unit(
                "",
                tag,
                sheet.name if sheet is not None else model,
                self._lot.id if self._lot is not None else None,
                sheet=sheet.name if sheet is not None else "",
                claim=self._stock.claim_of(self.claim.text().strip(), model).text,
                condition=self.condition.text().strip(),
                accessories=self.accessories.text().strip(),
                box=BOXES[self.box_of.chosen],
            )
        )
        self._tags.append(tag)
        self._here += 1
        self._tell_count()
        for field in (self.claim, self.condition):
            field.clear()
        self.tag.setText(next_tag(self._tags))
        self._problem.hide()
        self.claim.setFocus()
        self.place()
