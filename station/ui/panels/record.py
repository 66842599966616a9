"""Panels that write into the record: a note, the unit's own lines."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from PySide6.QtWidgets import QLineEdit, QWidget

from station.errors import InputError
from station.judgement.standing import Standing
from station.records.money import amount_text
from station.records.types import BECOMES, CLAIM_STATES, Note, Unit
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.open_points import sold_as
from station.ui.panels.panel import NoteEdit, Panel
from station.ui.panels.photo_field import PhotoField
from station.ui.panels.step_field import StepField
from station.ui.panels.typed import amount, later_example, parse_date, parse_later
from station.ui.ports import UnitPort
from station.words import common, figures, open_points, selling
from station.words import panels as words

HASTE_S = 0.5
"""an Enter that follows sooner was not an answer to the question: customary, no published source"""


class NotePanel(Panel):
    """A note on the unit. `begun`: what stands there already, the words and the path of a photo; `asked(answers, words,
    photo)`: it is to be kept, and the answer will carry that number."""

    keys = words.NOTE_KEYS

    def __init__(
        self,
        units: UnitPort,
        unit: Unit,
        look: Look,
        parent: QWidget,
        begun: tuple[str, str] = ("", ""),
        asked: Callable[[int, str, str], None] = lambda answers, text, photo: None,
    ) -> None:
        super().__init__(words.NOTE_ON.format(tag=unit.tag), look, parent)
        self._units, self._unit, self._asked = units, unit, asked
        self.text = NoteEdit()
        self.text.setFixedHeight(look.px(110))
        self.photo = PhotoField(units.photos(), look)
        self.add(self.text, focus=True)
        self.add(self.photo, words.NOTE_PHOTO, focus=True)
        self.add(self.photo.below)
        self.where = ChoiceList(words.NOTE_PHOTO_CHOICES, look)
        self.add(self.where, words.NOTE_PHOTO_WHERE, focus=True)
        self.photo.line.textChanged.connect(self.place)
        self.text.setPlainText(begun[0])
        self.photo.line.setText(begun[1])
        self.finish(self.text)

    def commit(self) -> None:
        text, photo = self.text.toPlainText().strip(), self.photo.line.text().strip()
        if not text and not photo:
            raise InputError(words.NOTE_EMPTY)
        answers = self._units.note(
            Note("", self._unit.id, "", text or words.NOTE_IS_PHOTO), photo, on_certificate=self.where.chosen == 1
        )
        self._asked(answers, text, photo)


class UnitPanel(Panel):
    """The unit's own lines: claim, condition, rest date, what becomes of it."""

    width_px = 640
    keys = words.UNIT_KEYS

    def __init__(
        self,
        units: UnitPort,
        unit: Unit,
        standing: Callable[[], Standing | None],
        look: Look,
        parent: QWidget,
        first: str = "claim",
    ) -> None:
        """`standing`: what it may be sold as, asked for when it is to be sold."""
        title = words.UNIT_OF_MODEL.format(tag=unit.tag, model=unit.model) if unit.model else unit.tag
        super().__init__(title, look, parent)
        self._units, self._unit, self._standing = units, unit, standing
        self._asked_s: float | None = None
        """when the price was asked for, on the monotonic clock"""
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
        self.sold_on = QLineEdit(
            figures.day(unit.sold_on or (units.today().isoformat() if unit.becomes != "sold" else ""))
        )
        channels = units.channels()
        self.channel = StepField(channels, unit.channel or next(iter(channels if unit.becomes != "sold" else ()), ""))
        self.channel.setPlaceholderText(selling.CHANNEL_HINT)
        self.fees = QLineEdit(amount_text(unit.fees_minor, self._currency))
        self.shipping = QLineEdit(amount_text(unit.shipping_minor, self._currency))
        self._of_sale: list[QWidget] = []
        for field, label in (
            (self.sold_on, selling.SOLD_ON),
            (self.channel, selling.CHANNEL),
            (self.fees, selling.FEES.format(currency=self._currency)),
            (self.shipping, selling.SHIPPING.format(currency=self._currency)),
        ):
            above = plain_label(label, "small")
            self.add(above)
            self.add(field, focus=True)
            field.setAccessibleName(label)
            self._of_sale += [above, field]
        self.open = plain_label("", "caution", wrap=True)
        self.open.hide()
        self.add(self.open)
        self._show_sale()
        self.becomes.changed.connect(self._becomes_changed)
        self.reason.setPlaceholderText(words.UNIT_REASON_HINT)
        self.add(self.reason, words.UNIT_REASON, focus=True)
        self.finish({"becomes": self.becomes, "rest": self.rest}.get(first, self.claim))

    def _selling(self) -> bool:
        return BECOMES[self.becomes.chosen] == "sold" and self._unit.becomes != "sold"

    def _becomes_changed(self) -> None:
        """What is open of it is said before it is sold."""
        self.open.setText(sold_as(self._standing()) if self._selling() else "")
        self.open.setVisible(bool(self.open.text()))
        self._asked_s = None
        self._show_sale()
        self.place()
        if self.open.text():
            self._area.ensureWidgetVisible(self.open)

    def _show_sale(self) -> None:
        """Day, channel and costs are asked of a sale alone."""
        for part in self._of_sale:
            part.setVisible(BECOMES[self.becomes.chosen] == "sold")

    def _ask_price(self) -> None:
        """InputError until Enter was pressed again on an empty price, and not in haste."""
        now = time.monotonic()
        if self._asked_s is None:
            self._asked_s = now
        if now - self._asked_s < HASTE_S:
            raise self.wrong(self.sold, open_points.ASK_PRICE)

    def _sale(self) -> dict[str, Any]:
        """Day, channel, fees and shipping of a sale; nothing of what is not sold."""
        if BECOMES[self.becomes.chosen] != "sold":
            return {"sold_on": "", "channel": "", "fees_minor": 0, "shipping_minor": 0}
        return {
            "sold_on": self.read(self.sold_on, lambda text: parse_date(text, self._units.today())),
            "channel": self.channel.text().strip(),
            "fees_minor": self.read(self.fees, lambda text: amount(text, self._currency)),
            "shipping_minor": self.read(self.shipping, lambda text: amount(text, self._currency)),
        }

    def commit(self) -> None:
        unit = replace(
            self._unit,
            claim=self.claim.text().strip(),
            claim_state=CLAIM_STATES[self.claim_state.chosen],
            condition=self.condition.text().strip(),
            rest_until=self.read(self.rest, lambda text: parse_later(text, self._units.today())),
            becomes=BECOMES[self.becomes.chosen],
            sold_minor=self.read(self.sold, lambda text: amount(text, self._currency)),
            **self._sale(),
        )
        if unit.sold_minor and unit.becomes != "sold":
            raise self.wrong(self.sold, words.PRICE_BUT_NOT_SOLD.format(sold=common.BECOMES["sold"]))
        if self._selling() and not unit.sold_minor:
            self._ask_price()
        if unit != self._unit:
            self._units.change(unit, self.reason.text().strip())


def currency_of(units: UnitPort, unit: Unit) -> str:
    """In which money a unit is reckoned."""
    return units.history(unit.id).currency


def _index(options: Sequence[str], value: str) -> int:
    return options.index(value) if value in options else 0
