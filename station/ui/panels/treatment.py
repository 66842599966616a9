"""A treatment as work: what is done to which part, the caution before it, and the clock while it lasts."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QElapsedTimer, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QLineEdit, QVBoxLayout, QWidget

from station.bench.work import Work
from station.diagnosis.faults import fits as shelf_fits
from station.errors import InputError
from station.records.money import amount_text
from station.records.types import ShelfPart, Treatment, Unit
from station.ui.keys import key_of
from station.ui.painting.hazards import Cautions
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.panel import Panel, name_it
from station.ui.panels.record import currency_of
from station.ui.panels.typed import amount, whole
from station.ui.ports import AdvicePort, ProposalView, StockPort, TreatmentView, UnitPort, WorkPort
from station.words import common
from station.words import panels as words

MOST_MINUTES = 9999
"""of one treatment: a working week and more"""
MOST_SHELF = 9
"""parts of the shelf that a treatment offers, each with its digit"""
MOST_PARTS = 11
"""parts to choose from; any other is written"""
TICK_MS = 500
DOUBLE_PRESS_S = 2.0
"""so long after it began work is not ended by the key that began it: customary, no published source"""
NARROW_PX = 900
"""in a narrower window the caution stands below what is chosen"""


class TreatmentPanel(Panel):
    """What is going to be done: T, Enter is enough where it is what was proposed. Minutes that are written in say that
    it was done already."""

    width_px = 1120
    keys = words.TREATMENT_KEYS

    def __init__(
        self,
        units: UnitPort,
        work: WorkPort,
        stock: StockPort,
        advice: AdvicePort,
        unit: Unit,
        cautions: Cautions,
        begun: Callable[[], None],
        look: Look,
        parent: QWidget,
    ) -> None:
        """`begun`: called when work began (not when it was done already)."""
        super().__init__(words.TREATMENT.format(tag=unit.tag), look, parent)
        self._units, self._work, self._advice, self._unit, self._begun = units, work, advice, unit, begun
        self._cautions, self._proposal = cautions, advice.proposal(unit.id)
        self._currency = currency_of(units, unit)
        self._kinds = in_order(advice.treatments(), self._proposal)
        columns = 3 if parent.width() >= look.px(NARROW_PX) else 2
        self.kind = ChoiceList([self._said(k) for k in self._kinds], look, columns=columns)
        self.part = ChoiceList((), look, columns=2)
        self._holder = _labelled(words.PART, self.part)
        self._parts: tuple[str, ...] = ()
        here = [p for p in stock.shelf() if p.count > 0 and p.model in ("", unit.model)]
        wanted = self._proposal.part if self._proposal is not None else ""
        self._shelf = sorted(here, key=lambda p: not (wanted and shelf_fits(p, unit.model, wanted)))[:MOST_SHELF]
        self.source = ChoiceList((words.NOT_FROM_SHELF, *(_on_shelf(p) for p in self._shelf)), look, columns=2)
        self._from = _labelled(words.TREATMENT_SOURCE, self.source)
        self.other, self.minutes, self.materials = QLineEdit(), QLineEdit(), QLineEdit()
        self.cost, self.note = QLineEdit(), QLineEdit()
        self.minutes.setPlaceholderText(words.MINUTES_COUNT)
        self.other.setPlaceholderText(words.PART_HINT)
        self.materials.setPlaceholderText(words.MATERIALS_HINT)
        self.cost.setPlaceholderText(amount_text(40, self._currency))
        beside = self._two_columns()
        self.add(self.kind, words.TREATMENT_KIND, focus=True)
        self.add(self._holder)
        self.add(self._from)
        self._add_fields()
        self.box.addStretch(1)
        self.box = beside
        self.add_hazards(self._chosen.kind, cautions)
        beside.addStretch(1)
        self._order += [self.part, self.source, self.minutes, self.other, self.cost, self.materials, self.note]
        self.kind.changed.connect(self._kind_changed)
        self._kind_changed(0)
        self.finish(self.kind)

    def _two_columns(self) -> QVBoxLayout:
        """What is chosen stands at the left from here on; the caution goes beside it, or below in a narrow window."""
        self._row = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._row.setSpacing(self.look.px(20))
        self.box.addLayout(self._row)
        left, right = QVBoxLayout(), QVBoxLayout()
        for column, stretch in ((left, 3), (right, 2)):
            column.setSpacing(self.look.px(6))
            self._row.addLayout(column, stretch)
        self.box = left
        return right

    def place(self) -> None:
        parent = self.parentWidget()
        narrow = parent is not None and parent.width() < self.look.px(NARROW_PX)
        self._row.setDirection(QBoxLayout.Direction.TopToBottom if narrow else QBoxLayout.Direction.LeftToRight)
        super().place()

    @property
    def _chosen(self) -> TreatmentView:
        return self._kinds[self.kind.chosen]

    def _said(self, one: TreatmentView) -> str:
        proposed = self._proposal is not None and self._proposal.kind == one.kind
        return words.PROPOSED.format(treatment=one.title) if proposed else one.title

    def _add_fields(self) -> None:
        rows = QWidget()
        grid = QGridLayout(rows)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(self.look.px(10))
        grid.setVerticalSpacing(self.look.px(2))
        places = (
            (words.MINUTES, self.minutes, 0, 0),
            (words.OTHER_PART, self.other, 0, 1),
            (words.COST.format(currency=self._currency), self.cost, 0, 2),
            (words.MATERIALS, self.materials, 2, 0),
            (words.NOTE, self.note, 2, 1),
        )
        for text, field, y, x in places:
            field.setAccessibleName(text)
            grid.addWidget(plain_label(text, "small"), y, x)
            grid.addWidget(field, y + 1, x, 1, 2 if field is self.note else 1)
        for column, stretch in enumerate((2, 2, 1)):
            grid.setColumnStretch(column, stretch)
        self.add(rows)

    def _kind_changed(self, index: int) -> None:
        """Each kind brings its parts and its caution; the proposed one its part first, and what it costs."""
        kind, proposal = self._kinds[index], self._proposal
        self.show_hazards(kind.kind, self._cautions)
        fits = proposal is not None and proposal.kind == kind.kind
        first = [proposal.part] if fits and proposal is not None and proposal.part else []
        names = dict.fromkeys([*first, *self._advice.parts(self._unit.id, kind.kind)])
        self._parts = (*tuple(names)[:MOST_PARTS], "")
        self._put_parts([name or words.NO_ONE_PART for name in self._parts])
        priced = fits and proposal is not None and proposal.currency == self._currency
        self.cost.setText(amount_text(proposal.cost_minor, self._currency) if priced and proposal else "")
        name = first[0] if first else ""
        here = (k for k, p in enumerate(self._shelf, start=1) if name and shelf_fits(p, self._unit.model, name))
        self.source.choose(next(here, 0))
        self._from.setVisible(bool(self._shelf) and kind.needs_part)
        if self.isVisible():
            self.place()

    def _put_parts(self, names: Sequence[str]) -> None:
        """Another list in the place of the one that is there, under its label."""
        old, self.part = self.part, ChoiceList(names, self.look, columns=2)
        box = self._holder.layout()
        assert box is not None
        box.replaceWidget(old, self.part)
        self._order = [self.part if widget is old else widget for widget in self._order]
        self.part.taken.connect(self.accept)
        old.hide()
        old.deleteLater()

    def _taken(self) -> ShelfPart | None:
        """The part that comes from the shelf."""
        chosen = self.source.chosen if self._chosen.needs_part else 0
        return self._shelf[chosen - 1] if chosen else None

    def commit(self) -> None:
        taken = self._taken()
        minutes = self.read(self.minutes, lambda text: whole(text, 0, MOST_MINUTES))
        treatment = Treatment(
            id="",
            unit_id=self._unit.id,
            kind=self._chosen.kind,
            at="",
            part=self.other.text().strip() or self._parts[self.part.chosen] or (taken.name if taken else ""),
            minutes=minutes,
            materials=self.materials.text().strip(),
            cost_minor=self.read(self.cost, lambda text: amount(text, self._currency)),
            currency=self._currency,
            note=self.note.text().strip(),
            donor_unit_id=taken.source_unit_id if taken is not None else None,
        )
        shelf_part_id = taken.id if taken is not None else ""
        if self.minutes.text().strip():
            self._units.treat(treatment, shelf_part_id)
        else:
            self._work.begin(treatment, shelf_part_id)
            self._begun()


class WorkPanel(Panel):
    """The work that is under way, with its clock. Enter ends it; Esc leaves it running."""

    keys = words.WORK_KEYS

    def __init__(
        self,
        port: WorkPort,
        unit: Unit,
        work: Work,
        cautions: Cautions,
        done: Callable[[], None],
        dropped: Callable[[], None],
        look: Look,
        parent: QWidget,
    ) -> None:
        """`done`: called when it was ended, for the re-check; `dropped`: when it did not come to it."""
        kind = common.TREATMENT_KINDS.get(work.treatment.kind, work.treatment.kind)
        said = words.WORK_ON_PART if work.treatment.part else words.WORK
        super().__init__(said.format(tag=unit.tag, treatment=kind, part=work.treatment.part), look, parent)
        self._port, self._unit, self._shown = port, unit, work
        self._done, self._dropped = done, dropped
        self._open = QElapsedTimer()  # a wall clock that was set back must not hold the work for ever
        self._open.start()
        self.clock = plain_label("", "control")
        self.add(self.clock)
        self.add_hazards(work.treatment.kind, cautions)
        self.minutes = QLineEdit()
        self.minutes.setPlaceholderText(words.MINUTES_COUNT)
        self.add(self.minutes, words.MINUTES_IF_OTHER, focus=True)
        self._timer = QTimer(self)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self._tick)
        self._timer.start()
        self._tick()
        self.finish(self)

    def _tick(self) -> None:
        """The clock as it stands."""
        seconds = int(self._port.seconds(self._shown))
        clock = words.CLOCK.format(minutes=seconds // 60, seconds=f"{seconds % 60:02d}")
        self.clock.setText(words.CLOCK_PAUSED.format(clock=clock) if self._shown.paused else clock)

    def accept(self) -> None:
        """End the work, save by the second press of the Enter that began it."""
        if self.minutes.text().strip() or not self._just_begun():
            super().accept()

    def _just_begun(self) -> bool:
        young = self._port.seconds(self._shown) < DOUBLE_PRESS_S
        return young and self._open.elapsed() < 1e3 * DOUBLE_PRESS_S

    def commit(self) -> None:
        typed = self.read(self.minutes, lambda text: whole(text, 0, MOST_MINUTES))
        took = typed if self.minutes.text().strip() else self._port.minutes(self._shown)
        if took is None:
            self.minutes.setFocus()
            raise InputError(words.CLOCK_FORGOTTEN)
        self._port.end(self._unit.id, took)
        self._done()

    def close_panel(self) -> None:
        self._timer.stop()
        super().close_panel()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = key_of(event)
        if key in ("P", "Space", "X") and event.isAutoRepeat():
            return
        if key in ("P", "Space"):
            self._shown = self._port.pause(self._shown)
            self._tick()
        elif key == "X":
            self._port.drop(self._unit.id)
            self.close_panel()
            self._dropped()
        else:
            super().keyPressEvent(event)


def in_order(kinds: Sequence[TreatmentView], proposal: ProposalView | None) -> tuple[TreatmentView, ...]:
    """The proposed one first, the others as they are."""
    first = proposal.kind if proposal is not None else ""
    return tuple(sorted(kinds, key=lambda one: one.kind != first))


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
    name_it(widget, text)
    return holder
