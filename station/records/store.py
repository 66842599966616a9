"""The records of a bench: one folder with the database, the captures, the photos and the back-ups.

folder/restpoint.db      SQLite (tables: docs/records.md)
folder/captures/ab/cd/…  capture files, named by their SHA-256
folder/photos/ab/cd/…    photos, likewise
folder/backups/…         daily back-ups and those made before a migration
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from types import TracebackType

from station.capture.regular import is_regular
from station.capture.text import visible
from station.errors import InputError, RecordError
from station.records import (
    arriving,
    backup,
    beside,
    chain,
    copies,
    entries,
    files,
    issuing,
    kept,
    old_file,
    selling,
    states,
    withdrawing,
)
from station.records import merge as merging
from station.records.arriving import Arrival
from station.records.chain import Head, Logged
from station.records.clock import Clock, after, parse_time, system_clock, time_text, unix_ms
from station.records.connection import Connections, connect
from station.records.entries import Entry
from station.records.export import ExportReport, export
from station.records.faults import told_plainly
from station.records.ids import IdMaker
from station.records.merge import MergePreview, MergeReport
from station.records.opening import bench_of, prepare
from station.records.place import FILE_NAME, place_of, shared_by_network
from station.records.reader import Reader
from station.records.restore import put_back
from station.records.rules import RestRule
from station.records.shared import put_own
from station.records.types import Comeback, Issued, Lot, Note, Result, ShelfPart, Treatment, Unit, Visit, Withdrawal
from station.records.verify import LogReport, Noted, verify
from station.words import figures
from station.words import records as words

BUSY_MS = 5000
_CLOCK_SLACK = timedelta(minutes=2)


def open_store(
    folder: Path, rule: RestRule, *, read_only: bool = False, clock: Clock = system_clock, busy_ms: int = BUSY_MS
) -> Store:
    """Open the records in `folder` and bring them up to date; without `read_only` they are made if there are none.

    `rule` says how long a treated unit rests and when it may be called ready.
    Raises the RecordError family: RecordTooNew, RecordLocked, RecordCorrupt, RecordFull.
    """
    return _open(folder, rule, read_only=read_only, clock=clock, busy_ms=busy_ms)


def _open(
    folder: Path,
    rule: RestRule,
    *,
    read_only: bool = False,
    clock: Clock = system_clock,
    busy_ms: int = BUSY_MS,
    afresh: bool = False,
) -> Store:
    path = folder / FILE_NAME
    if read_only and not path.is_file():
        raise RecordError(words.NO_RECORDS.format(folder=folder, file=FILE_NAME))
    if path.exists() and not is_regular(path):
        raise RecordError(words.NO_FILE_OF_RECORDS.format(file=path))
    if read_only:
        return Store(folder, old_file.open_to_read(path, busy_ms), "", rule, clock)
    with told_plainly(path):
        folder.mkdir(parents=True, exist_ok=True)
        connections = Connections(path, read_only=False, busy_ms=busy_ms)
        try:
            bench_id = prepare(connections, clock, busy_ms, afresh=afresh)
            connections.open_reader()
            merging.sweep(folder)
        except BaseException:
            connections.close()
            raise
    return Store(folder, connections, bench_id, rule, clock)


def restore_records(folder: Path, back_up: Path, rule: RestRule, *, clock: Clock = system_clock) -> Path | None:
    """Put a back-up in the place of records that cannot be opened any more; returns where those were set aside."""
    path = folder / FILE_NAME
    with told_plainly(path):
        folder.mkdir(parents=True, exist_ok=True)
    aside = put_back(path, back_up, time_text(clock()))
    with _open(folder, rule, clock=clock, afresh=True) as store:
        store._log_restored(back_up)
    return aside


class Store(Reader):
    """The records, for any thread. What writes returns after the commit; what reads does not wait for who writes."""

    def __init__(self, folder: Path, connections: Connections, bench_id: str, rule: RestRule, clock: Clock) -> None:
        super().__init__(folder, connections, rule)
        self.bench_id = bench_id
        self.clock_warning = ""
        """one sentence once the computer's clock was found set back, else empty"""
        kind = "" if connections.read_only else shared_by_network(folder)
        self.place_warning = words.ON_A_NETWORK.format(folder=folder, kind=kind) if kind else ""
        """one sentence when the records lie where several computers can reach them, else empty"""
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
            moment = after(self._clock(), self._last_at)
            entry = Entry(db, time_text(moment), self.bench_id, self._ids.new(unix_ms(moment)), self._rule)
            back = bool(self._last_at) and entry.at < time_text(parse_time(self._last_at) - _CLOCK_SLACK)
            if back:
                entry.log(Logged.CLOCK_SET_BACK, entry.new_id, before=self._last_at)
            yield entry
        if back:
            before, now = (figures.when(at, moment) for at in (self._last_at, entry.at))
            self.clock_warning = words.CLOCK_SET_BACK.format(before=before, now=now)
        self._last_at = entry.at

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

    def take_in(self, lot: Lot, units: Sequence[Unit]) -> Arrival:
        """Add units to a lot, and the lot too where its id is empty: all or nothing, to be taken back as one
        (`withdraw_arrival`). InputError for a tag that is taken."""
        with self._writing() as entry:
            return arriving.take_in(entry, self._new_id, lot, units)

    def change_unit(self, unit: Unit, *, reason: str = "") -> Unit:
        """Replace what is recorded of the unit.

        InputError if it becomes "ready" before its rest is over, its second test done and what its treatments made due
        tested again, unless `reason` says why; the certificate prints the reason while it holds.
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

    def add_treatment(self, treatment: Treatment, *, shelf_part_id: str = "", ends: Sequence[Visit] = ()) -> Treatment:
        """Add a treatment, set the unit's rest date by the days that its kind asks for, and open again what was ready.

        `shelf_part_id`: the part came from the shelf, which has one piece less then. InputError when none is left.
        `ends`: visits that are finished by it. All of it or nothing.
        """
        with self._writing() as entry:
            for visit in ends:
                entries.finish_visit(entry, visit.id)
            entry = replace(entry, new_id=treatment.id or entry.new_id)  # what it brings along goes by its id
            added = entries.add_treatment(entry, treatment)
            if shelf_part_id:
                entries.move_part(entry, shelf_part_id, -1, treatment.unit_id)
            return added

    def come_back(self, comeback: Comeback) -> Comeback:
        """Add the return of a sold unit, which is open again; the sale's figures are filled in from the unit.

        `found` "same fault": the cure that it names, else the last treatment, did not hold. InputError when the unit is
        not sold, or more than its price would be refunded.
        """
        with self._writing() as entry:
            return selling.come_back(entry, self._new_id, comeback)

    def look_at_comeback(
        self, comeback_id: str, found: str, treatment_id: str | None = None, person: str = ""
    ) -> Comeback:
        """Say what was found of a unit that came back; the return as it was told before stays in the log, withdrawn."""
        with self._writing() as entry:
            return selling.look_at(entry, self._new_id, comeback_id, found, treatment_id, person)

    def add_note(self, note: Note) -> Note:
        with self._writing() as entry:
            return entries.add_note(entry, note)

    def next_certificate(self, above: int = 0) -> tuple[int, str]:
        """The number that the next certificate of this bench gets, and how it is printed. `above`: the highest that is
        known without these records, which may come from a back-up."""
        with self._reading() as db:
            number = issuing.next_number(db, self.bench_id, above)
        return number, issuing.name_of(self.bench_id, number)

    def add_certificate(self, issued: Issued, above: int = 0) -> Issued | None:
        """Record a certificate whose file lies on the disk; None where its number was taken meanwhile. Id, bench and
        time are set here."""
        with self._writing() as entry:
            return issuing.add(entry, issued, above)

    def add_shelf_part(self, part: ShelfPart) -> ShelfPart:
        with self._writing() as entry:
            return entries.add_shelf_part(entry, part)

    def give_up(self, unit: Unit, parts: Sequence[ShelfPart], *, reason: str = "") -> Unit:
        """Make the unit a donor and put its parts on the shelf: both or neither."""
        with self._writing() as entry:
            given = entries.change_unit(entry, replace(unit, becomes="donor"), reason)
            for part in parts:
                one = replace(entry, new_id=self._new_id())
                entries.add_shelf_part(one, replace(part, source_unit_id=unit.id))
            return given

    def take_shelf_part(self, part_id: str, *, unit_id: str | None = None, count: int = 1) -> None:
        """Take pieces off the shelf, for a unit. InputError when none is left."""
        with self._writing() as entry:
            entries.move_part(entry, part_id, -count, unit_id)

    def set_setting(self, key: str, value: str) -> None:
        """Remember a setting. `rest_days.<kind of treatment>` sets the days of rest after it."""
        with self._writing() as entry:
            entries.set_setting(entry, key, value)

    # --- mistakes taken back --------------------------------------------------------------------------

    def _new_id(self) -> str:
        return self._ids.new(unix_ms(self._clock()))

    def withdraw(self, what: str, row_id: str, reason: str, person: str = "") -> Withdrawal:
        """Take back a result, treatment, note, part, move of a part, or unit (`what`: one of types.WITHDRAWABLE).

        It stays in the records and counts nowhere. A treatment takes its part back to the shelf, and its rest off the
        unit. InputError without a reason, for what is not there, and for a unit or part that others build on.
        """
        with self._writing() as entry:
            if what == "comeback":
                return selling.withdraw(entry, self._new_id, row_id, reason, person)
            return withdrawing.withdraw(entry, self._new_id, what, row_id, reason, person)

    def withdraw_arrival(self, arrival: Arrival, reason: str, person: str = "") -> tuple[Withdrawal, ...]:
        """Take back all units that came in together, and the lot if it came with them: all or nothing. InputError
        where one of them was worked on since."""
        with self._writing() as entry:
            return arriving.withdraw(entry, self._new_id, arrival, reason, person)

    def take_back_all(self, withdrawals: Sequence[Withdrawal], reason: str, person: str = "") -> None:
        """`take_back` of several that were made as one: all or nothing."""
        with self._writing() as entry:
            for one in withdrawals:
                withdrawing.take_back(entry, self._new_id, one.id, reason, person)

    def take_back(self, withdrawal_id: str, reason: str, person: str = "") -> Withdrawal:
        """Take back a withdrawal: what it named counts again. InputError where that cannot be any more."""
        with self._writing() as entry:
            named = withdrawing.in_force_of(entry.db, withdrawal_id)
            if named is not None and named.what == "comeback":
                return selling.take_back(entry, self._new_id, named, reason, person)
            return withdrawing.take_back(entry, self._new_id, withdrawal_id, reason, person)

    def withdraw_sale(self, unit_id: str, reason: str, person: str = "") -> Withdrawal:
        """The unit was not sold after all. InputError when it is not."""
        with self._writing() as entry:
            return withdrawing.withdraw_sale(entry, self._new_id, unit_id, reason, person)

    def correct_unit(self, unit: Unit, reason: str, person: str = "") -> tuple[Unit, Withdrawal | None]:
        """Put right the tag, model, sheet, lot or ids of a unit; what stood there is withdrawn, with the reason.

        None: nothing differs. InputError when the tag is on another unit that is still here.
        """
        with self._writing() as entry:
            return withdrawing.correct_unit(entry, self._new_id, unit, reason, person)

    def undo_change(self, before: Unit, after: Unit, reason: str, person: str = "") -> Withdrawal | None:
        """Take back a change of a unit, as far as nobody changed it since, with the parts that it gave to the shelf;
        None: nothing is left of it."""
        with self._writing() as entry:
            return withdrawing.undo_change(entry, self._new_id, before, after, reason, person)

    # --- upkeep ---------------------------------------------------------------------------------------

    def daily_backup(self) -> Path:
        """Today's back-up; made if there is none yet. Writers go on meanwhile. RecordCorrupt if the file is damaged.

        Files that a crash left half-written are cleared away too.
        """
        folder, today = self.folder / "backups", self.now()[:10]
        made = backup.daily(folder, today)
        if made is not None:
            return made
        made = self._back_up(backup.DAILY)
        with told_plainly(self.path):
            for kept in ("captures", "photos"):
                files.sweep(self.folder / kept)
        return made

    def _back_up(self, label: str) -> Path:
        """Write a back-up of this kind; what a newer one holds all of makes room."""
        folder = self.folder / "backups"
        with told_plainly(self.path):
            with closing(connect(self.path, read_only=True, busy_ms=BUSY_MS)) as source:
                made = backup.back_up(source, folder, label, self.now())
            backup.prune(folder)
        return made

    def backups(self) -> tuple[Path, ...]:
        """All back-ups, newest first."""
        return tuple(sorted((self.folder / "backups").glob("restpoint-*.db"), reverse=True))

    def restore_backup(self, path: Path) -> Path | None:
        """Put a back-up in the place of the records and open it; returns where the old records were set aside.

        A new log begins: the one of the records that were set aside ends with them.
        """
        with self._connections.closed():
            is_back = False
            try:
                aside = put_back(self.path, path, self.now())
                is_back = True
            finally:
                self.bench_id = prepare(self._connections, self._clock, BUSY_MS, afresh=is_back)
                self._connections.open_reader()
            self._log_restored(path)
        return aside

    def _log_restored(self, back_up: Path) -> None:
        self._last_at = ""
        with self._writing() as entry:
            entry.log(Logged.RESTORED, entry.new_id, source=visible(back_up.name))

    def merge(self, other: Path, agree: Callable[[MergePreview], bool] = lambda _: True) -> MergeReport | None:
        """Join the records of another bench (its folder or its file) into these, with captures and photos.

        `agree` is asked once it is known what that would do; None: it said no, and nothing was done. A back-up comes
        first; all comes in or nothing. InputError for records that cannot be believed, RecordError for those that
        cannot be read.
        """
        source = copies.database_in(other, FILE_NAME)
        if source.resolve() == self.path.resolve():
            raise InputError(words.SAME_RECORDS)
        with merging.snapshot(source, self.folder) as copy, self._connections.outside() as db:
            db.execute("ATTACH ? AS other", (str(copy),))
            try:
                with copies.bounded(db, source):
                    merging.refuse_unsound(db, copy, self.now())
                    preview = self._preview(db, source)
                if not agree(preview):
                    return None
                return self._join(db, source, preview)
            finally:
                db.execute("DETACH other")

    def _preview(self, db: sqlite3.Connection, source: Path) -> MergePreview:
        """What a merge does, by doing it and taking it back."""
        wanted = merging.wanted_files(db, source.parent, self.folder)
        kept_here = source.resolve().parent == (self.folder / "backups").resolve()
        db.execute("BEGIN IMMEDIATE")
        try:
            ours = 0 if kept_here else merging.in_our_name(db, self.bench_id, place_of(self.path))
            stood = merging.standing(db) if ours else {}
            odd = states.odd_names(db)
            added, changes, _ = merging.join(db, self.bench_id, place_of(self.path), self._rule)
            states.settle(db, self.bench_id, self.now(), odd)
            broken = db.execute("PRAGMA main.foreign_key_check").fetchone()
            if broken:
                fault = words.BROKEN_REFERENCE.format(table=broken[0], other=broken[2])
                raise InputError(words.OTHER_LOG.format(fault=fault))
            merging.refuse_broken_log(db, self._faults_before)
            tags = merging.double_tags(db)
            otherwise = merging.other_standing(db, stood) if ours else ()
        finally:
            db.rollback()
        return MergePreview(added, sum(1 for one in wanted if one.source), changes, tags, ours, otherwise)

    def _faults_before(self) -> tuple[str, ...]:
        with self._connections.reading_apart() as db:
            return verify(db, None).faults

    def _join(self, db: sqlite3.Connection, source: Path, preview: MergePreview) -> MergeReport:
        wanted = merging.wanted_files(db, source.parent, self.folder)
        if not preview.nothing:
            self._back_up(backup.BEFORE_MERGE)
        if wanted and beside.is_begun_only(db):
            with self._writing() as entry:  # so that captures beside records without an entry never come of it
                entry.log(Logged.MERGE_BEGUN, entry.new_id, source=visible(source.name))
        count, missing = merging.copy_files(wanted, self.folder)
        bench_id = self.bench_id
        with self._writing() as entry:
            odd = states.odd_names(db)
            added, changes, afresh = merging.join(db, bench_id, place_of(self.path), self._rule)
            if changes != preview.changes:
                raise InputError(words.CHANGED_MEANWHILE)
            if afresh:
                bench_id = bench_of(db, self.path, self._clock, self._ids, afresh=True)
                entry = replace(entry, bench_id=bench_id)
            states.settle(db, bench_id, entry.at, odd)
            if not preview.log_alone:  # or two benches would tell each other of their merges for ever
                entry.log(Logged.MERGED, entry.new_id, rows=added, source=visible(source.name), missing=missing)
        self.bench_id = bench_id
        tags = merging.double_tags(db)
        return MergeReport(
            added["units"], added["visits"], added["results"], added["treatments"], count, missing, tags, changes
        )

    def share(self, shared: Path) -> int:
        """Put these records and what they name into a folder that other benches read; returns how many files were
        new. Raises OSError where that folder cannot be written."""
        with closing(connect(self.path, read_only=True, busy_ms=BUSY_MS)) as source:
            return put_own(source, self.path, shared)

    def export(self, target: Path, *, with_files: bool = True) -> ExportReport:
        """Everything as CSV, JSON and files in a new folder."""
        with self._connections.reading_apart() as db:
            return export(db, self.folder, target, with_files=with_files)

    def verify_log(self, noted: Sequence[Noted] = ()) -> LogReport:
        """Whether the log holds, every row still says what was recorded, the captures are those that were, and what
        was `noted` of the log elsewhere still stands in it."""
        with self._connections.reading_apart() as db:
            return verify(db, self.folder, noted)

    def make_kept_anew(self) -> None:
        """Work out from the rows what the views read."""
        with self._connections.writing() as db:
            kept.make_anew(db)

    def log_heads(self) -> tuple[Head, ...]:
        """Where each bench's log ends, for what leaves this computer."""
        with self._reading() as db:
            return chain.heads(db)

    def first_problem(self) -> str:
        """What is wrong with the file; empty if it is sound (SQLite's integrity and foreign key checks)."""
        with self._connections.reading_apart() as db:
            return backup.first_problem(db)
