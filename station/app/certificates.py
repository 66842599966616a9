"""Certificates for the window: written by the worker; the last one of each unit is remembered with the settings."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from station.app import paths
from station.app.device_room import DeviceRoom
from station.app.shelf_of_sheets import SheetShelf
from station.app.work import Worker
from station.checks.house import House
from station.errors import InputError
from station.judgement.issued import latest_of
from station.records.clock import Clock, time_text
from station.records.store import Store
from station.sheets.model import Sheet
from station.ui.ports import CertificateReady, DeskEvent, OfferReady
from station.words import desk as words
from station.words import listing


class Certificates:
    """The `CertificatePort`."""

    def __init__(
        self,
        store: Store,
        worker: Worker,
        shelf: SheetShelf,
        room: DeviceRoom,
        now: Clock,
        house: Callable[[], House],
    ) -> None:
        self._store, self._worker, self._shelf, self._room, self._now = store, worker, shelf, room, now
        self._house = house

    def last_certificate(self, unit_id: str) -> CertificateReady | None:
        return last_certificate(self._store, unit_id)

    def write_certificate(self, unit_id: str) -> None:
        active = self._room.active
        here = active.sheet if active is not None else None
        self._worker.submit(lambda: self._certify(unit_id, here))

    def write_offer(self, unit_id: str) -> None:
        active = self._room.active
        here = active.sheet if active is not None else None
        self._worker.submit(lambda: self._offer(unit_id, here))

    def _offer(self, unit_id: str, here: Sheet | None) -> Iterable[DeskEvent]:
        from station.app.offers import offer_of  # with Qt's painter

        last = last_certificate(self._store, unit_id)
        if last is None or not Path(last.path).exists():
            raise InputError(listing.NOT_WRITTEN_YET.format(tag=self._store.unit(unit_id).tag))
        if last.withdrawn:
            tag = self._store.unit(unit_id).tag
            raise InputError(listing.IS_WITHDRAWN.format(tag=tag, reason=last.withdrawn.rstrip(".")))
        offer = offer_of(Path(last.path), self._store.folder, self._store, lambda name: self._shelf.named(name) or here)
        return (OfferReady(unit_id, offer.text, offer.note),)

    def _certify(self, unit_id: str, here: Sheet | None) -> Iterable[DeskEvent]:
        """`here`: the sheet of the device on the bench, for a unit whose own one is not at hand."""
        from station.app.certify import certify  # Qt's PDF writer and the QR code are loaded when first wanted

        unit = self._store.unit(unit_id)
        sheet = self._shelf.named(unit.sheet) or here
        if sheet is None:
            raise InputError(words.NO_SHEET_AT_HAND.format(sheet=unit.sheet, tag=unit.tag))
        written = certify(self._store, unit_id, sheet, now=time_text(self._now()), house=self._house())
        ready = CertificateReady(unit_id, str(written.path), written.fingerprint, written.problem, note=written.note)
        remember_certificate(self._store, ready)
        return (ready,)


def remember_certificate(store: Store, ready: CertificateReady) -> None:
    """Keep the name of the file and the key that signed it."""
    name = ready.path.replace("\\", "/").rpartition("/")[2]
    store.set_setting(_key(ready.unit_id), f"{ready.key}|{name}")


def last_certificate(store: Store, unit_id: str) -> CertificateReady | None:
    """The unit's last certificate written here; the file may have been moved since."""
    key, _, name = store.get_setting(_key(unit_id)).partition("|")
    if not name:
        return None
    return CertificateReady(unit_id, str(paths.certificates_folder() / name), key, withdrawn=_withdrawn(store, unit_id))


def _withdrawn(store: Store, unit_id: str) -> str:
    """Why the unit's last certificate was taken back; empty if it was not."""
    own = store.certificates(unit_id)
    by = store.withdrawn_certificates(unit_id).get(latest_of(own).id) if own else None
    return by.reason if by is not None else ""


def _key(unit_id: str) -> str:
    return f"certificate.{unit_id}"
