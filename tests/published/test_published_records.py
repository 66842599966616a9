"""The records' promises against what SQLite's own documentation says."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from station.records.store import FILE_NAME, Store
from tests.records.records_kit import HandClock, a_result, a_unit, open_store


def _pragma(store: Store, name: str) -> object:
    with store._connections.outside() as db:
        return db.execute(f"PRAGMA {name}").fetchone()[0]


def test_a_commit_is_synced_as_sqlite_documents_for_wal_with_full(tmp_path: Path):
    """https://www.sqlite.org/pragma.html#pragma_synchronous: FULL (2) in WAL mode syncs the log after each commit;
    NORMAL (1) may lose the last commits in a power failure. https://www.sqlite.org/wal.html: the mode
    stays in the file."""
    with open_store(tmp_path) as store:
        assert _pragma(store, "journal_mode") == "wal"
        assert _pragma(store, "synchronous") == 2
        assert _pragma(store, "foreign_keys") == 1
    assert sqlite3.connect(tmp_path / FILE_NAME).execute("PRAGMA journal_mode").fetchone()[0] == "wal"


def test_readers_do_not_block_the_writer_nor_the_writer_readers(tmp_path: Path):
    """https://www.sqlite.org/wal.html, "Concurrency": a reader goes on seeing the picture of its end mark."""
    with open_store(tmp_path, clock=HandClock()) as store:
        store.add_unit(a_unit("SM-07-01"))
        with store._connections.reading() as db:
            before = db.execute("SELECT count(*) FROM units").fetchone()[0]
            store.add_unit(a_unit("SM-07-02"))
            assert db.execute("SELECT count(*) FROM units").fetchone()[0] == before == 1
        assert len(store.units()) == 2


def test_the_online_back_up_holds_what_is_still_in_the_write_ahead_log(tmp_path: Path):
    """https://www.sqlite.org/backup.html; https://www.sqlite.org/wal.html, "Checkpointing": the file alone is older."""
    with open_store(tmp_path, clock=HandClock()) as store:
        unit = store.add_unit(a_unit())
        visit = store.start_visit(unit.id, "intake", "", "", None)
        for _ in range(20):
            store.add_result(a_result(visit.id))
        alone = tmp_path / "file-alone.db"
        alone.write_bytes((tmp_path / FILE_NAME).read_bytes())
        made = sqlite3.connect(store.daily_backup())
        assert made.execute("SELECT count(*) FROM results").fetchone()[0] == 20
        assert made.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        made.close()
        with sqlite3.connect(alone) as behind:
            tables = {r[0] for r in behind.execute("SELECT name FROM sqlite_master")}
            assert "results" not in tables or behind.execute("SELECT count(*) FROM results").fetchone()[0] < 20
        behind.close()


def test_a_transaction_that_begins_by_reading_would_fail_at_once_ours_waits(tmp_path: Path):
    """https://www.sqlite.org/lang_transaction.html and rescode.html#busy_snapshot: BEGIN DEFERRED that read before
    another connection wrote gets SQLITE_BUSY_SNAPSHOT; BEGIN IMMEDIATE takes the write lock first."""
    with open_store(tmp_path, clock=HandClock()) as store:
        store.add_unit(a_unit("SM-07-01"))
        other = sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)
        other.execute("BEGIN")
        other.execute("SELECT count(*) FROM units").fetchone()
        store.add_unit(a_unit("SM-07-02"))
        with pytest.raises(sqlite3.OperationalError) as caught:
            other.execute("UPDATE units SET claim = 'x'")
        other.close()
        assert caught.value.sqlite_errorcode == sqlite3.SQLITE_BUSY_SNAPSHOT
        store.add_unit(a_unit("SM-07-03"))
        assert len(store.units()) == 3
