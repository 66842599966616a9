"""`restpoint restore`: records that can no longer be opened come back from a back-up."""

from __future__ import annotations

from station.app import paths
from station.app.main import main
from station.records.types import Unit
from tests.records.records_kit import open_store


def test_damaged_records_come_back_and_the_damaged_file_is_set_aside(capsys):
    folder = paths.records_folder()
    with open_store(folder) as store:
        store.add_unit(Unit("", "A-1", "Plover T2"))
        backup, path = store.daily_backup(), store.path
    path.write_bytes(b"\0" * 4096)
    assert main(["log", "verify"]) == 2, "damaged"
    assert main(["restore"]) == 0
    assert backup.name in capsys.readouterr().out
    assert main(["restore", backup.name]) == 0
    with open_store(folder) as store:
        assert [u.tag for u in store.units("A-1")] == ["A-1"]


def test_a_backup_that_is_not_there_is_refused(capsys):
    assert main(["restore", "nothing.db"]) == 2
    assert "lists those there are" in capsys.readouterr().err
