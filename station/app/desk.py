"""The window's one partner: wires sources, visits, records, diagnosis and certificates together.

Calls from the window return at once: what touches the disk or a device goes to one worker thread, and comes back
as an event. Reads are small queries on a read connection.
"""

from __future__ import annotations

import getpass
import platform
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial

from station.app import paths
from station.app.advice import Adviser
from station.app.device_room import DeviceRoom
from station.app.errands import Ask, Errand, Errands
from station.app.lots import LotAdviser
from station.app.records_desk import RecordsDesk
from station.app.shelf_of_sheets import Known, SheetShelf
from station.app.teacher import Teacher
from station.app.teaching_desk import TeachingDesk
from station.app.work import Worker
from station.bench.plan import plan
from station.bench.session import Session
from station.bench.types import Command, ResultCommitted, SessionView, Step, VisitFinished
from station.checks.limits import limits_for, load_limits
from station.checks.types import Limits
from station.errors import DeviceUnknown, StationError
from station.records.clock import Clock, system_clock
from station.records.store import Store
from station.records.types import Treatment, Unit, Visit
from station.sheets.model import Sheet
from station.sources.devices import DeviceWatcher
from station.sources.port import DeviceInfo, Source, SourceStatus
from station.ui.ports import (
    DeskEvent,
    LiveView,
    RecordChanged,
    Said,
)


class StationDesk(RecordsDesk, TeachingDesk):
    """See station.ui.ports.Desk. `watch` looks for devices plugged in; tests and the demo leave it out."""

    def __init__(
        self,
        store: Store,
        *,
        watch: bool = True,
        now: Clock = system_clock,
        plug_in_sample: Callable[[str], Source] | None = None,
    ) -> None:
        self._store = store
        self._now = now
        self._plug_in_sample = plug_in_sample
        self._limits = load_limits()
        self._sheets = SheetShelf(paths.sheets_folder())
        self._events: deque[DeskEvent] = deque()
        self._worker = Worker(self._tell)
        self._errands = Errands(self._worker.submit, self._tell)
        self._teacher = Teacher(self._sheets, paths.walks_folder(), self._worker.submit)
        self._adviser = Adviser(store, self._sheets, self._advise_later)
        self._lots = LotAdviser(store, self._sheets, self._adviser.guide, lambda: self.today().isoformat(), self._tell)
        self._chosen: set[tuple[int, int]] = set()
        self._closed = False
        self._watcher = DeviceWatcher(also=self._sheets.also()) if watch else None
        self._room = DeviceRoom(
            self._watcher,
            self._errands,
            self._sheets,
            whose=lambda info: store.unit_by_serial(info.vendor_id, info.product_id, info.serial),
            busy=lambda: self._teacher.busy,
            later=self._worker.submit,
            tell=self._tell,
        )

    # --- live ---------------------------------------------------------------------------------------

    def take_events(self) -> Sequence[DeskEvent]:
        """Everything that happened since the last call, in order."""
        self._room.look()
        self._errands.tend()
        self.follow()
        found = []
        while self._events:
            found.append(self._events.popleft())
        return found

    def follow(self) -> None:
        """Take what happened in the visit; a simulated unit's hand does what is asked. Part of `take_events`."""
        self._teacher.tick()
        active = self._room.active
        if active is None:
            return
        for event in active.take_events():
            if isinstance(event, ResultCommitted | VisitFinished) and (view := active.view()) is not None:
                self._adviser.forget(view.unit.id)
                self._lots.changed()
            self._events.append(event)

    def session(self) -> SessionView | None:
        active = self._room.active
        return active.view() if active is not None else None

    def sheet(self) -> Sheet | None:
        active = self._room.active
        return active.sheet if active is not None else None

    def limits(self) -> Limits:
        """The limits in force: the sheet's own over those that ship."""
        sheet = self.sheet()
        return limits_for(sheet, self._limits) if sheet else self._limits

    def live(self) -> LiveView:
        active = self._room.active
        return active.live() if active is not None else LiveView(0)

    def source_status(self) -> SourceStatus | None:
        active = self._room.active
        return active.status() if active is not None else None

    def devices(self) -> Sequence[DeviceInfo]:
        return self._room.devices()

    # --- a visit ------------------------------------------------------------------------------------

    def do(self, command: Command) -> None:
        if (active := self._room.active) is not None:
            active.do(command)

    def start_visit(self, unit_id: str, device: DeviceInfo, kind: str) -> None:
        """Start, or go on with, a visit of the unit on this device."""
        self._errands.begin(self._start_visit(unit_id, device, kind))

    def open_simulated(self, unit_name: str) -> None:
        """Plug in a simulated sample unit."""

        def make() -> Source:
            if self._plug_in_sample is None:
                from station.app.samples import open_sample  # the simulation is loaded only when it is wanted

                self._plug_in_sample = open_sample
            return self._plug_in_sample(unit_name)

        self._errands.begin(self._room.plug_in(make))

    def simulated_units(self) -> Sequence[str]:
        from station.app.samples import sample_tags

        return sample_tags()

    def advance(self, seconds: float) -> None:
        """Move the clock of a simulated unit that does not run in real time (tests)."""
        if (active := self._room.active) is not None:
            active.advance(seconds)

    def look_after_records(self) -> None:
        """The daily back-up, and a word when the clock was set back."""

        def job() -> Iterable[DeskEvent]:
            self._store.daily_backup()
            return (Said(self._store.clock_warning, bad=True),) if self._store.clock_warning else ()

        self._worker.submit(job)

    def settle(self) -> None:
        """Wait until everything asked for so far is done (tests; the window never waits)."""
        self._worker.settle()
        while self._errands.tend():
            self._worker.settle()
        self._lots.settle()

    def _start_visit(self, unit_id: str, device: DeviceInfo, kind: str) -> Errand:
        active = yield from self._room.reading(device)
        known = active.known
        if not known.sheet.controls:
            raise DeviceUnknown(f"{device.product or 'This device'} does not say which controls it has; F5 teaches it.")
        yield Ask(active.halt)  # what it has to store must be stored before the visit that goes on with it reads that
        try:
            session = yield Ask(partial(self._session, unit_id, active.source, known, device, kind))
        except StationError:
            active.stop()
            raise
        active.start(session)
        return (RecordChanged(unit_id),)

    def _session(self, unit_id: str, source: Source, known: Known, device: DeviceInfo, kind: str) -> Session:
        """A visit of the unit, begun or gone on with in the records. For the worker."""
        sheet = known.sheet
        unit = self._store.unit(unit_id)
        if not unit.vendor_id or unit.sheet != sheet.name:
            unit = self._store.change_unit(_as_seen(unit, device, sheet))
        resume = self.unfinished_visit(unit_id)
        treatment = self._treatment_before(unit_id, resume, kind)
        return Session(
            source,
            sheet,
            known.layout,
            unit,
            resume.kind if resume else kind,
            self._store,
            limits=limits_for(sheet, self._limits),
            person=self.setting("person", getpass.getuser()),
            bench=self.setting("bench", platform.node()),
            resume=resume,
            wall_clock=self._now,
            steps=self._steps_after(unit_id, treatment, sheet) if treatment else None,
            treatment_id=treatment.id if treatment else None,
        )

    def _treatment_before(self, unit_id: str, resume: Visit | None, kind: str) -> Treatment | None:
        """The treatment that a visit "after treatment" looks at; None for every other kind of visit."""
        if (resume.kind if resume else kind) != "after treatment":
            return None
        done = [t for t in self._store.history(unit_id).treatments if resume is None or t.at <= resume.started_at]
        return done[-1] if done else None

    def _steps_after(self, unit_id: str, treatment: Treatment, sheet: Sheet) -> list[Step] | None:
        """What the treatment could have changed; None (everything) when nothing was tested before."""
        from station.diagnosis.recheck import rechecks

        wanted = set(rechecks(self._store.history(unit_id), treatment, sheet, self._adviser.guide()))
        return [step for step in plan(sheet) if (step.check, step.control) in wanted] or None

    # --- the end -----------------------------------------------------------------------

    def close(self) -> None:
        """Stop the visit, finish what is queued, close device and records."""
        if self._closed:
            return
        self._closed = True
        if self._watcher is not None:
            self._watcher.close()
        self._teacher.press("stop")
        self._lots.close()
        self._errands.close()
        self._worker.close()
        self._room.close()
        self._store.close()

    def _advise_later(self, unit_id: str, work: Callable[[], None]) -> None:
        def job() -> Iterable[DeskEvent]:
            work()
            return (RecordChanged(unit_id),)

        self._worker.submit(job)

    def _tell(self, event: DeskEvent) -> None:
        self._events.append(event)


def _as_seen(unit: Unit, device: DeviceInfo, sheet: Sheet) -> Unit:
    """The unit with what the device says of itself, where the record was empty."""
    return replace(
        unit,
        vendor_id=unit.vendor_id or device.vendor_id,
        product_id=unit.product_id or device.product_id,
        serial=unit.serial or device.serial,
        sheet=sheet.name,
        model=unit.model or sheet.name,
    )
