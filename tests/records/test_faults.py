"""Full disk, read-only folder, locked file, corrupt page, clock set back: one clear sentence each, nothing lost."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from station.errors import RecordCorrupt, RecordError, RecordFull, RecordLocked, RecordRefused, RecordTooNew
from station.records.faults import file_error, record_error
from station.records.opening import check_sqlite
from station.records.schema import APPLICATION_ID, newest_version
from station.records.store import FILE_NAME, Store
from station.words import figures
from tests.records.records_kit import HandClock, a_result, a_unit, open_store, restore_records


def fill(store: Store, results: int) -> str:
    """A unit with that many results; returns the visit."""
    visit = store.start_visit(store.add_unit(a_unit()).id, "intake")
    for _ in range(results):
        store.add_result(a_result(visit.id))
    return visit.id


def a_fault(code: int) -> sqlite3.OperationalError:
    fault = sqlite3.OperationalError("something of SQLite's")
    fault.sqlite_errorcode = code
    return fault


@pytest.mark.parametrize(
    ("code", "kind", "says"),
    [
        pytest.param(sqlite3.SQLITE_BUSY, RecordLocked, "Another program", id="busy"),
        pytest.param(sqlite3.SQLITE_BUSY_SNAPSHOT, RecordLocked, "Another program", id="an extended code of busy"),
        pytest.param(sqlite3.SQLITE_LOCKED, RecordLocked, "Another program", id="locked"),
        pytest.param(sqlite3.SQLITE_FULL, RecordFull, "is full", id="full"),
        pytest.param(sqlite3.SQLITE_CORRUPT, RecordCorrupt, "is damaged", id="corrupt"),
        pytest.param(sqlite3.SQLITE_NOTADB, RecordCorrupt, "is damaged", id="not a database"),
        pytest.param(sqlite3.SQLITE_READONLY, RecordError, "cannot be opened for writing", id="read-only"),
        pytest.param(sqlite3.SQLITE_CANTOPEN, RecordError, "cannot be opened for writing", id="cannot open"),
        pytest.param(sqlite3.SQLITE_IOERR_FSYNC, RecordError, "check the disk", id="input or output"),
        pytest.param(sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY, RecordRefused, "refused this entry", id="constraint"),
        pytest.param(sqlite3.SQLITE_ERROR, RecordError, "could not be used", id="anything else"),
    ],
)
def test_every_code_of_sqlite_has_its_sentence(code: int, kind: type[RecordError], says: str):
    told = record_error(a_fault(code), Path("/somewhere/restpoint.db"))
    assert type(told) is kind
    assert says in str(told)
    assert str(told).endswith(".")


@pytest.mark.parametrize(("number", "kind"), [(28, RecordFull), (30, RecordError), (13, RecordError), (5, RecordError)])
def test_errors_of_the_file_system_have_their_sentence(number: int, kind: type[RecordError]):
    assert type(file_error(OSError(number, "why"), Path("/somewhere/x"))) is kind


def test_a_locked_file_is_said_and_the_entry_can_be_made_again(tmp_path: Path):
    with open_store(tmp_path, clock=HandClock(), busy_ms=20) as store:
        visit = fill(store, 2)
        other = sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(RecordLocked, match="close it, or wait"):
            store.add_result(a_result(visit))
        assert len(store.results_of_visit(visit)) == 2
        other.execute("ROLLBACK")
        other.close()
        store.add_result(a_result(visit))
        assert len(store.results_of_visit(visit)) == 3


def test_a_full_file_is_said_nothing_is_lost_and_it_goes_on_when_there_is_room(tmp_path: Path):
    with open_store(tmp_path, clock=HandClock()) as store:
        visit = fill(store, 3)
        with store._connections.outside() as db:
            pages = db.execute("PRAGMA page_count").fetchone()[0]
            db.execute(f"PRAGMA max_page_count = {pages}")
        kept = []
        with pytest.raises(RecordFull, match="make room"):
            kept.extend(store.add_result(a_result(visit)) for _ in range(1000))
        assert len(store.results_of_visit(visit)) == 3 + len(kept)
        with store._connections.outside() as db:
            db.execute("PRAGMA max_page_count = 1000000")
        store.add_result(a_result(visit))
        assert store.verify_log().sound
        assert store.first_problem() == ""


_ON_A_SMALL_DISK = """
import sys
from pathlib import Path
from station.errors import RecordFull
from tests.records.records_kit import open_store
from tests.records.records_kit import a_result, a_unit

folder = Path(sys.argv[1]) / "records"
with open_store(folder) as store:
    visit = store.start_visit(store.add_unit(a_unit()).id, "intake")
    kept = 0
    try:
        while True:
            store.keep_capture(bytes([kept % 256]) * 20_000)
            store.add_result(a_result(visit.id))
            kept += 1
    except RecordFull as fault:
        print(fault)
    for file in list((folder / "captures").rglob("*.npz"))[:10]:
        file.unlink()
    store.add_result(a_result(visit.id))
    assert len(store.results_of_visit(visit.id)) == kept + 1, "a result was lost"
    assert not list((folder / "captures").rglob("*.part")), "half a capture was left"
    assert store.first_problem() == "" and store.verify_log().sound
print("kept", kept)
"""

_A_MIGRATION_ON_A_FULL_DISK = """
import sys
from pathlib import Path
from station.errors import RecordFull
from tests.records.old_files import as_version
from tests.records.records_kit import a_result, a_unit, open_store

folder = Path(sys.argv[1])
with open_store(folder) as store:
    visit = store.start_visit(store.add_unit(a_unit()).id, "intake")
as_version(folder, 1)
before = (folder / "restpoint.db").read_bytes()
filler = (folder / "filler").open("wb", buffering=0)
try:
    while True:
        filler.write(bytes(4096))
except OSError:
    pass
try:
    open_store(folder)
except RecordFull as fault:
    print(fault)
assert (folder / "restpoint.db").read_bytes() == before
filler.close()
(folder / "filler").unlink()
with open_store(folder) as store:
    print("kept", len(store.units()), store.verify_log().sound)
"""

_ON_A_READ_ONLY_DISK = """
import sys
from pathlib import Path
from station.errors import RecordError
from tests.records.records_kit import open_store

folder = Path(sys.argv[1])
try:
    open_store(folder)
except RecordError as fault:
    print(type(fault).__name__, fault)
with open_store(folder, read_only=True) as store:
    print("read", len(store.units()), "units")
"""


def in_a_mount(mount: str, program: str, place: Path) -> str:
    """Run a program with a mount of its own, where the system lets us (a mode would not stop the root user)."""
    if shutil.which("unshare") is None:
        pytest.skip("no unshare on this system")
    command = f"mount {mount} && exec {sys.executable} -c \"$PROGRAM\" '{place}'"
    root = Path(__file__).parents[2]
    done = subprocess.run(
        ["unshare", "-rm", "sh", "-c", command],
        capture_output=True, text=True, timeout=60, check=False, cwd=root,
        env={"PROGRAM": program, "PATH": "/usr/sbin:/usr/bin:/sbin:/bin", "PYTHONPATH": str(root)},
    )  # fmt: skip
    if "unshare" in done.stderr or "mount:" in done.stderr:
        pytest.skip("this system lets no ordinary program mount")
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_a_disk_that_is_really_full_is_said_and_nothing_is_lost(tmp_path: Path):
    said = in_a_mount(f"-t tmpfs -o size=2m none '{tmp_path}'", _ON_A_SMALL_DISK, tmp_path)
    assert "is full; nothing recorded was lost" in said
    assert int(said.split()[-1]) > 10


def test_a_migration_on_a_full_disk_is_said_and_leaves_the_file_as_it_was(tmp_path: Path):
    said = in_a_mount(f"-t tmpfs -o size=2m none '{tmp_path}'", _A_MIGRATION_ON_A_FULL_DISK, tmp_path)
    assert "is full" in said
    assert said.splitlines()[-1] == "kept 1 True"


def test_a_read_only_folder_is_said_and_can_still_be_read(tmp_path: Path):
    with open_store(tmp_path) as store:
        store.add_unit(a_unit())
    said = in_a_mount(f"--bind -o ro '{tmp_path}' '{tmp_path}'", _ON_A_READ_ONLY_DISK, tmp_path)
    assert "RecordError The records in" in said
    assert "allow this user to write in that folder" in said
    assert "read 1 units" in said


def spoil(path: Path, page: int, size: int = 4096) -> None:
    """Overwrite a page of the file."""
    with path.open("rb+") as file:
        file.seek(page * size)
        file.write(b"\xa5" * size)


def test_a_corrupt_page_is_said_and_a_back_up_brings_the_records_back(tmp_path: Path):
    clock = HandClock()
    with open_store(tmp_path, clock=clock) as store:
        visit = fill(store, 60)
        unit = store.units()[0]
        made = store.daily_backup()
    with sqlite3.connect(tmp_path / FILE_NAME) as file:
        page = file.execute("SELECT rootpage FROM sqlite_master WHERE name = 'results'").fetchone()[0]
    file.close()
    spoil(tmp_path / FILE_NAME, page - 1)
    with open_store(tmp_path, clock=clock) as store:
        with pytest.raises(RecordCorrupt, match="restore the newest back-up"):
            store.results_of_visit(visit)
        clock.move(days=1)
        with pytest.raises(RecordCorrupt, match="damaged"):
            store.daily_backup()
        assert store.backups() == (made,)
        aside = store.restore_backup(made)
        assert len(store.results_of_visit(visit)) == 60
        assert store.units() == (unit,)
        assert store.verify_log().sound
        assert aside is not None
        assert aside.exists()


def test_a_file_that_is_no_database_any_more_is_said_and_can_be_restored(tmp_path: Path):
    clock = HandClock()
    with open_store(tmp_path, clock=clock) as store:
        fill(store, 2)
        made = store.daily_backup()
    spoil(tmp_path / FILE_NAME, 0)
    with pytest.raises(RecordCorrupt, match="is damaged"):
        open_store(tmp_path)
    aside = restore_records(tmp_path, made, clock=clock)
    assert aside is not None
    with open_store(tmp_path, clock=clock) as store:
        assert len(store.units()) == 1
        assert len(store.verify_log().heads) == 2


def test_a_newer_file_is_refused_and_left_alone(tmp_path: Path):
    open_store(tmp_path).close()
    with sqlite3.connect(tmp_path / FILE_NAME) as file:
        file.execute(f"PRAGMA user_version = {newest_version() + 1}")
    file.close()
    before = (tmp_path / FILE_NAME).read_bytes()
    for read_only in (False, True):
        with pytest.raises(RecordTooNew, match="newer version of Restpoint; install that version"):
            open_store(tmp_path, read_only=read_only)
    assert (tmp_path / FILE_NAME).read_bytes() == before


def test_the_database_of_another_program_is_left_alone(tmp_path: Path):
    with sqlite3.connect(tmp_path / FILE_NAME) as file:
        file.execute("CREATE TABLE theirs (x)")
        assert file.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID
    file.close()
    with pytest.raises(RecordError, match="another program"):
        open_store(tmp_path)


def test_no_records_to_read_is_said(tmp_path: Path):
    with pytest.raises(RecordError, match="There are no records"):
        open_store(tmp_path, read_only=True)


def test_a_folder_that_is_a_file_is_said(tmp_path: Path):
    (tmp_path / "file").write_text("")
    with pytest.raises(RecordError, match="could not be used"):
        open_store(tmp_path / "file")


def test_an_sqlite_that_is_too_old_is_said():
    with pytest.raises(RecordError, match=r"3\.31\.1.*install a newer Python"):
        check_sqlite((3, 31, 1))


def test_a_clock_set_back_is_said_logged_and_changes_no_order(tmp_path: Path):
    clock = HandClock("2026-03-06T10:00:00+00:00")
    with open_store(tmp_path, clock=clock) as store:
        visit = fill(store, 2)
        assert store.clock_warning == ""
        clock.move(hours=-5)
        store.add_result(a_result(visit))
        before, now = (figures.when(at, clock()) for at in ("2026-03-06T10:00:00Z", "2026-03-06T05:00:00Z"))
        assert f"set back from {before} to {now}; set it right" in store.clock_warning
        clock.move(hours=6)
        store.add_result(a_result(visit))
        assert [r.attempt for r in store.results_of_visit(visit)] == [1, 2, 3, 4]
        assert [r.attempt for r in store.history(store.units()[0].id).results] == [1, 2, 3, 4]
        assert store.verify_log().sound
    with sqlite3.connect(tmp_path / FILE_NAME) as file:
        logged = file.execute("SELECT count(*) FROM log WHERE event LIKE '%clock set back%'").fetchone()[0]
    file.close()
    assert logged == 1


def test_a_clock_set_back_before_the_start_is_noticed_at_the_first_entry(tmp_path: Path):
    with open_store(tmp_path, clock=HandClock("2026-03-06T10:00:00+00:00")) as store:
        visit = fill(store, 1)
    with open_store(tmp_path, clock=HandClock("2026-01-01T00:00:00+00:00")) as store:
        store.add_result(a_result(visit))
        assert "set it right" in store.clock_warning


def test_opening_the_same_new_folder_from_several_threads_works(tmp_path: Path):
    faults: list[BaseException] = []

    def work() -> None:
        try:
            open_store(tmp_path / "records").close()
        except BaseException as fault:  # noqa: BLE001
            faults.append(fault)

    threads = [threading.Thread(target=work) for _ in range(6)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert faults == []
    with open_store(tmp_path / "records") as store:
        assert store.first_problem() == ""


@pytest.mark.parametrize("between", ["PRAGMA application_id", "SELECT 1 FROM sqlite_master"])
def test_a_file_that_another_program_makes_meanwhile_is_not_taken_for_a_strangers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, between: str
):
    """Version, mark and tables were read one after the other: the file could be made between them."""
    other: list[threading.Thread] = []

    class Slow(sqlite3.Connection):
        def execute(self, sql: str, *of: object) -> sqlite3.Cursor:  # type: ignore[override]
            if sql.startswith(between) and not other:
                other.append(threading.Thread(target=lambda: open_store(tmp_path / "records").close()))
                other[0].start()
                other[0].join(1.0)  # it waits for us where what we read is one moment
            return super().execute(sql, *of)  # type: ignore[arg-type]

    plain = sqlite3.connect
    mine = threading.current_thread()

    def connect(*of: object, **named: object) -> sqlite3.Connection:
        own = threading.current_thread() is mine and not other
        return plain(*of, **(named | ({"factory": Slow} if own else {})))  # type: ignore[arg-type]

    monkeypatch.setattr(sqlite3, "connect", connect)
    with open_store(tmp_path / "records") as store:
        assert store.first_problem() == ""
    (thread,) = other
    thread.join()
