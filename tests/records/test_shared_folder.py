"""Several benches and one folder: each writes its own records there and reads those of the others."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from station.app.main import main
from station.certificate import keys
from station.records import files
from station.records.shared import other_folders, own_folder
from station.records.store import FILE_NAME
from tests.bench.log_edits import work_on
from tests.records.records_kit import open_store


@pytest.fixture
def benches(tmp_path: Path) -> dict[str, Path]:
    """Two benches with a unit each, and a folder for both."""
    (tmp_path / "shared").mkdir()
    found = {name: tmp_path / name for name in ("one", "two")}
    for name, folder in found.items():
        with open_store(folder) as store:
            work_on(store, f"of {name}")
    return found | {"shared": tmp_path / "shared"}


def sync(monkeypatch: pytest.MonkeyPatch, records: Path, shared: Path, *more: str) -> int:
    monkeypatch.setenv("RESTPOINT_DATA", str(records))
    return main(["sync", str(shared), "--yes", *more])


def tags(folder: Path) -> set[str]:
    with open_store(folder) as store:
        assert store.verify_log().sound
        return {unit.tag for unit in store.units()}


def test_two_benches_come_to_the_same_records_and_to_rest(benches, monkeypatch: pytest.MonkeyPatch, capsys):
    one, two, shared = benches["one"], benches["two"], benches["shared"]
    assert sync(monkeypatch, one, shared) == 0
    assert "No other bench" in capsys.readouterr().out
    for folder in (two, one, two, one):
        assert sync(monkeypatch, folder, shared) == 0
    assert tags(one) == tags(two) == {"of one", "of two"}
    capsys.readouterr()
    assert sync(monkeypatch, two, shared) == 0
    said = capsys.readouterr().out
    assert "Nothing new there" in said
    assert "0 files" in said.splitlines()[-1]
    with open_store(one) as a, open_store(two) as b:
        for unit in a.units():
            assert a.history(unit.id) == b.history(unit.id)


def test_nothing_private_and_no_open_database_lies_in_the_folder(benches, monkeypatch: pytest.MonkeyPatch):
    one, shared = benches["one"], benches["shared"]
    monkeypatch.setenv("RESTPOINT_DATA", str(one))
    assert main(["key", "--new"]) == 0
    assert sync(monkeypatch, one, shared) == 0
    names = {path.name for path in shared.rglob("*") if path.is_file()}
    assert not {"bench.pem", FILE_NAME + "-wal", FILE_NAME + "-shm"} & names
    assert not any(b"PRIVATE KEY" in path.read_bytes() for path in shared.rglob("*") if path.is_file())
    (own,) = shared.iterdir()
    assert len(keys.known_keys(own / "keys")) == 1
    with closing(sqlite3.connect(own / FILE_NAME)) as db:
        assert db.execute("PRAGMA journal_mode").fetchone()[0] == "delete"
        assert db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


def test_records_of_one_that_cannot_be_believed_are_said_and_the_others_come_in(benches, tmp_path, monkeypatch, capsys):
    one, two, shared = benches["one"], benches["two"], benches["shared"]
    assert sync(monkeypatch, two, shared) == 0
    bad = shared / ("bench-" + "0" * 32)
    shutil.copytree(own_folder(shared, two / FILE_NAME), bad)
    with closing(sqlite3.connect(bad / FILE_NAME)) as db:
        db.execute("CREATE TRIGGER swallow BEFORE INSERT ON results BEGIN SELECT RAISE(IGNORE); END")
    capsys.readouterr()
    assert sync(monkeypatch, one, shared) == 2
    assert "changed by another program" in capsys.readouterr().err
    assert tags(one) == {"of one", "of two"}


def test_what_was_cut_short_is_made_again(benches, monkeypatch: pytest.MonkeyPatch):
    one, shared = benches["one"], benches["shared"]

    class Killed(BaseException):
        pass

    calls: list[int] = []

    copy = files.copy_in_place

    def put(source: Path, target: Path) -> None:
        calls.append(1)
        if len(calls) == 2:
            (target.parent / ".half.part").write_bytes(b"half")
            raise Killed
        copy(source, target)

    monkeypatch.setattr(files, "copy_in_place", put)
    with pytest.raises(Killed):
        sync(monkeypatch, one, shared)
    monkeypatch.undo()
    assert other_folders(shared, benches["two"] / FILE_NAME) == ()  # no records yet: nobody reads half of them
    assert sync(monkeypatch, one, shared) == 0
    assert not list(shared.rglob("*.part"))
    assert sync(monkeypatch, benches["two"], shared) == 0
    assert tags(benches["two"]) == {"of one", "of two"}


def test_a_share_that_is_not_there_or_lies_in_the_records(benches, monkeypatch: pytest.MonkeyPatch, capsys):
    assert sync(monkeypatch, benches["one"], benches["shared"] / "gone") == 2
    assert "There is no folder" in capsys.readouterr().err
    (benches["one"] / "inside").mkdir()
    assert sync(monkeypatch, benches["one"], benches["one"] / "inside") == 2
    assert "lies in the records" in capsys.readouterr().err


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names on this system")
def test_a_pipe_in_the_place_of_another_bench(benches, monkeypatch: pytest.MonkeyPatch, capsys):
    other = benches["shared"] / ("bench-" + "0" * 32)
    other.mkdir()
    os.mkfifo(other / FILE_NAME)
    assert sync(monkeypatch, benches["one"], benches["shared"]) == 2
    assert "no ordinary file" in capsys.readouterr().err
