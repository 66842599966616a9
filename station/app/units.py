"""The units and their records, for the window."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from station.app.changes import Changes
from station.app.photos import ON_CERTIFICATE, newest
from station.app.undo import Undo
from station.capture.regular import read_regular
from station.capture.text import visible_line
from station.diagnosis.returned import HeldOfKind, longer_rest
from station.errors import InputError
from station.records.clock import Clock
from station.records.files import MAX_PHOTO_BYTES
from station.records.rules import rest_days_key, whole_days
from station.records.store import Store
from station.records.types import SAME_FAULT, Comeback, Note, Treatment, Unit, UnitHistory
from station.ui.ports import DeskEvent, DueRow, Said
from station.words import common, figures, grammar, selling
from station.words import desk as words
from station.words import undo as undoing

_PHOTO_FOLDER = "photo_folder"


class Units:
    """The `UnitPort`: short queries, and changes that the worker makes."""

    def __init__(
        self, store: Store, now: Clock, changes: Changes, undo: Undo, tell: Callable[[DeskEvent], None]
    ) -> None:
        self._store, self._now, self._changes, self._undo, self._tell = store, now, changes, undo, tell

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
            self._tell_rest_not_used(added.kind)
            return added.unit_id

        self._changes.make(change, shelf=bool(shelf_part_id))

    def _tell_rest_not_used(self, kind: str) -> None:
        """Say so where the days of rest that were set are none: the rest is then as it ships."""
        stored = self._store.get_setting(rest_days_key(kind))
        if stored and whole_days(stored) is None:
            told = common.TREATMENT_KINDS.get(kind, kind)
            days = figures.number(self._store.rest_days(kind), 0)
            self._tell(Said(words.REST_NOT_USED.format(value=visible_line(stored, 40), kind=told, days=days), bad=True))

    def _remember_folder(self, folder: str) -> None:
        """Not one whose name is no text (bytes that are no UTF-8): the records could not hold it."""
        if folder.encode("utf-8", "replace").decode() == folder:
            self._store.set_setting(_PHOTO_FOLDER, folder)

    def note(self, note: Note, photo: str = "", *, on_certificate: bool = False) -> int:
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

        return self._changes.make(change)

    # --- what comes back ---------------------------------------------------------------------------------

    def come_back(self, comeback: Comeback) -> None:
        def change() -> str:
            added = self._store.come_back(replace(comeback, person=self._undo.person()))
            tag = self._store.unit(added.unit_id).tag
            self._undo.offer_row(selling.SAVED.format(tag=tag), "comeback", added.id, added.unit_id)
            self._propose_rest(added)
            return added.unit_id

        self._changes.make(change, shelf=True)

    def look_at_comeback(self, comeback: Comeback, found: str, treatment_id: str | None) -> None:
        def change() -> str:
            person = self._undo.person()
            now = self._store.look_at_comeback(comeback.id, found, treatment_id, person)
            said = selling.SAVED_LOOK.format(tag=self._store.unit(now.unit_id).tag, found=selling.FOUND[now.found])
            back = comeback.found, comeback.treatment_id
            self._undo.offer(said, (now.unit_id,), lambda: self._store.look_at_comeback(now.id, *back, person))
            self._propose_rest(now)
            return now.unit_id

        self._changes.make(change, shelf=True)

    def _propose_rest(self, comeback: Comeback) -> None:
        """Say so where cures of this kind come back so often that a longer rest would show more of them."""
        done = self._store.treatments_of(comeback.unit_id)
        kind = next((t.kind for t in done if t.id == comeback.treatment_id), "")
        if comeback.found != SAME_FAULT or not kind:
            return
        sold, days = self._store.held(kind)
        now = self._store.rest_days(kind)
        longer = longer_rest(HeldOfKind(kind, sold, days), now)
        if longer != now:
            self._tell(
                Said(
                    selling.REST_LONGER.format(
                        back=figures.number(len(days), 0),
                        sold=figures.number(sold, 0),
                        kind=common.TREATMENT_KINDS.get(kind, kind),
                        days=grammar.listed([figures.number(n, 0) for n in days]),
                        longer=figures.number(longer, 0),
                    )
                )
            )

    def channels(self) -> Sequence[str]:
        return self._store.channels()

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
