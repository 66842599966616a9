"""The records of a bench: one folder with the database, the captures, the photos and the back-ups.

folder/restpoint.db      SQLite (tables: docs/records.md)
folder/captures/ab/cd/…  capture files, named by their SHA-256
folder/photos/ab/cd/…    photos, likewise
folder/backups/…         daily back-ups and those made before a migration
"""

from __future__ import annotations

import hashlib
import platform
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import date, timedelta
from pathlib import Path
from types import TracebackType

from sqlite_utils import Database

from station.errors import RecordError
from station.records import backup, entries, files, queries
from station.records.clock import Clock, parse_time, system_clock, time_text, unix_ms
from station.records.connection import Connections, use_wal, version_of
from station.records.entries import Entry
from station.records.faults import told_plainly
from station.records.ids import IdMaker
from station.records.rows import insert
from station.records.schema import APPLICATION_ID, MIGRATIONS, newest_version
from station.records.types import Lot, Note, Result, ShelfPart, Treatment, Unit, UnitHistory, Visit

FILE_NAME = "restpoint.db"
BUSY_MS = 5000
_CLOCK_SLACK = timedelta(minutes=2)


def open_store(folder: Path, *, read_only: bool = False, clock: Clock = system_clock, busy_ms: int = BUSY_MS) -> Store:
    """Open the records in `folder` and bring them up to date; without `read_only` they are made if there are none.

    Raises the RecordError family: RecordTooNew, RecordLocked, RecordCorrupt, RecordFull.
    """
    path = folder / FILE_NAME
    if read_only and not path.is_file():
        raise RecordError(f"There are no records in {folder}; give the folder that holds {FILE_NAME}.")
    with told_plainly(path):
        if not read_only:
            folder.mkdir(parents=True, exist_ok=True)
        connections = Connections(path, read_only=read_only, busy_ms=busy_ms)
        try:
            bench_id = "" if read_only else _prepare(connections, clock, busy_ms)
            version = version_of(connections.open_reader(), path)
            if version < newest_version():
                raise RecordError(
                    f"The records in {folder} are of an older version; open them once for writing to bring them up "
                    "to date (a back-up is made first)."
                )
        except BaseException:
            connections.close()
            raise
    return Store(folder, connections, bench_id, clock)


def _prepare(connections: Connections, clock: Clock, busy_ms: int) -> str:
    """Make or update the file; returns the id of this bench's log."""
    path = connections.path
    existed = path.exists() and path.stat().st_size > 0
    db = connections.open_writer()
    version = version_of(db, path)
    use_wal(db, busy_ms)
    if version < newest_version():
        if existed and version:
            backup.back_up(db, path.parent / "backups", f"before-version-{newest_version()}", time_text(clock()))
        with connections.writing() as tx:
            MIGRATIONS.apply(tx)  # another program may have done it since: then nothing is pending
            tx.execute(f"PRAGMA user_version = {newest_version()}")
            tx.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    with connections.writing() as tx:
        return bench_of(tx, path, clock, IdMaker())


def place_of(path: Path) -> str:
    """What tells this place from a copy of the file elsewhere: a digest of the computer's name and the path."""
    return hashlib.sha256(f"{platform.node()}\n{path.resolve()}".encode()).hexdigest()[:32]


def bench_of(db: Database, path: Path, clock: Clock, ids: IdMaker, *, afresh: bool = False) -> str:
    """The bench whose log is written here. A copy of the file at another place begins a log of its own."""
    place = place_of(path)
    row = db.execute("SELECT id FROM benches WHERE place = ? ORDER BY rowid DESC LIMIT 1", (place,)).fetchone()
    if row and not afresh:
        return str(row[0])
    now = clock()
    bench_id = ids.new(unix_ms(now))
    insert(db, "benches", {"id": bench_id, "place": place, "began_at": time_text(now)})
    return bench_id


class Store:
    """The records, for any thread. What writes returns after the commit; what reads does not wait for who writes."""

    def __init__(self, folder: Path, connections: Connections, bench_id: str, clock: Clock) -> None:
        self.folder = folder
        self.bench_id = bench_id
        self.clock_warning = ""
        """one sentence once the computer's clock was found set back, else empty"""
        self._connections = connections
        self._clock = clock
        self._ids = IdMaker()
        with self._reading() as db:
            row = db.execute("SELECT at FROM log WHERE bench_id = ? ORDER BY seq DESC LIMIT 1", (bench_id,)).fetchone()
        self._last_at = row[0] if row else ""

    def __enter__(self) -> Store:
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, at: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Close the file. The store cannot be used afterwards."""
        self._connections.close()

    @property
    def path(self) -> Path:
        """The database file."""
        return self._connections.path

    def now(self) -> str:
        """The time now, as the records write it."""
        return time_text(self._clock())

    @contextmanager
    def _writing(self) -> Iterator[Entry]:
        """One transaction: committed at the end, nothing changed on an error."""
        with self._connections.writing() as db:
            moment = self._clock()
            entry = Entry(db, time_text(moment), self.bench_id, self._ids.new(unix_ms(moment)))
            back = bool(self._last_at) and entry.at < time_text(parse_time(self._last_at) - _CLOCK_SLACK)
            if back:
                entry.log("clock set back", entry.new_id, before=self._last_at)
            yield entry
        if back:
            self.clock_warning = (
                f"The computer's clock was set back from {self._last_at} to {entry.at}; set it right, "
                "the records keep their order meanwhile."
            )
        self._last_at = entry.at

    def _reading(self) -> AbstractContextManager[Database]:
        return self._connections.reading()

    # --- writing --------------------------------------------------------------------------------------

    def add_lot(self, lot: Lot) -> Lot:
        """Add a purchase; an empty id is filled in (here and below)."""
        with self._writing() as entry:
            return entries.add_lot(entry, lot)

    def change_lot(self, lot: Lot) -> Lot:
        with self._writing() as entry:
            return entries.change_lot(entry, lot)

    def add_unit(self, unit: Unit) -> Unit:
        """Add a unit. InputError if its tag is empty or on another unit that is still here."""
        with self._writing() as entry:
            return entries.add_unit(entry, unit)

    def change_unit(self, unit: Unit, *, reason: str = "") -> Unit:
        """Replace what is recorded of the unit.

        InputError if it becomes "ready" before its rest is over and its second test done, unless `reason` says why;
        the certificate prints the reason.
        """
        with self._writing() as entry:
            return entries.change_unit(entry, unit, reason)

    def start_visit(
        self, unit_id: str, kind: str, person: str = "", bench: str = "", treatment_id: str | None = None
    ) -> Visit:
        """Begin a visit; its number counts the unit's visits from 1."""
        with self._writing() as entry:
            return entries.start_visit(entry, unit_id, kind, person, bench, treatment_id)

    def finish_visit(self, visit_id: str) -> Visit:
        with self._writing() as entry:
            return entries.finish_visit(entry, visit_id)

    def add_result(self, result: Result) -> Result:
        """Add a try at a check with its readings and findings. InputError for a number that is not finite."""
        with self._writing() as entry:
            return entries.add_result(entry, result)

    def keep_capture(self, npz: bytes) -> str:
        """Store a capture file under its SHA-256 and return that; call it before the row that names it."""
        with told_plainly(self.path):
            return files.keep(self.folder / "captures", npz, ".npz")

    def keep_photo(self, picture: bytes) -> str:
        """Store a JPEG, PNG or WebP under its SHA-256 and return that, for `Note.photo_sha256`."""
        suffix = files.picture_suffix(picture)
        with told_plainly(self.path):
            return files.keep(self.folder / "photos", picture, suffix)

    def add_treatment(self, treatment: Treatment) -> Treatment:
        """Add a treatment and set the unit's rest date by the days that its kind asks for."""
        with self._writing() as entry:
            return entries.add_treatment(entry, treatment)

    def add_note(self, note: Note) -> Note:
        with self._writing() as entry:
            return entries.add_note(entry, note)

    def add_shelf_part(self, part: ShelfPart) -> ShelfPart:
        with self._writing() as entry:
            return entries.add_shelf_part(entry, part)

    def take_shelf_part(self, part_id: str, *, unit_id: str | None = None, count: int = 1) -> None:
        """Take pieces off the shelf, for a unit. InputError when none is left."""
        with self._writing() as entry:
            entries.move_part(entry, part_id, -count, unit_id)

    def set_setting(self, key: str, value: str) -> None:
        """Remember a setting. `rest_days.<kind of treatment>` sets the days of rest after it."""
        with self._writing() as entry:
            entries.set_setting(entry, key, value)

    # --- reading --------------------------------------------------------------------------------------

    def get_setting(self, key: str, default: str = "") -> str:
        with self._reading() as db:
            return queries.setting(db, key, default)

    def lots(self) -> tuple[Lot, ...]:
        """Newest first."""
        with self._reading() as db:
            return queries.lots(db)

    def units(self, search: str = "", limit: int = queries.MAX_FOUND) -> tuple[Unit, ...]:
        """Units with every word of `search` in tag, model, serial number or claim; newest first."""
        with self._reading() as db:
            return queries.units(db, search, limit)

    def units_of_lot(self, lot_id: str) -> tuple[Unit, ...]:
        with self._reading() as db:
            return queries.units_of_lot(db, lot_id)

    def unit(self, unit_id: str) -> Unit:
        """The unit of that id. InputError if there is none."""
        with self._reading() as db:
            return entries.get_unit(db, unit_id)

    def unit_by_serial(self, vendor_id: int, product_id: int, serial: str) -> Unit | None:
        with self._reading() as db:
            return queries.unit_by_serial(db, vendor_id, product_id, serial)

    def visits(self, unit_id: str) -> tuple[Visit, ...]:
        with self._reading() as db:
            return queries.visits(db, unit_id)

    def results_of_visit(self, visit_id: str) -> tuple[Result, ...]:
        with self._reading() as db:
            return queries.results_of_visit(db, visit_id)

    def unfinished_visits(self) -> tuple[Visit, ...]:
        """Visits that can go on, newest first."""
        with self._reading() as db:
            return queries.unfinished_visits(db)

    def history(self, unit_id: str) -> UnitHistory:
        """Everything about a unit, oldest first. InputError if there is none."""
        with self._reading() as db:
            return queries.history(db, entries.get_unit(db, unit_id))

    def treatments_of(self, unit_id: str) -> tuple[Treatment, ...]:
        with self._reading() as db:
            return queries.treatments_of(db, unit_id)

    def treated(self, model: str = "", limit: int = 300) -> tuple[UnitHistory, ...]:
        """Histories of the last treated units (of a model): what the diagnosis learns from."""
        with self._reading() as db:
            return queries.treated(db, model, limit)

    def due(self, today: date | str) -> list[tuple[Unit, str, bool]]:
        """Units that await their second test: (unit, when the rest began, whether the rest date has come)."""
        with self._reading() as db:
            return queries.due(db, str(today))

    def shelf(self) -> tuple[ShelfPart, ...]:
        with self._reading() as db:
            return queries.shelf(db)

    def capture_path(self, sha256: str) -> Path:
        """Where a capture lies (it need not be there). InputError if that is no SHA-256."""
        return files.path_for(self.folder / "captures", sha256, ".npz")

    def photo_path(self, sha256: str) -> Path | None:
        """Where a photo lies; None if it is not here."""
        stem = files.path_for(self.folder / "photos", sha256, "")
        return next(iter(sorted(stem.parent.glob(stem.name + ".*"))), None)
