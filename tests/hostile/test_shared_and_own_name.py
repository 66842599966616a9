"""What others put into a shared folder: links that say where this bench writes, and entries in its own name."""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from station.app.main import main
from station.records.merge import MergePreview
from station.records.shared import own_folder
from station.records.store import FILE_NAME
from tests.hostile.test_forged_entries import forge
from tests.records.records_kit import PASSED, a_result, a_unit, open_store


@pytest.fixture
def at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Records with a unit that failed, shared once."""
    folder = tmp_path / "home"
    monkeypatch.setenv("RESTPOINT_DATA", str(folder))
    with open_store(folder) as store:
        visit = store.start_visit(store.add_unit(a_unit("A-1")).id, "intake")
        store.add_result(a_result(visit.id, capture_sha256=store.keep_capture(b"failed")))
    (tmp_path / "share").mkdir()
    assert main(["sync", str(tmp_path / "share"), "--yes"]) == 0
    return folder


def carried_on(at_home: Path, monkeypatch: pytest.MonkeyPatch, target: Path) -> None:
    """A copy of the records, as written on by somebody who gives himself out for this bench."""
    target.mkdir(parents=True)
    for path in at_home.glob(f"{FILE_NAME}*"):
        shutil.copy(path, target)
    with monkeypatch.context() as there, open_store(at_home) as ours:
        bench = ours.bench_id
        there.setattr("station.records.opening.bench_of", lambda *_, **__: bench)
        with open_store(target) as store:
            visit = store.unfinished_visits()[0]
            store.add_result(a_result(visit.id, assessment=PASSED))


def test_entries_in_the_name_of_this_bench_are_named_and_need_more_than_yes(
    at_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys
):
    share = tmp_path / "share"
    carried_on(at_home, monkeypatch, share / ("bench-" + "0" * 32))
    capsys.readouterr()
    for command in (["sync", str(share), "--yes"], ["merge", "--yes", str(share / ("bench-" + "0" * 32))]):
        assert main(command) == 1
        said = capsys.readouterr().out
        assert "1 entry of that log stands under the name of this bench" in said
        assert "Another result would stand than now for: A-1." in said
        assert "Nothing was merged" in said
    with open_store(at_home) as store:
        assert len(store.history(store.units()[0].id).results) == 1


def test_what_a_restore_set_aside_comes_back_without_that(at_home: Path):
    seen: list[MergePreview] = []
    with open_store(at_home) as store:
        made = store.daily_backup()
        store.add_result(a_result(store.unfinished_visits()[0].id, assessment=PASSED))
        aside = store.restore_backup(made)
        assert aside is not None
        report = store.merge(aside, lambda preview: not seen.append(preview))
        assert report is not None
        assert (report.results, seen[0].in_our_name) == (1, 0)
        assert store.verify_log().faults == ()


def inside(name: str) -> Callable[[Path, Path], None]:
    def put(own: Path, target: Path) -> None:
        shutil.rmtree(own / name, ignore_errors=True)
        (own / name).parent.mkdir(exist_ok=True)
        (own / name).symlink_to(target, target_is_directory=True)

    return put


def whole(own: Path, target: Path) -> None:
    shutil.rmtree(own)
    own.symlink_to(target, target_is_directory=True)


LINKS = {"the folder itself": whole} | {name: inside(name) for name in ("captures", "photos", "keys", "keys/known")}


@pytest.mark.parametrize("put", LINKS.values(), ids=LINKS.keys())
@pytest.mark.parametrize("where", ["records", "elsewhere"])
def test_a_link_in_the_share_does_not_say_where_this_bench_writes(
    at_home: Path, tmp_path: Path, put: Callable[[Path, Path], None], where: str, capsys
):
    share, target = tmp_path / "share", at_home if where == "records" else tmp_path / "elsewhere"
    target.mkdir(exist_ok=True)
    put(own_folder(share, at_home / FILE_NAME), target)
    with open_store(at_home) as store:
        store.add_unit(a_unit("A-2"))
    before = sorted(path.relative_to(target) for path in target.rglob("*")), (at_home / FILE_NAME).stat().st_ino
    capsys.readouterr()
    assert main(["sync", str(share), "--yes"]) == 2
    assert "leads out of the shared folder" in capsys.readouterr().err
    after = sorted(path.relative_to(target) for path in target.rglob("*")), (at_home / FILE_NAME).stat().st_ino
    assert after == before


def test_a_link_deep_among_the_captures_is_not_followed_either(at_home: Path, tmp_path: Path, capsys):
    share = tmp_path / "share"
    (folder,) = (own_folder(share, at_home / FILE_NAME) / "captures").iterdir()
    shutil.rmtree(folder)
    (tmp_path / "elsewhere").mkdir()
    folder.symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    assert main(["sync", str(share), "--yes"]) == 2
    assert "leads out of the shared folder" in capsys.readouterr().err
    assert not list((tmp_path / "elsewhere").rglob("*.npz"))


def test_the_folder_of_another_bench_that_is_a_link_is_not_read(at_home: Path, tmp_path: Path, capsys):
    with open_store(tmp_path / "two") as store:
        store.add_unit(a_unit("B-1"))
    (tmp_path / "share" / ("bench-" + "1" * 32)).symlink_to(tmp_path / "two", target_is_directory=True)
    assert main(["sync", str(tmp_path / "share"), "--yes"]) == 2
    assert "leads out of the shared folder" in capsys.readouterr().err


def test_a_bench_forged_at_this_place_is_named_too(at_home: Path, tmp_path: Path):
    with open_store(at_home) as store, open_store(tmp_path / "two") as other:
        with store._connections.reading() as db:
            (place,) = db.execute("SELECT place FROM benches").fetchone()
        other.add_unit(a_unit("B-1"))
    forge(tmp_path / "two", lambda db: at_place(db, place))
    seen: list[MergePreview] = []
    with open_store(at_home) as store:
        store.merge(tmp_path / "two", lambda preview: bool(seen.append(preview)))
    assert seen[0].in_our_name == 2


def at_place(db: sqlite3.Connection, place: str) -> None:
    from tests.bench import merge_fuzz

    db.execute("UPDATE benches SET place = ?", (place,))
    merge_fuzz.agree(db)


def test_what_a_killed_merge_left_is_gone_at_the_next_opening(at_home: Path):
    for name, age in ((".merge-old", 7200), (".merge-in-use", 0)):
        (at_home / name).mkdir()
        (at_home / name / "other.db").write_bytes(b"copy")
        then = time.time() - age
        os.utime(at_home / name, (then, then))
    open_store(at_home).close()
    assert [path.name for path in at_home.glob(".merge-*")] == [".merge-in-use"]
