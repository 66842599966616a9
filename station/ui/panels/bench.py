"""Panels of the bench: mark by hand, skip, end the visit, begin one, take a sample unit or a silent device."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from station.bench.counted import counts_of
from station.bench.types import Finish, LongForm, MarkByHand, SessionView, Skip, StepView, Strength
from station.capture.types import MAX_MASS_G
from station.checks.strengths import STRENGTHS
from station.checks.types import Outcome
from station.errors import InputError
from station.records.types import VISIT_KINDS, Unit, Visit
from station.sources.port import DeviceInfo
from station.ui.keys import key_of
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.panel import Panel, for_tag
from station.ui.ports import DevicePort, UnitPort, UpkeepPort, VisitPort
from station.words import checks, common, figures, grammar
from station.words import devices as device_words
from station.words import panels as words

MARKS = (Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL)


class MarkPanel(Panel):
    """Set the outcome of the current step by hand; a reason is asked for, because the record keeps it."""

    keys = words.MARK_KEYS

    def __init__(self, visit: VisitPort, view: StepView, look: Look, parent: QWidget) -> None:
        super().__init__(words.MARK.format(step=_step_words(view)), look, parent)
        self._visit, self._step = visit, view.step
        self.outcome = ChoiceList([common.OUTCOMES[o.value] for o in MARKS], look)
        self.reason = QLineEdit()
        self.reason.setPlaceholderText(words.MARK_REASON_HINT)
        self.add(self.outcome, words.MARK_OUTCOME, focus=True)
        self.add(self.reason, words.MARK_REASON, focus=True)
        self.finish()

    def commit(self) -> None:
        reason = self.reason.text().strip()
        if not reason:
            self.reason.setFocus()
            raise InputError(words.MARK_NEEDS_REASON)
        of = self._step.check, self._step.control  # the run goes on behind the panel
        self._visit.do(MarkByHand(MARKS[self.outcome.chosen], reason, of))


class StrengthPanel(Panel):
    """How the control at hand is pressed next: light, normal or firm, by the finger or by a known mass; or lightly in
    the long form."""

    keys = words.STRENGTH_KEYS

    def __init__(self, visit: VisitPort, session: SessionView, look: Look, parent: QWidget) -> None:
        step = session.steps[session.current].step
        here = any(v.step.control == step.control for v in session.steps if v.step.strength is not None)
        title = words.STRENGTH.format(control=step.control_name) if here else words.STRENGTH_LAST_BUTTON
        super().__init__(title, look, parent)
        self._visit = visit
        self.strength = ChoiceList(
            [*(checks.STRENGTHS[s] for s in STRENGTHS), words.STRENGTH_LONG],
            look,
            STRENGTHS.index(step.strength or "firm"),
        )
        self.mass = QLineEdit("" if step.mass_g is None else f"{step.mass_g:g}")
        self.mass.setPlaceholderText(words.STRENGTH_NO_MASS)
        self.add(self.strength, words.STRENGTH_CHOICE, focus=True)
        self.add(self.mass, words.STRENGTH_MASS, focus=True)
        self.finish()

    def commit(self) -> None:
        mass_g = self._mass_g()
        if self.strength.chosen < len(STRENGTHS):
            self._visit.do(Strength(STRENGTHS[self.strength.chosen], mass_g))
        elif mass_g is None:
            self._visit.do(LongForm())
        else:
            raise self.wrong(self.mass, words.LONG_BY_FINGER)

    def _mass_g(self) -> float | None:
        text = self.mass.text().strip().lower().removesuffix("g").strip().replace(",", ".")
        if not text:
            return None
        try:
            mass_g = float(text)
        except ValueError:
            mass_g = 0.0
        if not 0 < mass_g <= MAX_MASS_G:
            raise self.wrong(self.mass, words.MASS_OUT_OF_RANGE.format(most=MAX_MASS_G))
        return mass_g


class SkipPanel(Panel):
    """Leave the current step undone, with a reason."""

    keys = words.SKIP_KEYS

    def __init__(self, visit: VisitPort, view: StepView, look: Look, parent: QWidget) -> None:
        super().__init__(words.SKIP.format(step=_step_words(view)), look, parent)
        self._visit, self._step = visit, view.step
        self.choice = ChoiceList(words.SKIP_REASONS, look)
        self.own = QLineEdit()
        self.own.setPlaceholderText(words.SKIP_OWN_REASON)
        self.add(self.choice, words.REASON, focus=True)
        self.add(self.own, focus=True)
        self.finish()

    def commit(self) -> None:
        reason = self.own.text().strip() or words.SKIP_REASONS[self.choice.chosen]
        self._visit.do(Skip(reason, (self._step.check, self._step.control)))


class FinishPanel(Panel):
    """End the visit; what is not done stays not done."""

    keys = words.FINISH_KEYS

    def __init__(self, visit: VisitPort, session: SessionView, look: Look, parent: QWidget) -> None:
        super().__init__(words.FINISH, look, parent)
        self._visit = visit
        left = counts_of(session.steps).left
        stays = grammar.plural(left, words.FINISH_LEFT).format(count=left, not_done=common.OUTCOMES["not done"])
        self.add(plain_label(stays if left else words.FINISH_ALL_DONE, wrap=True))
        self.finish()

    def commit(self) -> None:
        self._visit.do(Finish())


class VisitPanel(Panel):
    """Choose the kind of visit for the unit at hand; one that is `unfinished` goes on, and leaves nothing to choose."""

    keys = words.VISIT_KEYS

    def __init__(
        self,
        unit: Unit,
        proposed: str,
        start: Callable[[str], None],
        look: Look,
        parent: QWidget,
        unfinished: Visit | None = None,
    ) -> None:
        if unfinished is not None:
            self.keys = words.VISIT_OPEN_KEYS
        super().__init__(words.VISIT.format(tag=unit.tag), look, parent)
        self._start, self._unfinished = start, unfinished
        if unfinished is not None:
            kind, begun = common.VISIT_KINDS[unfinished.kind], figures.when(unfinished.started_at)
            self.add(plain_label(words.VISIT_OPEN.format(kind=kind, begun=begun), wrap=True))
            self.finish()
            return
        chosen = VISIT_KINDS.index(proposed) if proposed in VISIT_KINDS else 0
        self.kind = ChoiceList(tuple(common.VISIT_KINDS[k] for k in VISIT_KINDS), look, chosen)
        self.add(self.kind, words.VISIT_KIND, focus=True)
        self.finish()

    def commit(self) -> None:
        self._start(self._unfinished.kind if self._unfinished is not None else VISIT_KINDS[self.kind.chosen])


class WhosePanel(Panel):
    """A device that is known to be one unit is asked to serve another. Enter and Space answer nothing: they come too
    easily where results would land on the wrong unit."""

    keys = words.WHOSE_KEYS

    def __init__(self, unit: Unit, owner: Unit, yes: Callable[[], None], look: Look, parent: QWidget) -> None:
        super().__init__(words.WHOSE.format(tag=unit.tag, other=owner.tag), look, parent)
        self._yes = yes
        self.add(plain_label(words.WHOSE_COMES_TO.format(tag=unit.tag, other=owner.tag), wrap=True))
        self.finish()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = key_of(event)
        if key == "Y":
            self.close_panel()
            self._yes()
        elif key == "Esc":
            self.close_panel()


class SamplePanel(Panel):
    """Plug in a simulated sample unit."""

    keys = words.SAMPLE_KEYS

    def __init__(self, devices: DevicePort, look: Look, parent: QWidget) -> None:
        super().__init__(words.SAMPLE, look, parent)
        self._devices, self._names = devices, tuple(devices.samples())
        self.choice = ChoiceList(self._names, look, columns=2 if len(self._names) > 8 else 1)
        if self._names:
            self.add(self.choice, focus=True)
        else:
            self.add_nothing(words.NO_SAMPLES)
        self.finish()

    def commit(self) -> None:
        if self._names:
            self._devices.plug_in_sample(self._names[self.choice.chosen])


class SilentPanel(Panel):
    """Take a device for a game controller that does not say so."""

    keys = words.SILENT_KEYS

    def __init__(self, port: DevicePort, devices: Sequence[DeviceInfo], look: Look, parent: QWidget) -> None:
        super().__init__(words.SILENT, look, parent)
        self._port, self._devices = port, tuple(devices)
        self.choice = ChoiceList([_device_words(d) for d in self._devices], look)
        if self._devices:
            self.add(plain_label(words.SILENT_UNOPENED, wrap=True))
            self.add(self.choice, focus=True)
        else:
            self.add_nothing(words.NO_SILENT)
        self.finish()

    def commit(self) -> None:
        if self._devices:
            self._port.open_silent(self._devices[self.choice.chosen])


def _device_words(device: DeviceInfo) -> str:
    name = device.product or device_words.NAMELESS_IN_LIST
    if not device.serial:
        return words.DEVICE.format(name=name, vendor=device.vendor_id, product=device.product_id)
    return words.DEVICE_WITH_SERIAL.format(
        name=name, vendor=device.vendor_id, product=device.product_id, serial=device.serial
    )


class BackupPanel(Panel):
    """Put a back-up of the records in their place; what is there now is set aside."""

    keys = words.BACK_UP_KEYS
    most = 10

    def __init__(self, upkeep: UpkeepPort, look: Look, parent: QWidget) -> None:
        super().__init__(words.BACK_UP, look, parent)
        self._upkeep, self._names = upkeep, tuple(upkeep.backups())[: self.most]
        self.choice = ChoiceList(self._names, look)
        if self._names:
            self.add(plain_label(words.BACK_UP_SETS_ASIDE, wrap=True))
            self.add(self.choice, focus=True)
        else:
            self.add_nothing(words.NO_BACK_UP)
        self.finish()

    def commit(self) -> None:
        if self._names:
            self._upkeep.restore(self._names[self.choice.chosen])


class FindPanel(Panel):
    """Find a unit by tag, model or serial number."""

    keys = words.FIND_KEYS
    most = 9

    def __init__(self, units: UnitPort, take: Callable[[Unit], None], look: Look, parent: QWidget) -> None:
        super().__init__(words.FIND, look, parent)
        self._records, self._take = units, take
        self._units: tuple[Unit, ...] = ()
        self.search = for_tag(QLineEdit())
        self.search.setPlaceholderText(words.FIND_HINT)
        self.list = ChoiceList((), look)
        self.add(self.search, focus=True)
        self._none = plain_label(words.NOT_FOUND, "dim")
        self.add(self._none)
        self.search.textChanged.connect(self._look_up)
        self.finish()
        self._look_up("")

    def _look_up(self, text: str) -> None:
        self._units = tuple(self._records.find(text.strip()))[: self.most]
        old, self.list = self.list, ChoiceList([f"{u.tag}   {u.model}" for u in self._units], self.look)
        self.box.removeWidget(old)
        old.hide()
        old.deleteLater()
        if old in self._order:
            self._order.remove(old)
        self.box.insertWidget(self.box.indexOf(self._none), self.list)
        self._order.append(self.list)
        self.list.taken.connect(self.accept)
        self.list.setVisible(bool(self._units))  # a layout reckons no room for what is not shown yet
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
            raise InputError(words.NOT_FOUND_TYPE_ON)
        self._take(self._units[self.list.chosen])


def _step_words(view: StepView) -> str:
    control = view.step.control_name or common.WHOLE_UNIT
    return grammar.check_of(words.STEP, control, view.step.title)
