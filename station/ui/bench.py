"""The bench: which unit is on it, which device is plugged in, and how a visit of the one on the other begins."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import cast

from station.bench.checklist import views_of
from station.bench.plan import plan
from station.bench.types import BeginSoon, Finish, Go, PlannedVisit
from station.bench.work import Work
from station.judgement.look import stopped_by, to_look_over
from station.records.types import FIRST_LOOK, Unit, UnitHistory
from station.sheets.model import Sheet
from station.sources.port import DeviceInfo
from station.ui.arrival import ArrivalStrip
from station.ui.checklist.pane import ChecklistPane
from station.ui.frame import Frame, Shown
from station.ui.header import HeaderLine, Splash
from station.ui.live.pane import LivePane
from station.ui.painting.hazards import Cautions
from station.ui.panels.bench import FindPanel, SamplePanel, SilentPanel, VisitPanel, WhosePanel
from station.ui.panels.look import LookPanel
from station.ui.panels.stock import SheetPanel
from station.ui.ports import (
    AdvicePort,
    DeviceAppeared,
    DevicePort,
    SheetPort,
    SilentListed,
    UnitPort,
    VisitPort,
    WorkPort,
)
from station.ui.record.pane import RecordPane
from station.ui.record.room import RecordRoom
from station.ui.tags import by_age, lot_of
from station.ui.visit_kind import proposed_kind
from station.words import arrival, checklist, checks, common, devices, hub, panels, record
from station.words import window as words


@dataclass(frozen=True, slots=True)
class BenchParts:
    """The parts of the window that the room keeps."""

    header: HeaderLine
    splash: Splash
    arrival: ArrivalStrip
    live: LivePane
    checklist: ChecklistPane
    record: RecordPane


class BenchRoom:
    """Keeps header, strip, checklist and record to the unit that is shown."""

    def __init__(
        self,
        devices: DevicePort,
        visit: VisitPort,
        units: UnitPort,
        sheets: SheetPort,
        advice: AdvicePort,
        frame: Frame,
        shown: Shown,
        parts: BenchParts,
        record: RecordRoom,
        left_alone: Callable[[], Collection[str]],
        work: WorkPort,
        cautions: Cautions,
        lot_in_front: Callable[[], str | None],
    ) -> None:
        self._work, self._cautions, self._lot_in_front = work, cautions, lot_in_front
        self._clock_wanted = ""
        """the unit whose work has just begun"""
        self._recheck_of = ""
        """the unit whose re-check begins with its visit"""
        self._asked_of = ""
        """the unit of which a key asked for a visit"""
        self._next: tuple[Unit, DeviceInfo, str] | None = None
        """the visit that begins when the one on the bench has ended"""
        record.work_begun, record.work_done = self._work_begun, self._work_done
        record.work_dropped = self._work_dropped
        self._left_alone = left_alone
        self._devices, self._visit, self._units, self._sheets = devices, visit, units, sheets
        self._advice = advice
        self._frame, self._shown, self._parts, self._record = frame, shown, parts, record
        self._arrival = parts.arrival
        self.device: DeviceInfo | None = None
        """the device that a visit was asked for on"""
        self._begun_on = ""
        """its key, while it is plugged in"""
        self._waits: tuple[int, str, DeviceInfo | None] | None = None
        """a unit that is being written up, for a device or to be opened: the number of the answer, its tag, the
        device"""
        self._seen: dict[str, DeviceAppeared] = {}
        """key → what is known of each device that is plugged in"""
        self._units_on: dict[str, Unit] = {}
        """key → the unit that a visit was begun of on it, while it is plugged in"""
        self._fronted = ""
        """the key of the device that is being brought to the front"""
        self._opened = ""
        """the id of the unit that was opened by hand and had no device since"""
        self._silent = 0
        """the number of the answer to who is silent; 0 when nobody waits for it"""
        self._held = self._record_waits = False
        self._planned_for, self._planned = "", cast("PlannedVisit | None", None)
        parts.arrival.start.connect(self.start_visit)
        parts.arrival.new_unit.connect(self.make_unit)
        parts.arrival.another.connect(self._is_another)
        parts.arrival.named.connect(self.open_unit)
        parts.arrival.left.connect(self._arrival_left)

    # --- devices -------------------------------------------------------------------------------------------

    def appeared(self, event: DeviceAppeared) -> None:
        """A device was plugged in and is asked about, unless it has left meanwhile."""
        shown, teaching = self._shown, self._shown.lesson is not None
        self._show_devices()
        key = event.device.key
        begun = self._units_on.get(key)
        if begun is not None and (event.unit is None or event.unit.id != begun.id):
            event = replace(event, unit=begun)
        self._seen[key] = event
        if key == self._begun_on:
            return self.show_visit()  # opened for the visit that begins on it
        if key == self._fronted and self._came_to_front(event):
            return None
        busy = shown.checking or teaching
        if event.unit is not None and shown.visit_unit() is None:
            if self._opened and shown.unit is not None and event.unit.id != shown.unit.id:
                said = arrival.IS_ANOTHER_UNIT.format(plugged=event.unit.tag, open=shown.unit.tag)
                self._frame.say(said)
            self.choose_unit(event.unit)
        free = not busy and not self._frame.panel_open() and self._frame.view_name() == "bench"
        self._arrival.appeared(event, attend=free)
        if busy and not teaching:
            self._frame.say(words.WAS_PLUGGED_IN.format(device=event.device.called))
        self.show_visit()
        return None

    def gone(self, device: DeviceInfo) -> None:
        """A device was unplugged: nothing is asked about it any more."""
        if self._waits is not None and self._waits[2] is not None and self._waits[2].key == device.key:
            self._waits = None
        if self._begun_on == device.key:
            self._begun_on = ""
        self._seen.pop(device.key, None)
        self._units_on.pop(device.key, None)  # what is in that socket next may be another
        self._arrival.gone(device.key)
        self._show_devices()
        self.show_visit()

    def taught(self) -> None:
        """A sheet was learned: the visit on the device stopped for that, and the strip offers to go on with it."""
        self._begun_on = ""

    # --- several pads at a hub -----------------------------------------------------------------------------

    def moved(self, device: DeviceInfo) -> None:
        """A pad beside the front was picked up: it comes to the front, unless that would take something away."""
        shown = self._shown
        taken = shown.checking or shown.lesson is not None or self._frame.panel_open()
        if not taken and self._frame.view_name() == "bench":
            self._bring(device.key)

    def bring(self, unit: Unit) -> bool:
        """The pad that this unit is comes to the front, if it is plugged in beside it."""
        for key, event in self._seen.items():
            known = self._units_on.get(key) or event.unit
            if known is not None and known.id == unit.id:
                return self._bring(key)
        return False

    def _bring(self, key: str) -> bool:
        event, front = self._seen.get(key), self._front()
        if event is None or len(self._seen) < 2 or key == front or event.device.bus == "simulated":
            return False
        self._fronted, self._begun_on = key, ""
        self._devices.to_front(event.device)
        return True

    def _came_to_front(self, event: DeviceAppeared) -> bool:
        """Its visit goes on by itself if it was begun on this very pad; else the strip asks. Whether nothing is to be
        asked."""
        self._fronted, self.device = "", event.device
        self._arrival.gone(event.device.key)
        unit = event.unit
        if unit is None:
            return False
        visit = self._visit.unfinished(unit.id) if event.device.key in self._units_on else None
        if visit is None:
            self.choose_unit(unit)
            return False
        self.begin(unit, event.device, visit.kind, asked=False)
        self._frame.say(hub.AT_THE_FRONT.format(tag=unit.tag))
        return True

    def _front(self) -> str:
        device = self.active_device()
        return device.key if device is not None else ""

    def pads(self) -> tuple[str, tuple[str, ...]]:
        """What the pad at the front is called, and what the others are; no others while there is one."""
        names = {key: _pad_words(event, self._units_on.get(key)) for key, event in self._seen.items()}
        front = self._front()
        first = front if front in names else next(iter(names), "")
        return names.get(first, ""), tuple(name for key, name in names.items() if key != first)

    def active_device(self) -> DeviceInfo | None:
        """The device of the running visit: the one that was chosen, or the one with the unit's serial number."""
        session, here = self._shown.session, self._devices.devices()
        if self.device is None and session is not None:
            self.device = next((d for d in here if d.serial and d.serial == session.unit.serial), None)
        if self.device is None:
            return here[0] if len(here) == 1 else None
        return self.device

    def _show_devices(self) -> None:
        here = self._devices.devices()
        lines = (words.DEVICE_STATE.format(device=d.called, state=d.problem or words.PLUGGED_IN) for d in here)
        self._parts.splash.set_devices(tuple(lines))

    def silent_listed(self, event: SilentListed) -> None:
        """Let the person choose; an answer that nobody waits for any more is dropped."""
        if event.answers == self._silent:
            self._silent = 0
            if not self._frame.panel_open():
                self._frame.open_panel(lambda look, over: SilentPanel(self._devices, event.devices, look, over))

    # --- beginning a visit ---------------------------------------------------------------------------------

    def start_visit(self, event: DeviceAppeared, unit: Unit, kind: str) -> None:
        """Begin, or go on with, a visit of a unit on the device that appeared."""
        self.begin(unit, event.device, kind)

    def make_unit(self, event: DeviceAppeared, tag: str, claim: str) -> None:
        """A new unit; its visit begins when the records have it."""
        device = event.device
        unit = Unit(
            id="",
            tag=tag,
            model=event.model,
            lot_id=lot_of(tag, by_age(self._units.find())) or self._lot_in_front(),
            serial=device.serial,
            vendor_id=device.vendor_id,
            product_id=device.product_id,
            sheet=event.sheet,
            claim=claim,
        )
        self._waits = (self._units.add(unit), tag, device)

    def open_when_written(self, answers: int, tag: str) -> None:
        """A unit is being written up by hand; it is opened when the records have it."""
        self._waits = (answers, tag, None)

    def begin(self, unit: Unit, device: DeviceInfo, kind: str, *, asked: bool = True) -> None:
        """Begin, or go on with, a visit. Whether what is known to be another unit is this one is asked first.

        `asked`: a key asked for it, so that its first step begins by itself.
        """
        owner = self._visit.whose(device)
        if owner is not None and owner.id != unit.id:

            def yes() -> None:
                self._visit.is_unit(device, unit)
                self.begin(unit, device, kind, asked=asked)

            self._frame.open_panel(lambda look, over: WhosePanel(unit, owner, yes, look, over))
            return
        if sign := stopped_by(self._units.history(unit.id)):
            self.choose_unit(unit)
            self._frame.say(words.STOPPED.format(tag=unit.tag, sign=checks.LOOK_SIGNS.get(sign, sign)), bad=True)
            return
        self._next = None
        self._arrival.gone(device.key)  # whoever asked for the visit, whose the device is needs no answer any more
        self.device, self._begun_on, self._opened = device, device.key, ""
        self._units_on[device.key] = unit
        self._asked_of = unit.id if asked else ""
        self.choose_unit(unit)
        self._visit.start(unit.id, device, kind)
        self._frame.show_view("bench")

    def refused(self, answers: int) -> None:
        """What was asked for with this number is not waited for any longer."""
        self._record.refused(answers)
        if self._waits is not None and self._waits[0] == answers:
            self._waits = None

    # --- the unit that is shown ------------------------------------------------------------------------------

    def choose_unit(self, unit: Unit | None) -> None:
        """Make this the unit whose record is shown."""
        self._shown.unit = unit
        self.show_visit()
        self.draw_record()

    def open_unit(self, unit: Unit) -> None:
        """Show a unit's record on the bench view; what is plugged in next may be it."""
        on_bench = self._shown.visit_unit()
        self._opened = unit.id if on_bench is None or on_bench.id != unit.id else ""
        self.choose_unit(unit)
        self._frame.show_view("bench")

    def back_to_visit(self) -> None:
        """Show the record of the unit on the bench again, after a look at another one."""
        on_bench, unit = self._shown.visit_unit(), self._shown.unit
        if on_bench is not None and unit is not None and unit.id != on_bench.id:
            self.choose_unit(on_bench)

    def visit_changed(self, unit: Unit) -> None:
        """Another visit runs: its unit is the one on the bench."""
        self.choose_unit(unit)
        self._shown.beat_ns = None
        if self._frame.view_name() == "bench":
            self._frame.show_view("bench")
        self._begin_first(unit)

    def show_visit(self) -> None:
        """Checklist and header: the running visit; without one, the unit that is shown and what to do for it."""
        unit, session = self._shown.unit, self._shown.session
        over = session is None or session.finished
        if over and self._next is not None:
            (of, device, kind), self._next = self._next, None
            self.begin(of, device, kind)
        idle = over and unit is not None and (session is None or session.unit.id != unit.id)
        alone = unit is not None and unit.id in self._left_alone()
        wants = unit is not None and unit.id == self._opened and not alone
        self._arrival.serve(unit if wants else None)
        self._arrival.set_far(self._shown.visit_unit() is not None)
        offered = self._arrival.unit
        waits = offered is not None and unit is not None and offered.id == unit.id
        nothing = unit is None and session is None and not self._devices.devices()  # what was here is unplugged
        planned = self._plan(unit) if (idle or session is None) and not nothing else None
        here = unit is None or self._shown.visit_unit() is not None or bool(self._devices_for(unit))
        history = self._to_look_over()
        look = look_words(history.unit, stopped_by(history)) if history is not None else None
        if unit is not None and (work := self._work.of_unit(unit.id)) is not None:
            look = work_words(unit, work)
        sheet = self._sheets.sheet() if here and not nothing else None
        self._parts.checklist.set_idle(look or idle_words(unit, sheet, waits, alone), planned)
        self._parts.checklist.set_session(None if idle else session)
        self._parts.live.set_here(here)
        on_bench = self._shown.visit_unit() or unit
        if unit is None or on_bench is None or on_bench.id == unit.id:
            self._parts.header.set_unit(unit)
            self._parts.record.set_title("")
        else:
            self._parts.header.set_unit(on_bench)
            self._parts.record.set_title(record.OTHER_UNIT.format(tag=unit.tag, on_bench=on_bench.tag))

    def _plan(self, unit: Unit | None) -> PlannedVisit | None:
        """What the next visit of this unit asks; without one, what a first look at the device asks that is here."""
        if unit is None or unit.id != self._planned_for:
            self._planned_for, self._planned = unit.id if unit is not None else "", None
        known = self._advice.plan(unit.id) if unit is not None else None
        self._planned = known or self._planned  # what was known stands while it is worked out anew
        sheet, own = self._sheets.sheet(), self._advice.sheet(unit.id) if unit is not None else None
        unseen = unit is None or (own is not None and not own.controls)
        if self._planned is None and unseen and sheet is not None and sheet.controls:
            return PlannedVisit(FIRST_LOOK, views_of(plan(sheet, FIRST_LOOK)))
        return self._planned

    @contextmanager
    def drawn_once(self) -> Iterator[None]:
        """Whatever asks for the record to be drawn meanwhile, it is drawn once, at the end."""
        self._held = True
        try:
            yield
        finally:
            self._held = False
        if self._record_waits:
            self.draw_record()

    def draw_record(self) -> None:
        """The record of the unit that is shown, read anew."""
        self._record_waits = self._held
        if self._held:
            return
        self._record.draw()
        if self._shown.unit is not None:
            self.show_visit()

    def record_changed(self, unit_id: str, answers: int) -> None:
        """A change of the records was committed; `unit_id` empty: of no single unit."""
        if self._waits is not None and self._waits[0] == answers:
            (_, tag, device), self._waits = self._waits, None
            unit = next((u for u in self._units.find(tag) if u.tag == tag), None)
            if unit is not None and device is not None:
                self.begin(unit, device, FIRST_LOOK)
            elif unit is not None:
                self.open_unit(unit)
        if self._shown.unit is not None and unit_id in ("", self._shown.unit.id):
            self.draw_record()
            self._show_clock(self._shown.unit)

    # --- keys ------------------------------------------------------------------------------------------------

    def visit(self) -> None:
        """Start a visit for the unit that is shown, on the device that is there."""
        event = self._arrival.device
        unit, device = self._nearest()
        device = device or self._of_another(unit)
        if unit is None or device is None:
            several = unit is not None and self._devices_for(unit)
            self._frame.say(words.WHICH_DEVICE if several else words.PLUG_IN_FIRST)
            return
        if self._shown.visit_unit() is not None and not self._shown.all_done():
            self._frame.say(words.VISIT_UNDER_WAY)
            return
        kind = self._kind_for(unit)

        def start(chosen: str) -> None:
            if event is not None and event.device.key == device.key:
                self._arrival.dismiss()
            if self._shown.all_done():  # it wanted no more than that
                self._next = unit, device, chosen
                self._visit.do(Finish())
            else:
                self.begin(unit, device, chosen)

        goes_on = None if self._shown.all_done() else self._visit.unfinished(unit.id)
        self._frame.open_panel(lambda look, over: VisitPanel(unit, kind, start, look, over, goes_on))

    def at_hand(self) -> tuple[Unit, DeviceInfo, str] | None:
        """The unit at the front, the device that it is, and the kind of visit that lies nearest for it."""
        unit, device = self._shown.visit_unit(), self.active_device()
        if unit is None or device is None:
            unit, device = self._nearest()
        if unit is None or device is None:
            return None
        return unit, device, self._kind_for(unit)

    def _kind_for(self, unit: Unit) -> str:
        """The kind of visit that lies nearest for a unit."""
        return proposed_kind(self._units.history(unit.id), self._units.today(), self._advice.sheet(unit.id))

    def _nearest(self) -> tuple[Unit | None, DeviceInfo | None]:
        """The unit that a visit would be of, and the one device that may be it."""
        event, offered = self._arrival.device, self._arrival.unit
        if event is not None and offered is not None:
            return offered, event.device
        here = self._devices_for(self._shown.unit)
        return self._shown.unit, here[0] if len(here) == 1 else None

    def let_go(self) -> None:
        """The unit at the front leaves it."""
        self.device = None
        if self._arrival.device is not None:
            self._arrival.dismiss()

    def _devices_for(self, unit: Unit | None) -> tuple[DeviceInfo, ...]:
        """What is plugged in and may be the unit: the one chosen, else those of its serial number, else all."""
        here = [d for d in self._devices.devices() if unit is None or (_may_be(unit, d) and self._is_free(unit, d))]
        chosen = [d for d in here if d == self.device]
        named = [d for d in here if d.serial and unit is not None and d.serial == unit.serial]
        return tuple(chosen if len(chosen) == 1 else named or here)

    def _is_free(self, unit: Unit, device: DeviceInfo) -> bool:
        owner = self._visit.whose(device)
        return owner is None or owner.id == unit.id

    def _of_another(self, unit: Unit | None) -> DeviceInfo | None:
        """The one device that is plugged in and could be this unit but for being known as another."""
        here = [d for d in self._devices.devices() if unit is not None and _may_be(unit, d)]
        return here[0] if unit is not None and len(here) == 1 and not self._is_free(unit, here[0]) else None

    def _to_look_over(self) -> UnitHistory | None:
        """The unit that is shown, where it is not plugged in and waits to be looked over; else None."""
        history, unit = self._record.history, self._shown.unit
        if unit is None or history is None or history.unit.id != unit.id or unit.id in self._left_alone():
            return None
        busy = self._shown.visit_unit() is not None or self._arrival.device is not None
        if busy or (self._devices_for(unit) and not stopped_by(history)) or not to_look_over(history):
            return None
        return history

    def _work_begun(self, unit: Unit) -> None:
        """It is opened or cleaned now: what its visit had still to test is another unit afterwards. The visit is put
        aside with the begin of the work and ends with its end."""
        on_bench = self._shown.visit_unit()
        if on_bench is not None and on_bench.id == unit.id:
            self._frame.say(words.WORK_PAUSES_VISIT.format(tag=unit.tag))
        self._clock_wanted = unit.id

    def _work_done(self, unit: Unit) -> None:
        """The re-check begins, where the unit is there."""
        here = self._devices_for(unit)
        on_bench = self._shown.visit_unit()
        if len(here) == 1 and (on_bench is None or on_bench.id == unit.id):
            self._recheck_of = unit.id
            self.begin(unit, here[0], "after treatment")
        else:
            self._frame.say(words.PLUG_IN_FOR_RECHECK.format(tag=unit.tag))

    def _work_dropped(self, unit: Unit) -> None:
        """It did not come to it: the visit that was put aside for it goes on, where the unit is there."""
        visit, here = self._visit.unfinished(unit.id), self._devices_for(unit)
        if visit is not None and len(here) == 1 and self._shown.visit_unit() is None:
            self.begin(unit, here[0], visit.kind)

    def _begin_first(self, unit: Unit) -> None:
        """The Enter that asked for the visit begins its first step, too; the one that ended the work at once."""
        session = self._shown.session
        recheck, asked = self._recheck_of == unit.id, self._asked_of == unit.id
        self._recheck_of = self._asked_of = ""
        if session is None or self._parts.checklist.card.cautioned:  # a caution is read first
            return
        if recheck and session.visit.kind == "after treatment":
            self._visit.do(Go())
        elif asked:
            self._visit.do(BeginSoon())

    def _show_clock(self, unit: Unit) -> None:
        """The work that has just begun is in the records: its clock."""
        work = self._work.of_unit(unit.id)
        if self._clock_wanted == unit.id and work is not None and not self._frame.panel_open():
            self._clock_wanted = ""
            self._record.show_work(unit, work)

    def look_over(self, good: bool) -> bool:
        """The answer to the look before the plug; False where nothing is asked."""
        history = self._to_look_over()
        if history is None:
            return False
        unit = history.unit
        kind = self._kind_for(unit)
        if good:
            self._visit.look_over(unit.id, kind)
        else:
            cautions = self._cautions
            self._frame.open_panel(
                lambda look, over: LookPanel(
                    unit.tag, cautions, lambda sign: self._visit.look_over(unit.id, kind, sign), look, over, worn=False
                )
            )
        return True

    def find(self) -> None:
        self._frame.open_panel(lambda look, over: FindPanel(self._units, self.open_unit, look, over))

    def sample(self) -> None:
        self._frame.open_panel(lambda look, over: SamplePanel(self._devices, look, over))

    def silent(self) -> None:
        self._silent = self._devices.list_silent()

    def attend(self) -> None:
        self._arrival.attend()

    def save_sheet(self) -> None:
        if self._sheets.sheet() is None:
            self._frame.say(panels.SHEET_NEEDS_UNIT)
        else:
            self._frame.open_panel(lambda look, over: SheetPanel(self._sheets, look, over))

    def _is_another(self) -> None:
        self._opened = ""
        self.show_visit()
        self._arrival.attend()

    def _arrival_left(self) -> None:
        self.show_visit()
        self._frame.take_focus()


def _may_be(unit: Unit, device: DeviceInfo) -> bool:
    """Whether nothing that is known of the two speaks against it."""
    if unit.vendor_id and (unit.vendor_id, unit.product_id) != (device.vendor_id, device.product_id):
        return False
    return not unit.serial or not device.serial or unit.serial == device.serial


def work_words(unit: Unit, work: Work) -> tuple[str, str, str, str]:
    """What the card says of a unit that is being treated."""
    treatment = common.TREATMENT_KINDS.get(work.treatment.kind, work.treatment.kind)
    told = checklist.UNDER_WAY.format(treatment=treatment)
    return checklist.UNIT_WITHOUT_VISIT, unit.tag, told, checklist.UNIT_KEYS


def look_words(unit: Unit, sign: str) -> tuple[str, str, str, str]:
    """What the card says of a unit that waits to be looked over; `sign`: what it was stopped by, empty for nothing."""
    if sign:
        stopped = checklist.STOPPED.format(sign=checks.LOOK_SIGNS.get(sign, sign))
        return checklist.UNIT_WITHOUT_VISIT, unit.tag, stopped, checklist.STOPPED_KEYS
    return checklist.UNIT_WITHOUT_VISIT, unit.tag, checklist.LOOK_FIRST, checklist.LOOK_KEYS


def idle_words(unit: Unit | None, sheet: Sheet | None, waits: bool, alone: bool = False) -> tuple[str, str, str, str]:
    """What the card says without a visit: title, headline, what to do, keys. `waits`: the strip offers its visit.
    `alone`: the unit is left alone.

    `sheet`: that of the device that is plugged in; without controls when nothing describes it.
    """
    if unit is not None and alone:
        return checklist.UNIT_WITHOUT_VISIT, unit.tag, checklist.IS_LEFT_ALONE, checklist.UNIT_KEYS
    plugged_in = sheet is not None
    if sheet is not None and not sheet.controls:
        return checklist.TO_BE_TAUGHT
    if unit is not None:
        do = checklist.V_STARTS if plugged_in else checklist.PLUG_IT_IN
        return checklist.UNIT_WITHOUT_VISIT, unit.tag, checklist.ENTER_STARTS if waits else do, checklist.UNIT_KEYS
    if sheet is not None:
        return checklist.WHOSE_UNIT_OR_TEACH if sheet.drawn_up else checklist.WHOSE_UNIT
    return checklist.NO_VISIT


def _pad_words(event: DeviceAppeared, begun: Unit | None) -> str:
    unit = begun or event.unit
    return unit.tag if unit is not None else hub.NOBODYS.format(device=event.device.called or devices.NAMED_DEVICE)
