"""The connections to one records file: one that writes, one that reads, each behind its own lock.

Write-ahead log with synchronous=FULL: a commit is on the disk when it returns, readers do not wait for the writer
(https://www.sqlite.org/wal.html, https://www.sqlite.org/pragma.html#pragma_synchronous). Not for network shares.
"""

from __future__ import annotations

import sqlite3
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from station.errors import RecordError, RecordTooNew
from station.records.checkpoint import Checkpointer
from station.records.faults import told_plainly
from station.records.kept import refresh
from station.records.schema import APPLICATION_ID, newest_version
from station.words import records as words

_WAL_PAGES = 16_000
"""pages in the write-ahead log (64 MB) before a commit folds it in itself, if the check-pointer did not get to it"""
_CACHE_KB = 32_000


def connect(path: Path, *, read_only: bool, busy_ms: int) -> sqlite3.Connection:
    """A connection with everything set that SQLite keeps per connection. Raises sqlite3.Error."""
    if not read_only:
        connection = sqlite3.connect(path, timeout=busy_ms / 1000, isolation_level=None, check_same_thread=False)
    else:
        connection = _connect_read_only(path, busy_ms)
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute(f"PRAGMA cache_size = -{_CACHE_KB}")
    connection.execute("PRAGMA recursive_triggers = ON")  # so that REPLACE cannot get round the append-only triggers
    if read_only:
        connection.execute("PRAGMA query_only = ON")
    else:
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute(f"PRAGMA wal_autocheckpoint = {_WAL_PAGES}")
        if sys.platform == "darwin":
            connection.execute("PRAGMA fullfsync = 1")  # or fsync returns before the drive has written
    return connection


def _connect_read_only(path: Path, busy_ms: int) -> sqlite3.Connection:
    """Read-only; in a folder that nobody can write, where the log is empty, without SQLite's locks ("immutable")."""
    uri = path.absolute().as_uri()
    log = path.with_name(path.name + "-wal")
    without_locks = "mode=ro&immutable=1"
    for options in ("mode=ro", without_locks):
        connection = sqlite3.connect(
            f"{uri}?{options}", timeout=busy_ms / 1000, isolation_level=None, check_same_thread=False, uri=True
        )
        try:
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except sqlite3.OperationalError as fault:
            connection.close()
            cannot_lock = fault.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY)
            if options == without_locks or not cannot_lock or (log.exists() and log.stat().st_size):
                raise
        else:
            break
    return connection


def use_wal(db: sqlite3.Connection, busy_ms: int, path: Path) -> None:
    """Switch to the write-ahead log; waits for another program that is just opening the file too. RecordError where
    the disk does not let it come on: without it a commit is not what the records promise."""
    until = time.monotonic() + busy_ms / 1000
    while True:
        try:
            mode = db.execute("PRAGMA journal_mode").fetchone()[0]
            if mode != "wal":
                mode = db.execute("PRAGMA journal_mode = wal").fetchone()[0]
        except sqlite3.OperationalError as fault:
            if fault.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.01)
        else:
            if mode != "wal":
                raise RecordError(words.NO_WAL.format(folder=path.parent, mode=mode))
            return


@contextmanager
def one_moment(db: sqlite3.Connection) -> Iterator[None]:
    """What is read inside is of one moment: nobody commits in between unseen."""
    db.execute("BEGIN")
    try:
        yield
    finally:
        if db.in_transaction:
            db.execute("ROLLBACK")


def version_of(db: sqlite3.Connection, path: Path) -> int:
    """Schema version of the file (0: empty). RecordTooNew or RecordError when it is not for us."""
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    application = int(db.execute("PRAGMA application_id").fetchone()[0])
    has_tables = db.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone() is not None
    if has_tables and application != APPLICATION_ID:
        raise RecordError(words.OF_ANOTHER_PROGRAM.format(file=path))
    if version > newest_version():
        raise RecordTooNew(words.TOO_NEW.format(folder=path.parent))
    return version


class Connections:
    """A writer and a reader on one file, for any thread."""

    def __init__(self, path: Path, *, read_only: bool, busy_ms: int) -> None:
        self.path = path
        self.read_only = read_only
        self._busy_ms = busy_ms
        self._write_lock = threading.RLock()
        self._read_lock = threading.RLock()
        self._writer: sqlite3.Connection | None = None
        self._reader: sqlite3.Connection | None = None
        self._checkpointer: Checkpointer | None = None

    def open_writer(self) -> sqlite3.Connection:
        """Open the writing connection; once."""
        self._writer = connect(self.path, read_only=False, busy_ms=self._busy_ms)
        self._checkpointer = Checkpointer(lambda: connect(self.path, read_only=False, busy_ms=self._busy_ms))
        return self._writer

    def open_reader(self) -> sqlite3.Connection:
        """Open the reading connection; once."""
        self._reader = connect(self.path, read_only=True, busy_ms=self._busy_ms)
        return self._reader

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction that holds the write lock from its start; commits at the end, with what is kept for the views
        as it is then, and undoes everything on an error.

        BEGIN IMMEDIATE, because a transaction that begins by reading fails at once with SQLITE_BUSY_SNAPSHOT
        when another program wrote in between, whatever the busy time-out.
        """
        if self._writer is None:
            raise RecordError(words.READ_ONLY)
        with self._write_lock, told_plainly(self.path):
            db = self._writer
            db.execute("BEGIN IMMEDIATE")
            try:
                yield db
                refresh(db)
                db.execute("COMMIT")
            except BaseException:
                db.rollback()
                raise
        if self._checkpointer is not None:
            self._checkpointer.committed()

    @contextmanager
    def outside(self) -> Iterator[sqlite3.Connection]:
        """The writing connection without a transaction, for back-ups and check-points."""
        if self._writer is None:
            raise RecordError(words.READ_ONLY)
        with self._write_lock, told_plainly(self.path):
            yield self._writer

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """The reading connection; one picture of the records for the whole block."""
        if self._reader is None:
            raise RecordError(words.CLOSED)
        with self._read_lock, told_plainly(self.path):
            db = self._reader
            db.execute("BEGIN")
            try:
                yield db
            finally:
                db.rollback()

    @contextmanager
    def reading_apart(self) -> Iterator[sqlite3.Connection]:
        """A connection of its own, for long readings that must not keep short ones waiting."""
        with told_plainly(self.path):
            db = connect(self.path, read_only=True, busy_ms=self._busy_ms)
            with closing(db):
                db.execute("BEGIN")
                yield db

    @contextmanager
    def closed(self) -> Iterator[None]:
        """Both connections closed, nobody else of this program let in; the caller opens them again afterwards."""
        with self._write_lock, self._read_lock:
            self.close()
            yield

    def close(self) -> None:
        """Close both; the last program to close folds the write-ahead log into the file."""
        with self._write_lock, self._read_lock:
            if self._checkpointer is not None:
                self._checkpointer.close()
                self._checkpointer = None
            for db in (self._reader, self._writer):
                if db is not None:
                    db.close()
            self._reader = self._writer = None
