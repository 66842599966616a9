"""Back-ups of the records: made once a day, listed, put in the place of the records."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from station.app import paths
from station.app.changes import Changes
from station.app.device_room import DeviceRoom
from station.app.errands import Ask, Errand, Errands
from station.app.work import Worker
from station.errors import InputError
from station.records.store import Store
from station.ui.ports import DeskEvent, RecordChanged, Said
from station.words import desk as words


class Upkeep:
    """The `UpkeepPort`."""

    def __init__(self, store: Store, worker: Worker, errands: Errands, room: DeviceRoom, changes: Changes) -> None:
        self._store, self._worker, self._errands, self._room, self._changes = store, worker, errands, room, changes

    def backups(self) -> Sequence[str]:
        return tuple(path.name for path in self._store.backups())

    def restore(self, name: str) -> None:
        """The visit that runs is stopped first."""
        self._errands.begin(self._restore(name))

    def _restore(self, name: str) -> Errand:
        chosen = next((path for path in self._store.backups() if path.name == name), None)
        if chosen is None:
            raise InputError(words.NO_SUCH_BACK_UP.format(name=name))
        if (active := self._room.active) is not None:
            yield Ask(active.stop)
        aside = yield Ask(lambda: self._store.restore_backup(chosen))
        self._changes.all_changed()
        said = words.RESTORED_ASIDE.format(name=name, folder=aside) if aside else words.RESTORED.format(name=name)
        forgets = yield Ask(self._forgets_certificates)
        said = words.RESTORED_AND_FORGETS.format(restored=said) if forgets else said
        return (RecordChanged(""), Said(said, bad=forgets))

    def _forgets_certificates(self) -> bool:
        """Whether certificates lie there, or withdrawals are known, that the back-up does not know."""
        from station.app.known_beside import beside  # with what reads certificates

        more = beside(self._store, paths.certificates_folder())
        return bool(more.lost or more.forgotten)

    def look_after(self) -> None:
        """The daily back-up, and a word when the clock was set back."""

        def job() -> Iterable[DeskEvent]:
            self._store.read_order()
            self._store.daily_backup()
            warnings = (self._store.clock_warning, self._store.place_warning)
            return tuple(Said(warning, bad=True) for warning in warnings if warning)

        self._worker.submit(job)
