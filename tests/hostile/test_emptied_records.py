"""Records that were emptied, or are gone, beside what belongs to them are not begun anew, and no good back-up goes."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from station.app.main import main
from station.errors import RecordCorrupt, RecordError
from station.records import backup
from station.records.connection import use_wal
from station.records.store import FILE_NAME
from tests.bench.log_edits import work_on
from tests.records.records_kit import HandClock, a_unit, open_store


def delete_all(path: Path) -> None:
    """What a tool for SQLite does: every row gone, the tables as they were."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        tables = [r[0] for r in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        for table in tables:
            if not table.startswith(("unit_text", "_sqlite", "sqlite_")):
                db.execute(f"DELETE FROM {table}")
        for _, sql in guards:
            db.execute(sql)


def begin_anew(path: Path) -> None:
    """A fresh file of the program put in its place."""
    path.unlink()
    open_store(path.parent / "fresh").close()
    (path.parent / "fresh" / FILE_NAME).rename(path)


GONE = [
    pytest.param(Path.unlink, id="gone"),
    pytest.param(lambda path: path.write_bytes(b""), id="emptied"),
    pytest.param(delete_all, id="every row deleted"),
    pytest.param(begin_anew, id="a fresh one in its place"),
]


@pytest.mark.parametrize("make", GONE)
@pytest.mark.parametrize("left", ["captures", "photos", "certificates", "backups"])
def test_it_is_said_with_the_way_out_and_nothing_is_begun(tmp_path: Path, make: Callable[[Path], None], left: str):
    with open_store(tmp_path) as store:
        work_on(store, "A-0")
        store.daily_backup()
    (tmp_path / "certificates").mkdir()
    (tmp_path / "certificates" / "SM-07-01.pdf").write_bytes(b"%PDF-1.7")
    for beside in tmp_path.glob(FILE_NAME + "-*"):
        beside.unlink()
    for folder in {"captures", "photos", "certificates", "backups"} - {left}:
        (tmp_path / folder).rename(tmp_path.parent / f"{tmp_path.name}-{folder}")
    make(tmp_path / FILE_NAME)
    with pytest.raises(RecordCorrupt) as told:
        open_store(tmp_path)
    assert left in str(told.value)
    assert ("restpoint restore restpoint-" in str(told.value)) is (left == "backups")
    assert len(list((tmp_path / "backups").glob("*.db"))) == (1 if left == "backups" else 0)


def test_the_way_out_that_is_named_works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys):
    with open_store(tmp_path) as store:
        work_on(store, "A-0")
        name = store.daily_backup().name
    (tmp_path / FILE_NAME).unlink()
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path))
    assert main(["merge", str(tmp_path / "backups" / name), "--yes"]) == 2
    assert f"restpoint restore {name}" in capsys.readouterr().err
    assert main(["restore", name]) == 0
    with open_store(tmp_path) as store:
        assert [unit.tag for unit in store.units()] == ["A-0"]


def test_records_that_were_opened_and_never_written_are_opened_again(tmp_path: Path):
    for _ in range(2):
        with open_store(tmp_path) as store:
            store.daily_backup()
            assert store.units() == ()
            assert store.verify_log().sound


def test_a_merge_into_new_records_that_was_cut_short_is_no_emptied_file(tmp_path: Path, monkeypatch):
    """Its captures are there, its rows are not."""
    with open_store(tmp_path / "other") as other:
        work_on(other, "B-0")
    preview = preview_of(tmp_path)
    with open_store(tmp_path / "new") as store:
        monkeypatch.setattr("station.records.merge.join", lambda *_: killed())
        monkeypatch.setattr(store, "_preview", lambda db, source: preview)
        with pytest.raises(SystemExit):
            store.merge(tmp_path / "other")
        assert list((tmp_path / "new" / "captures").rglob("*.npz"))
    monkeypatch.undo()
    with open_store(tmp_path / "new") as store:
        report = store.merge(tmp_path / "other")
        assert report is not None
        assert report.units == 1


def killed() -> None:
    raise SystemExit("as by a kill: nothing is tidied")


def preview_of(folder: Path) -> object:
    with open_store(folder / "aside") as aside:
        seen: list[object] = []
        aside.merge(folder / "other", lambda preview: bool(seen.append(preview)))
    return seen[0]


# --- back-ups -------------------------------------------------------------------------------------------------


def test_a_back_up_that_holds_more_than_the_newer_ones_is_never_pruned(tmp_path: Path):
    clock = HandClock()
    with open_store(tmp_path / "old", clock=clock) as store:
        work_on(store, "A-0")
        good = store.daily_backup()
    folder = tmp_path / "records" / "backups"
    folder.mkdir(parents=True)
    good.rename(folder / good.name)
    with open_store(tmp_path / "empty", clock=clock) as store:
        for _ in range(backup.KEPT + 3):
            clock.move(days=1)
            made = store.daily_backup()
            made.rename(folder / made.name)
    backup.prune(folder)
    left = sorted(path.name for path in folder.glob("*.db"))
    assert good.name in left
    assert len(left) == backup.KEPT + 1


def test_a_back_up_that_cannot_be_read_is_not_pruned(tmp_path: Path):
    clock = HandClock()
    with open_store(tmp_path, clock=clock) as store:
        first = store.daily_backup()
        first.write_bytes(first.read_bytes()[:5000])
        for _ in range(backup.KEPT + 2):
            clock.move(days=1)
            store.add_unit(a_unit(f"A-{_}"))
            store.daily_backup()
        assert first in store.backups()
        assert len(store.backups()) == backup.KEPT + 1


# --- the write-ahead log --------------------------------------------------------------------------------------------


class _NoWal:
    """A connection on a disk that has no shared memory: the mode stays what it was, without an error."""

    def execute(self, sql: str) -> _NoWal:
        return self

    def fetchone(self) -> tuple[str]:
        return ("delete",)


def test_a_write_ahead_log_that_did_not_come_on_is_said(tmp_path: Path):
    with pytest.raises(RecordError, match=r"stays in mode “delete”.*restpoint sync"):
        use_wal(_NoWal(), 10, tmp_path / FILE_NAME)  # type: ignore[arg-type]


def test_records_on_a_network_share_are_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys):
    monkeypatch.setattr("station.records.store.shared_by_network", lambda folder: "nfs4")
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "data"))
    with open_store(tmp_path / "other") as other:
        work_on(other, "B-0")
    assert main(["merge", str(tmp_path / "other"), "--yes"]) == 0
    said = capsys.readouterr().err
    assert "network share (nfs4)" in said
    assert "restpoint sync" in said


# --- where records are given --------------------------------------------------------------------------------------


def test_records_without_a_name_are_not_the_current_folder(tmp_path: Path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit):
        main(["--records", "", "export", "x"])
    assert "has no name" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_file_is_no_folder_of_records(tmp_path: Path, capsys):
    open_store(tmp_path).close()
    with pytest.raises(SystemExit):
        main(["--records", str(tmp_path / FILE_NAME), "log", "verify"])
    assert f"give the folder that it lies in, {tmp_path}" in capsys.readouterr().err


def test_a_back_up_is_restored_by_its_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    with open_store(tmp_path / "old") as store:
        work_on(store, "A-0")
        made = store.daily_backup()
    kept = made.rename(tmp_path / "on a stick.db")
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "new"))
    assert main(["restore", str(kept)]) == 0
    with open_store(tmp_path / "new") as store:
        assert [unit.tag for unit in store.units()] == ["A-0"]


def test_records_that_are_in_use_are_restored_with_what_lies_in_their_log(tmp_path: Path, monkeypatch):
    """The path of a live file: what is in its write-ahead log comes too."""
    with open_store(tmp_path / "old") as store:
        work_on(store, "A-0")
        monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "new"))
        assert main(["restore", str(store.path)]) == 0
    with open_store(tmp_path / "new") as store:
        assert [unit.tag for unit in store.units()] == ["A-0"]
