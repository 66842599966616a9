"""The part of the desk that teaches a device which no sheet describes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from station.app.device_room import DeviceRoom
from station.app.errands import Ask, Errand, Errands
from station.app.shelf_of_sheets import Known, SheetShelf, carried_over
from station.app.teacher import Teacher
from station.app.work import Worker
from station.bench.teaching_types import TeachAnswer, TeachKey, TeachView
from station.bench.types import SessionView
from station.errors import InputError
from station.sheets.model import Sheet
from station.sources.devices import DeviceWatcher, is_silent, list_devices
from station.sources.port import DeviceInfo
from station.ui.ports import DeskEvent, KeptWalk, Said, SheetLearned, SilentListed


class TeachingDesk:
    """See station.ui.ports.Desk. `StationDesk` is one; it opens devices and holds the one that is in use."""

    _teacher: Teacher
    _sheets: SheetShelf
    _worker: Worker
    _watcher: DeviceWatcher | None
    _errands: Errands
    _room: DeviceRoom
    _chosen: set[tuple[int, int]]

    def session(self) -> SessionView | None:
        raise NotImplementedError

    def _tell(self, event: DeskEvent) -> None:
        raise NotImplementedError

    def list_silent(self) -> None:
        def job() -> Iterable[DeskEvent]:
            found = list_devices(also=self._sheets.also() | self._chosen, include_others=True)
            return (SilentListed(tuple(d for d in found if is_silent(d))),)

        self._worker.submit(job)

    def open_silent(self, device: DeviceInfo) -> None:
        self._chosen.add((device.vendor_id, device.product_id))
        self._name_ids()

    def _name_ids(self) -> None:
        """Show, besides what says that it is a game controller, what sheets name and what the person chose."""
        if self._watcher is not None:
            self._watcher.name_also(self._sheets.also() | self._chosen)

    def kept_walk(self, device: DeviceInfo) -> KeptWalk | None:
        return self._teacher.kept(device)

    def begin_teaching(self, device: DeviceInfo, counts: Mapping[str, int], *, go_on: bool) -> None:
        """Begin the guided walk. InputError while a check runs, and for a unit that only acts when it is asked."""
        session = self.session()
        if session is not None and session.running:
            raise InputError("A check is running: end it first, then teach the device.")
        if device.bus == "simulated":
            raise InputError("A simulated unit does only what a check asks; plug in a device to teach it.")

        self._errands.begin(self._begin_teaching(device, counts, go_on))

    def _begin_teaching(self, device: DeviceInfo, counts: Mapping[str, int], go_on: bool) -> Errand:
        active = yield from self._room.reading(device, blank=True)
        lesson = yield Ask(lambda: self._teacher.prepare(active.source, counts, go_on=go_on))
        self._teacher.begin(lesson)
        return ()

    def teaching(self) -> TeachView | None:
        return self._teacher.view()

    def teach(self, key: TeachKey) -> None:
        self._teacher.press(key)

    def answer_teaching(self, control: str, answer: TeachAnswer) -> None:
        self._teacher.answer(control, answer)

    def taught_name(self) -> str:
        """The name of the sheet that fits so far: the new one takes its place."""
        active = self._room.active
        return active.sheet.name if active is not None else ""

    def save_taught(self, name: str) -> None:
        self._errands.begin(self._save_taught(self._teacher.learned(name)))

    def _save_taught(self, sheet: Sheet) -> Errand:
        """Save the sheet and put it in force; a visit that waits goes on with it when it is started again."""
        active = self._room.active
        if active is None:
            raise InputError("The device is gone; plug it in and save the sheet again.")
        sheet = carried_over(sheet, active.sheet)
        session, info = active.view(), active.source.info

        def save() -> tuple[str, Known, str]:
            path = self._sheets.save(sheet, keep_old=True)
            fitted = self._sheets.fitted(sheet, info)
            active.stop()
            return str(path), fitted, self._sheets.know(info).sheet.name

        path, fitted, fits = yield Ask(save)
        active.use(fitted)
        self._teacher.saved()
        self._name_ids()
        self._tell(SheetLearned(sheet.name, path))
        if fits != sheet.name:
            self._tell(
                Said(f"The sheet “{fits}” fits this device too and comes first at the next plug-in; delete it.", True)
            )
        waiting = session.unit if session is not None and not session.finished else None
        told = yield from self._room.announce_active()
        return [replace(event, unit=event.unit or waiting) for event in told]
