"""Panels of the bench: mark by hand, skip, end the visit, begin one, take a sample unit or a silent device."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QLineEdit, QWidget

from station.bench.types import Finish, MarkByHand, SessionView, Skip, StepView, Strength
from station.capture.types import MAX_MASS_G
from station.checks.strengths import STRENGTHS
from station.checks.types import Outcome
from station.errors import InputError
from station.records.types import VISIT_KINDS, Unit
from station.sources.port import DeviceInfo
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.panel import Panel
from station.ui.ports import DevicePort, UnitPort, UpkeepPort, VisitPort
from station.ui.words import count_of
from station.words import common

MARKS = (Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL)


class MarkPanel(Panel):
    """Set the outcome of the current step by hand; a reason is asked for, because the record keeps it."""

    keys = "1–3: outcome · Tab: reason · Enter: save · Esc: back"

    def __init__(self, visit: VisitPort, view: StepView, look: Look, parent: QWidget) -> None:
        super().__init__(f"Mark by hand: {_step_words(view)}", look, parent)
        self._visit = visit
        self.outcome = ChoiceList([o.value for o in MARKS], look)
        self.reason = QLineEdit()
        self.reason.setPlaceholderText("What you saw or measured")
        self.add(self.outcome, "Outcome", focus=True)
        self.add(self.reason, "Reason (kept in the record and on the certificate)", focus=True)
        self.finish()

    def commit(self) -> None:
        reason = self.reason.text().strip()
        if not reason:
            self.reason.setFocus()
            raise InputError("A mark by hand needs a reason: write what you saw.")
        self._visit.do(MarkByHand(MARKS[self.outcome.chosen], reason))


class StrengthPanel(Panel):
    """How hard the control at hand is pressed next: light, normal or firm, by the finger or by a known mass."""

    keys = "1–3: strength · Tab: mass · Enter: make it the next check · Esc: back"

    def __init__(self, visit: VisitPort, session: SessionView, look: Look, parent: QWidget) -> None:
        step = session.steps[session.current].step
        here = any(v.step.control == step.control for v in session.steps if v.step.strength is not None)
        super().__init__(f"How hard to press: {step.control_name if here else 'the button pressed last'}", look, parent)
        self._visit = visit
        self.strength = ChoiceList(STRENGTHS, look, STRENGTHS.index(step.strength or "firm"))
        self.mass = QLineEdit("" if step.mass_g is None else f"{step.mass_g:g}")
        self.mass.setPlaceholderText("none: the finger presses")
        self.add(self.strength, "Strength", focus=True)
        self.add(self.mass, "Mass set on the control instead of the finger, in grams", focus=True)
        self.finish()

    def commit(self) -> None:
        self._visit.do(Strength(STRENGTHS[self.strength.chosen], self._mass_g()))

    def _mass_g(self) -> float | None:
        text = self.mass.text().strip().lower().removesuffix("g").strip().replace(",", ".")
        if not text:
            return None
        try:
            mass_g = float(text)
        except ValueError:
            mass_g = 0.0
        if not 0 < mass_g <= MAX_MASS_G:
            self.mass.setFocus()
            raise InputError(f"Write the mass in grams, more than 0 and at most {MAX_MASS_G:g}, like 160.")
        return mass_g


class SkipPanel(Panel):
    """Leave the current step undone, with a reason."""

    keys = "1–4: reason · or write your own · Enter: skip · Esc: back"
    reasons = ("no time now", "part is missing", "not on this unit", "cannot be reached")

    def __init__(self, visit: VisitPort, view: StepView, look: Look, parent: QWidget) -> None:
        super().__init__(f"Skip: {_step_words(view)}", look, parent)
        self._visit = visit
        self.choice = ChoiceList(self.reasons, look)
        self.own = QLineEdit()
        self.own.setPlaceholderText("Another reason")
        self.add(self.choice, "Reason", focus=True)
        self.add(self.own, focus=True)
        self.finish()

    def commit(self) -> None:
        self._visit.do(Skip(self.own.text().strip() or self.reasons[self.choice.chosen]))


class FinishPanel(Panel):
    """End the visit; what is not done stays not done."""

    keys = "Enter: end the visit · Esc: back"

    def __init__(self, visit: VisitPort, session: SessionView, look: Look, parent: QWidget) -> None:
        super().__init__("End this visit?", look, parent)
        self._visit = visit
        left = sum(v.state != "done" for v in session.steps)
        text = "Every check is done." if not left else f"{count_of(left, 'check')} stay “not done”."
        self.add(plain_label(text, wrap=True))
        self.finish()

    def commit(self) -> None:
        self._visit.do(Finish())


class VisitPanel(Panel):
    """Choose the kind of visit for the unit at hand."""

    keys = "1–4: kind · Enter: start · Esc: back"

    def __init__(self, unit: Unit, proposed: str, start: Callable[[str], None], look: Look, parent: QWidget) -> None:
        super().__init__(f"Start a visit for {unit.tag}", look, parent)
        self._start = start
        chosen = VISIT_KINDS.index(proposed) if proposed in VISIT_KINDS else 0
        self.kind = ChoiceList(tuple(common.VISIT_KINDS[k] for k in VISIT_KINDS), look, chosen)
        self.add(self.kind, "Kind of visit", focus=True)
        self.finish()

    def commit(self) -> None:
        self._start(VISIT_KINDS[self.kind.chosen])


class SamplePanel(Panel):
    """Plug in a simulated sample unit."""

    keys = "a number or the arrows: unit · Enter: plug in · Esc: back"

    def __init__(self, devices: DevicePort, look: Look, parent: QWidget) -> None:
        super().__init__("Plug in a simulated sample unit", look, parent)
        self._devices, self._names = devices, tuple(devices.samples())
        self.choice = ChoiceList(self._names, look, columns=2 if len(self._names) > 8 else 1)
        if self._names:
            self.add(self.choice, focus=True)
        else:
            self.add_nothing("No sample units are installed beside the program.")
        self.finish()

    def commit(self) -> None:
        if self._names:
            self._devices.plug_in_sample(self._names[self.choice.chosen])


class SilentPanel(Panel):
    """Take a device for a game controller that does not say so."""

    keys = "a number or the arrows: device · Enter: that one is a game controller · Esc: back"

    def __init__(self, port: DevicePort, devices: Sequence[DeviceInfo], look: Look, parent: QWidget) -> None:
        super().__init__("A device that does not say what it is", look, parent)
        self._port, self._devices = port, tuple(devices)
        self.choice = ChoiceList([_device_words(d) for d in self._devices], look)
        if self._devices:
            self.add(plain_label("None of these is opened until you choose it.", wrap=True))
            self.add(self.choice, focus=True)
        else:
            words = "No such device is there. Some units have another mode: a switch, or a key held while plugging in."
            self.add_nothing(words)
        self.finish()

    def commit(self) -> None:
        if self._devices:
            self._port.open_silent(self._devices[self.choice.chosen])


def _device_words(device: DeviceInfo) -> str:
    serial = f", {device.serial}" if device.serial else ""
    return f"{device.product or 'nameless device'}, {device.vendor_id:04x}:{device.product_id:04x}{serial}"


class BackupPanel(Panel):
    """Put a back-up of the records in their place; what is there now is set aside."""

    keys = "a number or the arrows: back-up · Enter: put it in place · Esc: back"
    most = 10

    def __init__(self, upkeep: UpkeepPort, look: Look, parent: QWidget) -> None:
        super().__init__("Put a back-up in the place of the records", look, parent)
        self._upkeep, self._names = upkeep, tuple(upkeep.backups())[: self.most]
        self.choice = ChoiceList(self._names, look)
        if self._names:
            self.add(plain_label("The records until now are set aside, not lost. A running visit stops.", wrap=True))
            self.add(self.choice, focus=True)
        else:
            self.add_nothing("There is no back-up yet; one is made each day the program runs.")
        self.finish()

    def commit(self) -> None:
        if self._names:
            self._upkeep.restore(self._names[self.choice.chosen])


class FindPanel(Panel):
    """Find a unit by tag, model or serial number."""

    keys = "type a part of tag, model or serial · arrows: choose · Enter: open · Esc: back"
    most = 9

    def __init__(self, units: UnitPort, take: Callable[[Unit], None], look: Look, parent: QWidget) -> None:
        super().__init__("Find a unit", look, parent)
        self._records, self._take = units, take
        self._units: tuple[Unit, ...] = ()
        self.search = QLineEdit()
        self.search.setPlaceholderText("Tag, model or serial number")
        self.list = ChoiceList((), look)
        self.add(self.search, focus=True)
        self._none = plain_label("No unit is called that.", "dim")
        self.add(self._none)
        self.search.textChanged.connect(self._look_up)
        self.finish()
        self._look_up("")

    def _look_up(self, text: str) -> None:
        self._units = tuple(self._records.find(text.strip()))[: self.most]
        old, self.list = self.list, ChoiceList([f"{u.tag}   {u.model}" for u in self._units], self.look)
        self.box.removeWidget(old)
        old.deleteLater()
        if old in self._order:
            self._order.remove(old)
        self.box.insertWidget(self.box.indexOf(self._none), self.list)
        self._order.append(self.list)
        self.list.taken.connect(self.accept)
        self._none.setVisible(not self._units)
        self.place()

    def keyPressEvent(self, event: object) -> None:
        from PySide6.QtCore import Qt

        key = event.key()  # type: ignore[attr-defined]
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.list.choose(self.list.chosen + (1 if key == Qt.Key.Key_Down else -1))
            return
        super().keyPressEvent(event)  # type: ignore[arg-type]

    def commit(self) -> None:
        if not self._units:
            raise InputError("No unit is called that; type another part of its tag.")
        self._take(self._units[self.list.chosen])


def _step_words(view: StepView) -> str:
    name = view.step.control_name or "whole unit"
    return f"{name}, {view.step.title[:1].lower()}{view.step.title[1:]}"
