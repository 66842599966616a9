"""The units and their records, for the window."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from station.app.changes import Changes
from station.app.photos import ON_CERTIFICATE, newest
from station.app.undo import Undo
from station.capture.regular import read_regular
from station.errors import InputError
from station.records.clock import Clock
from station.records.files import MAX_PHOTO_BYTES
from station.records.store import Store
from station.records.types import Note, Treatment, Unit, UnitHistory
from station.ui.ports import DueRow
from station.words import desk as words
from station.words import undo as undoing

_PHOTO_FOLDER = "photo_folder"


class Units:
    """The `UnitPort`: short queries, and changes that the worker makes."""

    def __init__(self, store: Store, now: Clock, changes: Changes, undo: Undo) -> None:
        self._store, self._now, self._changes, self._undo = store, now, changes, undo

    def find(self, search: str = "") -> Sequence[Unit]:
        return self._store.units(search)

    def history(self, unit_id: str) -> UnitHistory:
        return self._store.history(unit_id)

    def due(self) -> Sequence[DueRow]:
        return tuple(DueRow(*row) for row in self._store.due(self.today().isoformat()))

    def today(self) -> date:
        return self._now().date()

    def add(self, unit: Unit) -> int:
        def change() -> str:
            added = self._store.add_unit(unit)
            self._undo.offer_row(undoing.UNIT_ADDED.format(tag=added.tag), "unit", added.id, added.id)
            return added.id

        return self._changes.make(change)

    def change(self, unit: Unit, reason: str = "") -> None:
        def change() -> str:
            before = self._store.unit(unit.id)
            self._undo.offer_change(before, self._store.change_unit(unit, reason=reason))
            return unit.id

        self._changes.make(change)

    def treat(self, treatment: Treatment, shelf_part_id: str = "") -> None:
        def change() -> str:
            added = self._store.add_treatment(treatment, shelf_part_id=shelf_part_id)
            self._undo.offer_treatment(added)
            return added.unit_id

        self._changes.make(change, shelf=bool(shelf_part_id))

    def _remember_folder(self, folder: str) -> None:
        """Not one whose name is no text (bytes that are no UTF-8): the records could not hold it."""
        if folder.encode("utf-8", "replace").decode() == folder:
            self._store.set_setting(_PHOTO_FOLDER, folder)

    def note(self, note: Note, photo: str = "", *, on_certificate: bool = False) -> None:
        def change() -> str:
            added = self._store.add_note(self._with_photo(note, photo))
            unit_id = added.unit_id
            said = undoing.NOTED.format(tag=self._store.unit(unit_id).tag)
            self._undo.offer_row(said, "note", added.id, unit_id)
            if photo:
                self._remember_folder(str(Path(photo).expanduser().resolve().parent))
            if on_certificate and added.photo_sha256:
                self._store.set_setting(ON_CERTIFICATE.format(unit=unit_id), added.photo_sha256)
            return unit_id

        self._changes.make(change)

    def photos(self) -> Sequence[str]:
        return newest(self._store.get_setting(_PHOTO_FOLDER))

    def _with_photo(self, note: Note, photo: str) -> Note:
        """The note with its picture kept beside the records. InputError when it cannot be read or is no picture."""
        if not photo:
            return note
        try:
            picture = read_regular(Path(photo).expanduser(), MAX_PHOTO_BYTES + 1)
        except OSError as error:
            raise InputError(words.PHOTO_UNREADABLE.format(path=photo, reason=error.strerror)) from error
        return replace(note, photo_sha256=self._store.keep_photo(picture))
