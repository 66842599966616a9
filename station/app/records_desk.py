"""The part of the desk that reads and changes the records: units, lots, shelf, notes, certificates, settings.

Changes go to the worker; a `RecordChanged` event follows each commit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from station.app.advice import Adviser
from station.app.certified import last_certificate, remember_certificate
from station.app.device_room import DeviceRoom
from station.app.errands import Ask, Errand, Errands
from station.app.lots import LotAdviser
from station.app.photos import newest
from station.app.shelf_of_sheets import SheetShelf
from station.app.work import Worker
from station.errors import InputError
from station.records.clock import Clock, time_text
from station.records.store import Store
from station.records.types import Lot, Note, ShelfPart, Treatment, Unit, UnitHistory, Visit
from station.sheets.model import Sheet
from station.ui.ports import (
    CertificateReady,
    DeskEvent,
    DueRow,
    LotAnswer,
    ProposalView,
    RecordChanged,
    Said,
    SuspectView,
)


class RecordsDesk:
    """See station.ui.ports.Desk. `StationDesk` is one; it makes what is named here."""

    _store: Store
    _now: Clock
    _sheets: SheetShelf
    _worker: Worker
    _adviser: Adviser
    _lots: LotAdviser
    _errands: Errands
    _room: DeviceRoom

    def sheet(self) -> Sheet | None:
        raise NotImplementedError

    def _tell(self, event: DeskEvent) -> None:
        raise NotImplementedError

    def units(self, search: str = "") -> Sequence[Unit]:
        return self._store.units(search)

    def lots(self) -> Sequence[Lot]:
        return self._store.lots()

    def shelf(self) -> Sequence[ShelfPart]:
        return self._store.shelf()

    def due(self) -> Sequence[DueRow]:
        return tuple(DueRow(*row) for row in self._store.due(self._now().date().isoformat()))

    def history(self, unit_id: str) -> UnitHistory:
        return self._store.history(unit_id)

    def today(self) -> date:
        return self._now().date()

    def backups(self) -> Sequence[str]:
        return tuple(path.name for path in self._store.backups())

    def restore(self, name: str) -> None:
        """Put a back-up in the place of the records; the visit that runs is stopped first."""
        self._errands.begin(self._restore(name))

    def _restore(self, name: str) -> Errand:
        chosen = next((path for path in self._store.backups() if path.name == name), None)
        if chosen is None:
            raise InputError(f"There is no back-up {name}; choose one of the list.")
        if (active := self._room.active) is not None:
            yield Ask(active.stop)
        aside = yield Ask(lambda: self._store.restore_backup(chosen))
        self._adviser.forget_all()
        self._lots.changed()
        where = f" The records until now are in {aside}." if aside else ""
        return (RecordChanged(""), Said(f"Restored from {name}.{where}"))

    def unfinished_visit(self, unit_id: str) -> Visit | None:
        return next((v for v in self._store.unfinished_visits() if v.unit_id == unit_id), None)

    def add_unit(self, unit: Unit) -> None:
        self._change(lambda: self._store.add_unit(unit).id)

    def change_unit(self, unit: Unit, reason: str = "") -> None:
        self._change(lambda: self._store.change_unit(unit, reason=reason).id)

    def add_lot(self, lot: Lot) -> None:
        self._change(lambda: (self._store.add_lot(lot), "")[1])

    def change_lot(self, lot: Lot) -> None:
        self._change(lambda: (self._store.change_lot(lot), "")[1])

    def lot_states(self) -> Mapping[str, Mapping[str, int]]:
        return self._store.lot_states()

    def units_of_lot(self, lot_id: str) -> Sequence[Unit]:
        return self._store.units_of_lot(lot_id)

    def lot_answer(self, lot_id: str) -> LotAnswer:
        return self._lots.answer(lot_id)

    def give_up(self, unit: Unit, parts: Sequence[ShelfPart], reason: str) -> None:
        def job() -> str:
            self._store.give_up(unit, parts, reason=reason)
            self._tell(Said(f"{unit.tag} is a donor now, with {len(parts)} of its parts on the shelf."))
            return unit.id

        self._change_shelf(job)

    def add_treatment(self, treatment: Treatment, shelf_part_id: str = "") -> None:
        def job() -> str:
            return self._store.add_treatment(treatment, shelf_part_id=shelf_part_id).unit_id

        if shelf_part_id:
            self._change_shelf(job)
        else:
            self._change(job)

    def add_note(self, note: Note, photo: str = "") -> None:
        def job() -> str:
            unit_id = self._store.add_note(self._with_photo(note, photo)).unit_id
            if photo:
                self._store.set_setting("photo_folder", str(Path(photo).expanduser().resolve().parent))
            return unit_id

        self._change(job)

    def photos(self) -> Sequence[str]:
        return newest(self.setting("photo_folder"))

    def _with_photo(self, note: Note, photo: str) -> Note:
        """The note with its picture kept beside the records. InputError when it cannot be read or is no picture."""
        if not photo:
            return note
        try:
            picture = Path(photo).expanduser().read_bytes()
        except OSError as error:
            raise InputError(
                f"The photo {photo} cannot be read ({error.strerror}); check the path and write the note again."
            ) from error
        return replace(note, photo_sha256=self._store.keep_photo(picture))

    def add_shelf_part(self, part: ShelfPart) -> None:
        self._change_shelf(lambda: (self._store.add_shelf_part(part), "")[1])

    def suspects(self, unit_id: str) -> Sequence[SuspectView]:
        return self._adviser.advice(unit_id).suspects

    def proposal(self, unit_id: str) -> ProposalView | None:
        return self._adviser.advice(unit_id).proposal

    def save_sheet(self, sheet: Sheet) -> None:
        def job() -> Iterable[DeskEvent]:
            return (Said(f"Sheet saved: {self._sheets.save(sheet)}"),)

        self._worker.submit(job)

    def certificate(self, unit_id: str) -> CertificateReady | None:
        return last_certificate(self._store, unit_id)

    def write_certificate(self, unit_id: str) -> None:
        here = self.sheet()
        self._worker.submit(lambda: self._certify(unit_id, here))

    def _certify(self, unit_id: str, here: Sheet | None) -> Iterable[DeskEvent]:
        """Write the certificate now, in the calling thread."""
        from station.app.certify import certify  # Qt's PDF writer and the QR code are loaded when first wanted

        unit = self._store.unit(unit_id)
        sheet = self._sheets.named(unit.sheet) or here
        if sheet is None:
            raise InputError(f"No model sheet named “{unit.sheet}” is at hand for {unit.tag}; plug the unit in first.")
        written = certify(self._store, unit_id, sheet, now=time_text(self._now()))
        ready = CertificateReady(unit_id, str(written.path), written.fingerprint, written.problem)
        remember_certificate(self._store, ready)
        return (ready,)

    def setting(self, key: str, default: str = "") -> str:
        return self._store.get_setting(key, default)

    def set_setting(self, key: str, value: str) -> None:
        self._worker.submit(lambda: self._store.set_setting(key, value))

    def _change(self, job: Callable[[], str]) -> None:
        def work() -> Iterable[DeskEvent]:
            unit_id = job()
            self._adviser.forget(unit_id)
            self._lots.changed()
            return (RecordChanged(unit_id),)

        self._worker.submit(work)

    def _change_shelf(self, job: Callable[[], str]) -> None:
        """What lies on the shelf bears on the advice for every unit."""

        def change() -> str:
            unit_id = job()
            self._adviser.forget_all()
            return unit_id

        self._change(change)
