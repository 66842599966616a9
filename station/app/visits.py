"""The visit on the bench, for the window: begun or gone on with, and handed what the person does."""

from __future__ import annotations

import platform
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from station.app.changes import Changes
from station.app.device_room import DeviceRoom
from station.app.errands import Ask, Errand, Errands
from station.app.settings import BY_ITSELF, OFF, ON, Settings
from station.app.shelf_of_sheets import Known, SheetShelf
from station.app.undo import Undo
from station.app.who import person_here
from station.bench.checklist import views_of
from station.bench.plan import plan, plan_alone
from station.bench.recheck import plan_after
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import ByItself, Command, Hold, PlannedVisit, SessionView, Step
from station.checks.ask import LOOK, looked_over
from station.checks.house import House
from station.errors import DeviceUnknown, InputError, StationError
from station.judgement.alone import done_alone
from station.judgement.limits import in_force
from station.judgement.rest import SECOND_TESTS
from station.judgement.treated import due_again, unrepeated
from station.judgement.withdrawn import sheet_was_corrected
from station.records.clock import Clock
from station.records.rules import ALONE_KEY
from station.records.store import Store
from station.records.types import Result, Treatment, Unit, Visit
from station.sheets.model import Sheet
from station.sources.port import DeviceInfo, Source
from station.ui.ports import RecordChanged
from station.words import desk as words
from station.words import devices
from station.words import undo as undoing


class Visits:
    """The `VisitPort`."""

    def __init__(
        self,
        store: Store,
        now: Clock,
        errands: Errands,
        room: DeviceRoom,
        settings: Settings,
        house: Callable[[], House],
        changes: Changes,
        shelf: SheetShelf,
        undo: Undo,
    ) -> None:
        self._changes, self._undo = changes, undo
        self._store, self._now, self._errands, self._room = store, now, errands, room
        self._settings, self._house, self._shelf = settings, house, shelf

    def session(self) -> SessionView | None:
        active = self._room.active
        return active.view() if active is not None else None

    def do(self, command: Command) -> None:
        if isinstance(command, ByItself):
            self._settings.put(BY_ITSELF, ON if command.on else OFF)
        if (active := self._room.active) is not None:
            active.do(command)

    def hold(self, on: bool) -> None:
        if (active := self._room.active) is not None:
            active.do(Hold(on))

    def unfinished(self, unit_id: str) -> Visit | None:
        return next((v for v in self._store.unfinished_visits() if v.unit_id == unit_id), None)

    def planned(self, unit_id: str, kind: str, sheet: Sheet) -> PlannedVisit:
        """What a visit of that kind would ask of the unit; of one that is open, what it asks and what was done."""
        resume = self.unfinished(unit_id)
        kind = resume.kind if resume else kind
        steps = self._steps(unit_id, self._treatment_before(unit_id, resume, kind), sheet, kind, resume)
        earlier = self._store.results_of_visit(resume.id) if resume else ()
        return PlannedVisit(kind, views_of(plan(sheet, kind) if steps is None else steps, earlier))

    def whose(self, device: DeviceInfo) -> Unit | None:
        owner = self._room.owner(device)
        try:
            return None if owner is None else self._store.unit(owner.id)
        except InputError:
            return None  # it was withdrawn

    def must_be(self, unit_id: str, device: DeviceInfo) -> None:
        """InputError where the device is known to be another unit: what it reports is nothing of this one's."""
        owner = self.whose(device)
        if owner is not None and owner.id != unit_id:
            raise InputError(words.IS_ANOTHERS.format(tag=self._store.unit(unit_id).tag, other=owner.tag))

    def is_unit(self, device: DeviceInfo, unit: Unit) -> None:
        self._room.belongs(device, unit)

    def start(self, unit_id: str, device: DeviceInfo, kind: str) -> None:
        self._errands.begin(self._start(unit_id, device, kind))

    def _start(self, unit_id: str, device: DeviceInfo, kind: str) -> Errand:
        self._room.nothing_waits()
        self.must_be(unit_id, device)
        opened = yield from self._room.opening(device)
        before = self._room.active
        try:
            if not opened.known.sheet.controls:
                raise DeviceUnknown(words.NO_CONTROLS_SAID.format(device=device.called or devices.THIS_DEVICE))
            if before is not None:
                # what it has to store must be stored before the visit that goes on with it reads that
                yield Ask(before.halt)
                self._room.nothing_waits()
            known = yield Ask(partial(self._known_as, unit_id, opened.known, device))
            session = yield Ask(partial(self._session, unit_id, opened.source, known, device, kind))
        except (StationError, GeneratorExit):
            self._room.let_go(opened)
            if before is not None:
                before.go_on()
            raise
        active = yield from self._room.use(opened)
        if active.known is not known:
            active.use(known)
        active.start(session)
        self._room.belongs(device, session.view().unit)
        return (RecordChanged(unit_id),)

    def look_over(self, unit_id: str, kind: str, sign: str = "") -> None:
        def change() -> str:
            visit = self.unfinished(unit_id) or self._store.start_visit(unit_id, kind, *self._who())
            answer = Result("", visit.id, LOOK.name, "", 0, "", looked_over(sign))
            stored = self._store.add_result(answer)
            if sign:
                self._undo.offer_result(stored, unit_id)
            else:
                said = undoing.LOOKED_OVER.format(tag=self._store.unit(unit_id).tag)
                self._undo.offer_row(said, "result", stored.id, unit_id, visit.id)
            return unit_id

        self._changes.make(change)

    def wind_up(self) -> str:
        active = self._room.active
        return active.wind_up() if active is not None else ""

    def _known_as(self, unit_id: str, known: Known, device: DeviceInfo) -> Known:
        """The device by the sheet of the unit's model where a person has put that right, else as it was known. For the
        worker. SheetError when that sheet does not fit the device."""
        history = self._store.history(unit_id)
        sheet = self._shelf.named(history.unit.sheet) if sheet_was_corrected(history) else None
        return known if sheet is None or sheet.name == known.sheet.name else self._shelf.fitted(sheet, device)

    def _session(self, unit_id: str, source: Source, known: Known, device: DeviceInfo, kind: str) -> Session:
        """A visit of the unit, begun or gone on with in the records. For the worker."""
        sheet = known.sheet
        unit = self._seen(unit_id, device, sheet)
        resume = self.unfinished(unit_id)
        treatment = self._treatment_before(unit_id, resume, kind)
        kind = resume.kind if resume else kind
        person, bench = self._who()
        return Session(
            UnitOnBench(unit, source, known.binding),
            VisitPlan(
                kind=kind,
                steps=self._steps(unit_id, treatment, sheet, kind, resume),
                treatment_id=treatment.id if treatment else None,
                resume=resume,
            ),
            BenchSetup(
                self._store,
                limits=in_force(sheet, self._house()),
                person=person,
                bench=bench,
                wall_clock=self._now,
                auto_go=self._settings.get(BY_ITSELF, ON) == ON,
                together=True,
            ),
        )

    def _steps(
        self, unit_id: str, treatment: Treatment | None, sheet: Sheet, kind: str, resume: Visit | None
    ) -> Sequence[Step] | None:
        """What the visit asks; None as the sheet says."""
        steps = self._steps_after(unit_id, treatment, sheet) if treatment else None
        return self._with_alone(steps, sheet, kind, resume)

    def _with_alone(
        self, steps: Sequence[Step] | None, sheet: Sheet, kind: str, resume: Visit | None
    ) -> Sequence[Step] | None:
        """The steps of a visit, None as the sheet says; before them being left alone, where the shop wants that before
        the second test or it was done already."""
        wanted = kind in SECOND_TESTS and self._settings.get(ALONE_KEY, "off") == "on"
        done = resume is not None and any(map(done_alone, self._store.results_of_visit(resume.id)))
        there = steps is not None and any(step in steps for step in plan_alone(sheet))
        if there or not (wanted or done):
            return steps
        return (
            *(replace(s, offered=not wanted) for s in plan_alone(sheet)),
            *(plan(sheet) if steps is None else steps),
        )

    def visit_for(self, unit_id: str, device: DeviceInfo, sheet: Sheet, kind: str) -> tuple[Unit, Visit]:
        """The unit as it was seen, and its visit: the one that is open, else a new one of that kind. For the worker."""
        unit = self._seen(unit_id, device, sheet)
        visit = self.unfinished(unit_id)
        if visit is None:
            treatment = self._treatment_before(unit_id, None, kind)
            person, bench = self._who()
            visit = self._store.start_visit(unit_id, kind, person, bench, treatment.id if treatment else None)
        return unit, visit

    def _seen(self, unit_id: str, device: DeviceInfo, sheet: Sheet) -> Unit:
        """The unit with what the device says of itself; a serial number that another unit has stays that one's."""
        unit = self._store.unit(unit_id)
        other = self._store.unit_by_serial(device.vendor_id, device.product_id, device.serial)
        known = device if other is None or other.id == unit_id else replace(device, serial="")
        seen = _as_seen(unit, known, sheet)
        return unit if seen == unit else self._store.change_unit(seen)

    def _who(self) -> tuple[str, str]:
        return self._settings.get("person", person_here()), self._settings.get("bench", platform.node())

    def _treatment_before(self, unit_id: str, resume: Visit | None, kind: str) -> Treatment | None:
        """The treatment that a visit "after treatment" looks at; None for every other kind of visit."""
        if (resume.kind if resume else kind) != "after treatment":
            return None
        done = [t for t in self._store.history(unit_id).treatments if resume is None or t.at <= resume.started_at]
        return done[-1] if done else None

    def _steps_after(self, unit_id: str, last: Treatment, sheet: Sheet) -> Sequence[Step] | None:
        """What the last treatment could have changed, and those before it of which nobody knows yet what they did;
        None (everything) when nothing was tested before."""
        history = self._store.history(unit_id)
        before = replace(history, results=tuple(r for r in history.results if r.at <= last.at))
        owed = {t.id for t in unrepeated(before, sheet).values()} | {last.id}
        treatments = [t for t in history.treatments if t.id in owed]
        return plan_after(due_again(history, treatments, sheet), sheet) or None


def _as_seen(unit: Unit, device: DeviceInfo, sheet: Sheet) -> Unit:
    """The unit with what the device says of itself, where the record was empty; no serial number of a device that is
    of another kind than the record says."""
    seen = (unit.vendor_id or device.vendor_id, unit.product_id or device.product_id)
    same = seen == (device.vendor_id, device.product_id)
    return replace(
        unit,
        vendor_id=seen[0],
        product_id=seen[1],
        serial=unit.serial or (device.serial if same else ""),
        sheet=sheet.name,
        model=unit.model or sheet.name,
    )
