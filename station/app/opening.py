"""Opening this bench's records: the one place where the store is given the rules of the trade."""

from __future__ import annotations

from pathlib import Path

from station.app import paths
from station.judgement import rest
from station.records import store


def open_records(*, read_only: bool = False) -> store.Store:
    """Open the records in the person's folder. Raises the RecordError family."""
    return store.open_store(paths.records_folder(), rest, read_only=read_only)


def restore_records(back_up: Path) -> Path | None:
    """Put a back-up in the place of records that need not open any more; returns where those were set aside."""
    return store.restore_records(paths.records_folder(), back_up, rest)
