"""Teaching a device that no sheet describes, for the window."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from station.app.device_room import DeviceRoom
from station.app.errands import Ask, Errand, Errands
from station.app.plugged import Silent
from station.app.shelf_of_sheets import Known, SheetShelf, carried_over
from station.app.teacher import Teacher
from station.bench.teaching_types import TeachAnswer, TeachKey, TeachView
from station.errors import InputError
from station.sheets.library import is_of_class
from station.sheets.model import Sheet
from station.sources.port import DeviceInfo
from station.ui.ports import DeskEvent, KeptWalk, Said, SheetLearned
from station.words import desk as words
from station.words import teaching


class Lessons:
    """The `TeachingPort`."""

    def __init__(
        self,
        teacher: Teacher,
        errands: Errands,
        room: DeviceRoom,
        shelf: SheetShelf,
        silent: Silent,
        tell: Callable[[DeskEvent], None],
    ) -> None:
        self._teacher, self._errands, self._room = teacher, errands, room
        self._shelf, self._silent, self._tell = shelf, silent, tell

    def lesson(self) -> TeachView | None:
        return self._teacher.view()

    def kept_walk(self, device: DeviceInfo) -> KeptWalk | None:
        return self._teacher.kept(device)

    def begin(self, device: DeviceInfo, counts: Mapping[str, int], *, go_on: bool) -> None:
        active = self._room.active
        session = active.view() if active is not None else None
        if session is not None and session.running:
            raise InputError(words.CHECK_RUNS)
        self._room.nothing_waits()
        if device.bus == "simulated":
            raise InputError(words.SIMULATED_NOT_TAUGHT)
        self._errands.begin(self._begin(device, counts, go_on))

    def _begin(self, device: DeviceInfo, counts: Mapping[str, int], go_on: bool) -> Errand:
        active = yield from self._room.reading(device, blank=True)
        lesson = yield Ask(lambda: self._teacher.prepare(active.source, counts, go_on=go_on))
        self._teacher.begin(lesson)
        return ()

    def press(self, key: TeachKey) -> None:
        self._teacher.press(key)

    def answer(self, control: str, answer: TeachAnswer) -> None:
        self._teacher.answer(control, answer)

    def proposed_name(self) -> str:
        """The name of the sheet that fits so far: the new one takes its place. The sheet of a whole class of interfaces
        stays; what is taught of one pad bears the pad's name."""
        active = self._room.active
        if active is None:
            return ""
        info, sheet = active.source.info, active.sheet
        if is_of_class(sheet, info.vendor_id, info.product_id, info.interface):
            return info.product or teaching.UNKNOWN_DEVICE
        return sheet.name

    def save_taught(self, name: str) -> None:
        self._errands.begin(self._save(self._teacher.learned(name)))

    def _save(self, sheet: Sheet) -> Errand:
        """Save the sheet and put it in force; a visit that waits goes on with it when it is started again."""
        active = self._room.active
        if active is None:
            raise InputError(words.DEVICE_GONE)
        sheet = carried_over(sheet, active.sheet)
        session, info = active.view(), active.source.info

        def save() -> tuple[str, Known, str]:
            path = self._shelf.save(sheet, keep_old=True)
            fitted = self._shelf.fitted(sheet, info)
            active.stop()
            return str(path), fitted, self._shelf.know(info).sheet.name

        path, fitted, fits = yield Ask(save)
        active.use(fitted)
        self._teacher.saved()
        self._silent.show()
        self._tell(SheetLearned(sheet.name, path))
        if fits != sheet.name:
            self._tell(Said(words.OTHER_SHEET_FIRST.format(sheet=fits), bad=True))
        waiting = session.unit if session is not None and not session.finished else None
        told = yield from self._room.announce_active()
        return [replace(event, unit=event.unit or waiting) for event in told]
