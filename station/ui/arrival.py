"""The strip that a plugged-in device brings up: whose is it? It covers nothing and traps nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from station.judgement.look import stopped_by, to_look_over
from station.records.types import Unit
from station.ui.keys import key_of
from station.ui.painting.hints import KeyHints, TakesClicks
from station.ui.painting.look import Look
from station.ui.painting.widgets import has_keys, plain_label
from station.ui.ports import DeviceAppeared, StockPort, UnitPort, VisitPort
from station.ui.tags import by_age, lot_of, next_tag
from station.ui.visit_kind import proposed_kind
from station.words import arrival as words
from station.words import checks, common, sheets
from station.words.figures import when
from station.words.grammar import spoken_name

LARGE = 1.75
"""from this scale on the strip has no room to give away"""


class ArrivalStrip(QFrame):
    """One device at a time; later ones wait behind it.

    A device that nobody knows is offered to the unit that is open and waits for one (`serve`); where it is another
    model than is written of that unit, that is asked about first.

    Signals: `start(DeviceAppeared, Unit, str)`: begin or go on with a visit of that kind;
    `new_unit(DeviceAppeared, str, str)`: a unit of that tag and claim is to be made and its visit begun;
    `another()`: the device is not the unit that is open;
    `named(Unit)`: the tag of a unit was typed that the device may not be;
    `teach()`: the device is to be taught; `left()`: nothing to attend to any more.
    """

    start = Signal(object, object, str)
    new_unit = Signal(object, str, str)
    another = Signal()
    named = Signal(object)
    teach = Signal()
    left = Signal()

    def __init__(
        self, units: UnitPort, stock: StockPort, visit: VisitPort, look: Look, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.attended = False
        """the strip has the keys: a change of the page behind it must not take them away"""
        self.setObjectName("arrival")
        self._units, self._stock, self._visit, self._look = units, stock, visit, look
        self._waiting: list[DeviceAppeared] = []
        self._suggested = self._told = ""
        self._held = self._far = self._covered = False
        self._open: Unit | None = None
        self.said = plain_label("", "title", wrap=True)
        self.caution = plain_label(words.LOOK_FIRST, "caution", wrap=True)
        self.keys = KeyHints("", look, "dim")
        self.tag, self.claim = QLineEdit(), QLineEdit()
        self.claim.setPlaceholderText(words.CLAIM_SHOWN)
        self.tag.setAccessibleName(words.TAG)
        self.claim.setAccessibleName(words.CLAIM)
        self._fields = QWidget()
        line = QHBoxLayout(self._fields)
        line.setContentsMargins(0, 0, 0, 0)
        line.addWidget(plain_label(words.TAG, "bold"))
        line.addWidget(self.tag, 1)
        line.addWidget(plain_label(words.CLAIM, "bold"))
        line.addWidget(self.claim, 3)
        self._box = QVBoxLayout(self)
        for part in (self.said, self.caution, self._fields, self.keys):
            self._box.addWidget(part)
        self.tag.textChanged.connect(self._tag_changed)
        self._space()
        self.hide()

    def set_look(self, look: Look) -> None:
        self._look = look
        self.keys.set_look(look)
        self._space()

    def _space(self) -> None:
        large = self._look.scale >= LARGE  # then every line is needed
        side, top = self._look.px(16), 2 if large else self._look.px(8)
        self._box.setContentsMargins(side, top, side, top)
        self._box.setSpacing(0 if large else self._look.px(4))

    # --- devices -----------------------------------------------------------------------------------------

    @property
    def device(self) -> DeviceAppeared | None:
        """The device that is being asked about."""
        return self._waiting[0] if self._waiting else None

    @property
    def unit(self) -> Unit | None:
        """The unit that Enter begins a visit of; None where its tag is asked for, or whether it is that unit at all."""
        event = self.device
        if event is None or event.described == "nothing" or event.unit is not None:
            return event.unit if event is not None else None
        served = self._open
        return served if served is not None and not _differs(served, event) else None

    def serve(self, unit: Unit | None) -> None:
        """This unit is open and has no device; None: no unit waits for one."""
        before, self._open = self._open, unit
        if before != unit and self.isVisible() and self.device is not None:
            self._show(attend=self.attended)

    def set_far(self, far: bool) -> None:
        """A visit is under way: Enter is the bench's until the person turns to the strip."""
        self._far = far
        self._show_keys()

    def set_covered(self, covered: bool) -> None:
        """A panel stands over the window: the keys are its own until it is closed."""
        self._covered = covered
        self._show_keys()

    def _say_keys(self, text: str) -> None:
        self._told = text
        self._show_keys()

    def _show_keys(self) -> None:
        text = words.ANSWER_WITH_P if self._far and not self.attended else self._told
        text = "" if self._covered else text
        if self.keys.text() != text:
            self.keys.setText(text)

    def appeared(self, event: DeviceAppeared, attend: bool) -> None:
        """Ask about a device. `attend`: no check is running, so the strip may take the keys."""
        self._waiting = [e for e in self._waiting if e.device.key != event.device.key]
        self._waiting.append(event)
        self._show(attend)

    def gone(self, key: str) -> None:
        """The device left before it was answered for."""
        if any(e.device.key == key for e in self._waiting):
            self._waiting = [e for e in self._waiting if e.device.key != key]
            self._show(attend=False)

    def attend(self) -> None:
        """Take the keys."""
        if self.device is not None:
            target: QWidget = self.tag if self._fields.isVisibleTo(self) else self
            self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            target.setFocus()
            self.attended = True
            self._show_keys()

    def dismiss(self) -> None:
        """Not now: go to the next device, or away."""
        self.attended = False
        if self._waiting:
            del self._waiting[0]
        self._show(attend=True)

    def asks_for_tag(self) -> bool:
        """A device waits that is no known unit yet, nor offered to the one that is open."""
        event = self.device
        asks = event is not None and event.unit is None and event.described != "nothing" and not self._held
        return asks and self._open is None

    def fill_tag(self, tag: str) -> None:
        """The tag of the unit that the device is was scanned; what its seller claims is next."""
        self.attend()
        self.tag.setText(tag)
        if self.claim.isEnabled():
            self.claim.setFocus()

    def set_held(self, held: bool) -> None:
        """While a device is taught nothing is asked; what waits is asked afterwards."""
        self._held = held
        if held:
            self.hide()
        elif self._waiting:
            self._show(attend=True)

    def _show(self, attend: bool) -> None:
        event = self.device
        if self._held:
            return
        if event is None:
            self.hide()
            self.left.emit()
            return
        testable = event.described != "nothing"
        served = self._open if event.unit is None and testable else None
        self._fields.setVisible(event.unit is None and testable and served is None)
        if not testable:
            self.said.setText(words.TELLS_NO_CONTROLS.format(device=_device_words(event)))
            self._say_keys(words.TEACH)
        elif event.unit is not None:
            self._show_known(event, event.unit)
        elif served is not None:
            self._show_served(event, served)
        else:
            self._show_new(event)
        self.show()
        if attend:
            self.attend()

    def _show_known(self, event: DeviceAppeared, unit: Unit) -> None:
        if self._stopped(unit):
            return
        visit = self._visit.unfinished(unit.id)
        there = words.BACK if self._units.history(unit.id).visits else words.PLUGGED_IN
        self.said.setText(there.format(tag=unit.tag, device=_device_words(event)))
        if visit is not None:
            kind = common.VISIT_KINDS[visit.kind]
            self._say_keys(words.GO_ON.format(kind=kind, begun=when(visit.started_at)))
        else:
            keys = words.START_OR_TEACH if _describes_itself(event) else words.START
            self._say_keys(keys.format(kind=common.VISIT_KINDS[self._kind(unit)]))

    def _stopped(self, unit: Unit) -> bool:
        """Warn until it was looked over; say so where a look stopped it."""
        history = self._units.history(unit.id)
        self.caution.setVisible(to_look_over(history))
        sign = stopped_by(history)
        if sign:
            self.said.setText(words.STOPPED.format(tag=unit.tag, sign=checks.LOOK_SIGNS.get(sign, sign)))
            self._say_keys(words.STOPPED_KEYS)
        return bool(sign)

    def _show_served(self, event: DeviceAppeared, unit: Unit) -> None:
        device = _device_words(event)
        if self._stopped(unit):
            return
        if differs := _differs(unit, event):
            self.said.setText(differs.format(tag=unit.tag, device=device, model=unit.model, serial=unit.serial))
            self._say_keys(words.THE_SAME_OR_ANOTHER.format(tag=unit.tag))
            return
        self.said.setText(words.FOR_THE_OPEN_ONE.format(tag=unit.tag, device=device))
        visit = self._visit.unfinished(unit.id)
        told = words.GO_ON_OF if visit is not None else words.START_OF_OPEN
        kind = common.VISIT_KINDS[visit.kind if visit is not None else self._kind(unit)]
        self._say_keys(told.format(kind=kind, tag=unit.tag))

    def _show_new(self, event: DeviceAppeared) -> None:
        device = _device_words(event)
        self.caution.setVisible(True)
        if _describes_itself(event):
            self.said.setText(words.NEW_WITHOUT_SHEET.format(device=device))
        else:
            self.said.setText(words.NEW_WITH_SHEET.format(device=device, sheet=event.sheet))
        self._suggested = next_tag([u.tag for u in by_age(self._units.find())]) or words.FIRST_TAG
        self.tag.setPlaceholderText(self._suggested)
        self.tag.clear()
        self.claim.clear()
        self._tag_changed("")

    def _tag_changed(self, text: str) -> None:
        unit = self._unit(text.strip())
        described = self.device.described if self.device is not None else "nothing"
        if unit is not None:
            keys = words.START_OF_OR_TEACH if described == "descriptor" else words.START_OF
            self._say_keys(keys.format(kind=common.VISIT_KINDS[self._kind(unit)], unit=_unit_words(unit)))
        else:
            with_teaching = {"descriptor": words.NEW_UNIT_OR_TEACH, "class": words.NEW_UNIT_BY_CLASS}
            keys = with_teaching.get(described, words.NEW_UNIT)
            self._say_keys(keys.format(unit=self._tag_words(text.strip() or self._suggested)))
        self.claim.setEnabled(unit is None)

    def _tag_words(self, tag: str) -> str:
        """A new tag, and the lot that it will belong to."""
        lot_id = lot_of(tag, by_age(self._units.find()))
        lots = (words.TAG_OF_LOT.format(tag=tag, lot=lot.name) for lot in self._stock.lots() if lot.id == lot_id)
        return next(lots, tag)

    def _unit(self, tag: str) -> Unit | None:
        if not tag:
            return None
        return next((u for u in self._units.find(tag) if u.tag.casefold() == tag.casefold()), None)

    def _kind(self, unit: Unit) -> str:
        return proposed_kind(self._units.history(unit.id), self._units.today())

    # --- answering -----------------------------------------------------------------------------------------

    def accept(self) -> None:
        """Start with the unit that is named."""
        event = self.device
        if event is None:
            return self.dismiss()
        if event.described == "nothing":
            return self.teach.emit()
        if event.unit is None and (served := self._open) is not None:
            if not _differs(served, event):
                self._begin(event, served)
            return None  # which of the two it is takes a key of its own
        unit = event.unit or self._unit(self.tag.text().strip())
        if event.unit is None and unit is not None and _differs(unit, event):
            return self.named.emit(unit)  # it is asked about
        tag, claim = self.tag.text().strip() or self._suggested, self.claim.text().strip()
        if unit is not None:
            self._begin(event, unit)
            return None
        self._answered()
        self.new_unit.emit(event, tag, claim)
        self._show(attend=False)
        return None

    def key_clicked(self, key: str) -> None:
        """A click on a key of the strip; what it does not know the window does."""
        if key == "Tab":
            self.focusNextPrevChild(True)
        elif not self.take_key(key):
            cast(TakesClicks, self.window()).key_clicked(key)

    def _begin(self, event: DeviceAppeared, unit: Unit) -> None:
        if self._stopped(unit):
            return
        visit = self._visit.unfinished(unit.id)
        self._answered()
        self.start.emit(event, unit, visit.kind if visit is not None else self._kind(unit))
        self._show(attend=False)

    def _answered(self) -> None:
        del self._waiting[0]
        self.attended = False

    def _same(self) -> None:
        """It is the unit that is open, whatever was written of it until now."""
        event, unit = self.device, self._open
        if event is None or unit is None:
            return
        device = event.device
        unit = replace(
            unit,
            model=event.model,
            serial=device.serial,
            vendor_id=device.vendor_id,
            product_id=device.product_id,
        )
        self._units.change(unit)
        self._begin(event, unit)

    def take_key(self, key: str) -> bool:
        """A key of the strip, by its name; whether it is one now."""
        event = self.device
        asks = event is not None and event.unit is None and event.described != "nothing" and self._open is not None
        differs = asks and event is not None and bool(_differs(cast("Unit", self._open), event))
        if key == "Enter":
            self.accept()
        elif key == "Esc":
            self.dismiss()
        elif key == "N" and asks:
            self.another.emit()
        elif key == "Y" and differs:
            self._same()
        else:
            return False
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        # a key that is leaned on begins no visit; it goes no further either
        if not event.isAutoRepeat() and not self.take_key(key_of(event)):
            event.ignore()

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Tab goes between tag and claim."""
        if not self._fields.isVisible():
            return True
        (self.claim if has_keys(self.tag) and self.claim.isEnabled() else self.tag).setFocus()
        return True


def _differs(unit: Unit, event: DeviceAppeared) -> str:
    """What of a device is not as it is written of a unit, as the sentence that asks about it; "" if nothing."""
    device = event.device
    ids = (unit.vendor_id, unit.product_id)
    if unit.vendor_id:
        if ids != (device.vendor_id, device.product_id):
            return words.ANOTHER_MODEL
    elif unit.model and not any(_alike(unit.model, name) for name in (event.sheet, device.product)):
        return words.ANOTHER_MODEL
    return words.ANOTHER_SERIAL if unit.serial and device.serial and unit.serial != device.serial else ""


def _alike(written: str, told: str) -> bool:
    """Whether two names of a model may be the same: "Plover T2 black" and "Plover T2"."""
    one, other = written.casefold().strip(), told.casefold().strip()
    return bool(other) and (one in other or other in one)


def _describes_itself(event: DeviceAppeared) -> bool:
    """No sheet fits the device: it is tested as its descriptor says, or taught first."""
    return event.described == "descriptor"


def _unit_words(unit: Unit) -> str:
    if unit.claim:
        told = words.UNIT_OF_MODEL_WITH_CLAIM if unit.model else words.UNIT_WITH_CLAIM
    else:
        told = words.UNIT_OF_MODEL if unit.model else words.UNIT
    return told.format(tag=unit.tag, model=unit.model, claim=unit.claim)


def _device_words(event: DeviceAppeared) -> str:
    device = event.device
    nameless = sheets.DEVICE_OF_IDS.format(vendor=device.vendor_id, product=device.product_id)
    name = device.called or spoken_name(nameless)
    return words.DEVICE.format(name=name, bus=words.BUSES.get(device.bus, device.bus))
