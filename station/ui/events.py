"""What the window does when something happened: draw it, sound it, say it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from station.bench.types import (
    AgainPlease,
    Beat,
    Fault,
    ResultCommitted,
    SessionView,
    SourceBack,
    SourceLost,
    VisitFinished,
    VisitStarted,
)
from station.checks.types import Outcome
from station.errors import StationError
from station.records.types import Unit
from station.sheets.model import Sheet
from station.sources.port import DeviceInfo
from station.ui.checklist.pane import NO_VISIT
from station.ui.lots.ports import LotChanged
from station.ui.panels.bench import SilentPanel
from station.ui.ports import (
    CertificateReady,
    DeskEvent,
    DeviceAppeared,
    DeviceGone,
    RecordChanged,
    Said,
    SheetLearned,
    SilentListed,
)
from station.ui.tags import by_age, lot_of

if TYPE_CHECKING:
    from station.ui.window import MainWindow


class EventRoom:
    """Takes the desk's events in order."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self.device: DeviceInfo | None = None
        self._pending: tuple[str, DeviceInfo] | None = None
        self._held = False
        self._record_waits = False

    def take(self, events: Sequence[DeskEvent]) -> None:
        """A frame's events in order; the record is drawn once, after the last of them."""
        self._held = True
        try:
            for event in events:
                self._take(event)
        finally:
            self._held = False
        if self._record_waits:
            self.draw_record()

    def _take(self, event: DeskEvent) -> None:
        window = self._window
        match event:
            case Beat(at_ns=at_ns):
                window.beat_ns = at_ns
                window.sound.play("beat")
            case ResultCommitted(result=result):
                window.sound.play("fail" if result.assessment.outcome is Outcome.FAIL else "done")
                self.draw_record()
            case AgainPlease():
                window.sound.play("again")
            case SourceLost(message=text):
                window.say(text, bad=True)
                window.sound.play("again")
            case SourceBack():
                window.say("The unit is back; the check goes on.")
            case VisitStarted() | VisitFinished():
                self.draw_record()
            case Fault(message=text):
                window.say(text, bad=True)
            case Said(text=text, bad=bad):
                # whatever was refused is not waited for any longer
                self._pending = None if bad else self._pending
                window.say(text, bad)
            case CertificateReady(path=path, problem="", key=key):
                window.say(f"Certificate written: {path} – signed with key {key}")
                self.draw_record()
            case CertificateReady(path=path, problem=problem):
                window.say(f"Certificate written, but not signed. {problem} It is in {path}", bad=True)
                self.draw_record()
            case SheetLearned(name=name, path=path):
                window.say(f"Sheet “{name}” is in force. Saved: {path}")
            case SilentListed(devices=devices):
                window.open_panel(SilentPanel(window.desk, devices, window.look, window))
            case LotChanged(lot_id=lot_id):
                window.lots.lot_changed(lot_id)
            case RecordChanged(unit_id=unit_id):
                self._record_changed(unit_id)
            case DeviceAppeared():
                self._appeared(event)
            case DeviceGone(device=device):
                window.arrival.gone(device.key)
                self._show_devices()
            case _:
                pass

    # --- devices -------------------------------------------------------------------------------------------

    def _appeared(self, event: DeviceAppeared) -> None:
        window, session = self._window, self._window.session
        self._show_devices()
        busy = (session is not None and session.running) or window.teach.busy
        if event.unit is not None and (session is None or session.finished):
            self.choose_unit(event.unit)
        window.arrival.appeared(event, attend=not busy and window.panel is None and window.view_name() == "bench")
        if busy and not window.teach.busy:
            window.say(f"{event.device.product} was plugged in. P: answer for it.")
        self.show_visit()

    def active_device(self) -> DeviceInfo | None:
        """The device of the running visit: the one that was chosen, or the one with the unit's serial number."""
        session = self._window.session
        if self.device is None and session is not None:
            here = self._window.desk.devices()
            self.device = next((d for d in here if d.serial and d.serial == session.unit.serial), None)
        if self.device is None:
            here = self._window.desk.devices()
            return here[0] if len(here) == 1 else None
        return self.device

    def _show_devices(self) -> None:
        lines = [f"{d.product}: {d.problem or 'plugged in'}" for d in self._window.desk.devices()]
        self._window.splash.set_devices(tuple(lines))

    def start_visit(self, event: DeviceAppeared, unit: Unit, kind: str) -> None:
        """Begin, or go on with, a visit of a unit on the device that appeared."""
        self.begin(unit, event.device, kind)

    def make_unit(self, event: DeviceAppeared, tag: str, claim: str) -> None:
        """A new unit; its visit begins when the records have it."""
        device = event.device
        unit = Unit(
            id="",
            tag=tag,
            model=event.sheet or device.product,
            lot_id=lot_of(tag, by_age(self._window.desk.units())),
            serial=device.serial,
            vendor_id=device.vendor_id,
            product_id=device.product_id,
            sheet=event.sheet,
            claim=claim,
        )
        self._pending = (tag, device)
        self._guarded(lambda: self._window.desk.add_unit(unit))

    def begin(self, unit: Unit, device: DeviceInfo, kind: str) -> None:
        window = self._window
        self.device = device
        self.choose_unit(unit)
        self._guarded(lambda: window.desk.start_visit(unit.id, device, kind))
        window.show_page(0)

    # --- records -------------------------------------------------------------------------------------------

    def choose_unit(self, unit: Unit | None) -> None:
        """Make this the unit whose record is shown."""
        self._window.unit = unit
        self.show_visit()
        self.draw_record()

    def back_to_visit(self) -> None:
        """Show the record of the unit on the bench again, after a look at another one."""
        session, unit = self._window.session, self._window.unit
        if session is not None and unit is not None and not session.finished and unit.id != session.unit.id:
            self.choose_unit(session.unit)

    def visit_changed(self, session: SessionView) -> None:
        """Another visit runs: its unit is the one on the bench."""
        self.choose_unit(session.unit)
        self._window.beat_ns = None
        if self._window.view_name() == "bench":
            self._window.show_page(0)

    def show_visit(self) -> None:
        """Checklist and header: the running visit; without one, the unit that is shown and what to do for it."""
        window, unit = self._window, self._window.unit
        session = window.session
        over = session is None or session.finished
        shown = None if over and unit is not None and (session is None or session.unit.id != unit.id) else session
        waits = window.arrival.device is not None and window.arrival.device.unit is not None
        window.checklist.set_idle(idle_words(unit, window.desk.sheet(), waits))
        window.checklist.set_session(shown)
        on_bench = session.unit if session is not None and not over else unit
        if unit is None or on_bench is None or on_bench.id == unit.id:
            window.header.set_unit(unit)
            window.record.set_title("")
        else:
            window.header.set_unit(on_bench)
            window.record.set_title(f"{unit.tag} · Esc: back to {on_bench.tag}")

    def draw_record(self) -> None:
        """Read the unit's record anew and draw it; between the events of a frame, after the last of them."""
        self._record_waits = self._held
        if self._held:
            return
        window = self._window
        unit = window.unit
        if unit is None:
            window.record.show_unit(None, (), None, {}, "")
            return
        try:
            history = window.desk.history(unit.id)
            suspects, proposal = window.desk.suspects(unit.id), window.desk.proposal(unit.id)
            certificate = window.desk.certificate(unit.id)
            older = window.desk.older(unit.id)
        except StationError as error:
            window.say(str(error), bad=True)
            return
        session = window.session
        sheet = window.desk.sheet()
        names = {c.id: c.name for c in sheet.controls} if sheet is not None else {}
        running = (
            session.visit.id if session is not None and session.unit.id == unit.id and not session.finished else ""
        )
        window.unit = history.unit
        self.show_visit()
        twins = {c.id: c.twin for c in sheet.controls if c.twin} if sheet is not None else {}
        window.record.show_unit(history, suspects, proposal, names, running, twins, certificate, older)

    def _record_changed(self, unit_id: str) -> None:
        window = self._window
        if self._pending is not None:
            tag, device = self._pending
            unit = next((u for u in window.desk.units(tag) if u.tag == tag), None)
            if unit is not None:
                self._pending = None
                self.begin(unit, device, "intake")
        if window.unit is not None and unit_id in ("", window.unit.id):
            self.draw_record()
        view = window.pages.currentWidget()
        if view in (window.lots, window.shelf, window.due):
            view.fill()

    def _guarded(self, call: object) -> None:
        try:
            call()  # type: ignore[operator]
        except StationError as error:
            self._window.say(str(error), bad=True)


def idle_words(unit: Unit | None, sheet: Sheet | None, waits: bool) -> tuple[str, str, str, str]:
    """What the card says without a visit: title, headline, what to do, keys. `waits`: the strip offers its visit.

    `sheet`: that of the device that is plugged in; without controls when nothing describes it.
    """
    plugged_in = sheet is not None
    if sheet is not None and not sheet.controls:
        do = "A guided walk learns which controls it has."
        return "No visit", "To be taught", do, "F5: teach it · U: find a unit"
    if unit is not None:
        here = "Enter starts its visit" if waits else "V starts a visit" if plugged_in else "Plug it in to check it"
        keys = "V: start a visit · T: treatment · N: note · C: certificate · E: edit"
        return "No visit", unit.tag, f"{here}.", keys
    if plugged_in:
        teach = " · F5: teach it" if sheet is not None and sheet.drawn_up else ""
        keys = f"P: answer above{teach} · U: find a unit"
        return "No visit", "Whose unit is it?", "Say so above: its tag, or Enter.", keys
    return NO_VISIT
