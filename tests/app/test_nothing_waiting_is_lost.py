"""A result that the records could not take yet outlives its visit, a start of another one, and the program."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from station.app import paths, put_by
from station.app.desk import StationDesk
from station.app.put_by import PutBy
from station.bench.outbox import Outgoing
from station.bench.types import MarkByHand
from station.checks.types import Assessment, Finding, Outcome, Reading
from station.errors import RecordFull, RecordLocked
from station.records import store as records
from station.records.types import Result
from station.sources.devices import Appeared
from station.ui.ports import Said
from tests.app.test_device_ownership import ONE, TWO, World, a_unit, device, said
from tests.bench_session.bench_fakes import UNIT
from tests.records.records_kit import open_store

FULL = RecordFull("The disk that holds the records is full; make room on it.")


@pytest.fixture(autouse=True)
def _no_shared_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))


class Disk:
    """The disk of the records: full or not."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.full: Exception | None = None
        self.file_too = False
        store = records.Store.add_result

        def add(this: records.Store, result: Result) -> Result:
            if self.full is not None:
                raise self.full
            return store(this, result)

        monkeypatch.setattr(records.Store, "add_result", add)
        start = records.Store.start_visit

        def begin(this: records.Store, *args: object) -> object:
            if self.full is not None:
                raise self.full
            return start(this, *args)  # type: ignore[arg-type]

        monkeypatch.setattr(records.Store, "start_visit", begin)
        real = put_by.put_in_place

        def write(content: bytes, target: Path) -> None:
            if self.file_too:
                raise OSError(28, "No space left on device")
            real(content, target)

        monkeypatch.setattr(put_by, "put_in_place", write)


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> Disk:
    return Disk(monkeypatch)


@pytest.fixture
def world() -> World:
    return World()


@pytest.fixture
def desk(world: World) -> Iterator[StationDesk]:
    made = StationDesk(open_store(paths.records_folder()), hardware=world)
    yield made
    made.close()


def until(holds: Callable[[], bool]) -> None:
    pause = threading.Event()
    for _ in range(4000):
        if holds():
            return
        pause.wait(0.005)
    raise AssertionError("it never came to that")


def frame(desk: StationDesk, world: World, *seen: Appeared) -> None:
    world.seen += seen
    world.events += desk.live.take_events()
    desk.settle()
    world.events += desk.live.take_events()


def one_waits(desk: StationDesk, world: World, disk: Disk) -> str:
    """A visit of one device whose last result waits, another device beside it; the unit."""
    one, two = device(ONE, "/dev/a"), device(TWO, "/dev/b")
    frame(desk, world, Appeared(one), Appeared(two))
    unit = a_unit(desk, ONE)
    desk.visit.start(unit.id, one, "intake")
    frame(desk, world)
    disk.full = FULL
    desk.visit.do(MarkByHand(Outcome.FAIL, "seen"))
    until(lambda: bool(desk._room.active.left()))  # type: ignore[union-attr]
    return unit.id


def outcomes(store: records.Store, unit_id: str) -> list[str]:
    return [r.assessment.outcome.value for r in store.history(unit_id).results]


def test_a_visit_with_a_waiting_result_gives_way_to_no_other(desk, world, disk) -> None:
    unit_id = one_waits(desk, world, disk)
    other = a_unit(desk, TWO)
    desk.visit.start(other.id, device(TWO, "/dev/b"), "intake")
    frame(desk, world)
    assert desk.visit.session().unit.id == unit_id
    assert [text for text in said(world) if text.startswith(f"A result of {ONE} is not stored yet")]
    desk.visit.start(unit_id, device(ONE, "/dev/a"), "intake")
    desk.devices.plug_in_sample("SM-07-02")
    frame(desk, world)
    assert desk.visit.session().unit.id == unit_id
    disk.full = None
    until(lambda: outcomes(desk._store, unit_id) == ["fail"])
    desk.visit.start(other.id, device(TWO, "/dev/b"), "intake")
    frame(desk, world)
    assert desk.visit.session().unit.id == other.id


def test_the_running_visit_stays_when_another_cannot_be_begun(desk, world, disk) -> None:
    one, two = device(ONE, "/dev/a"), device(TWO, "/dev/b")
    frame(desk, world, Appeared(one), Appeared(two))
    unit, other = a_unit(desk, ONE), a_unit(desk, TWO)
    desk.visit.start(unit.id, one, "intake")
    frame(desk, world)
    disk.full = RecordLocked("Another program holds the records; close it.")
    for start in ((other.id, two), (other.id, one)):
        desk.visit.start(*start, "intake")
        frame(desk, world)
        assert desk.visit.session().unit.id == unit.id
    assert world.closed(world.opened[-1]), "what was opened for it is closed again"
    assert not world.closed(desk._room.active.source)
    disk.full = None
    desk.visit.do(MarkByHand(Outcome.FAIL, "seen"))
    until(lambda: outcomes(desk._store, unit.id) == ["fail"])


def test_what_waits_when_the_bench_closes_is_stored_at_the_next_start(desk, world, disk) -> None:
    unit_id = one_waits(desk, world, disk)
    assert desk.visit.wind_up() == ""
    desk.close()
    waiting = list((paths.records_folder() / "waiting").glob("*.json"))
    assert len(waiting) == 1
    disk.full = None
    again = StationDesk(open_store(paths.records_folder()), hardware=World())
    again.settle()
    (stored,) = again.units.history(unit_id).results
    assert (stored.assessment.outcome, stored.by_hand, stored.reason) == (Outcome.FAIL, True, "seen")
    assert not waiting[0].exists()
    told = [e.text for e in again.live.take_events() if isinstance(e, Said)]
    again.close()
    assert told == ["1 result of the last time could not be stored then; that is done now."]


def test_closing_is_asked_about_when_there_is_no_room_for_a_file_either(desk, world, disk) -> None:
    unit_id = one_waits(desk, world, disk)
    disk.file_too = True
    assert "nor is there room for a file" in desk.visit.wind_up()
    disk.full = None
    until(lambda: outcomes(desk._store, unit_id) == ["fail"])


def test_a_result_comes_back_from_its_file_as_it_was(tmp_path: Path) -> None:
    with open_store(tmp_path / "records") as store:
        unit = store.add_unit(UNIT)
        visit = store.start_visit(unit.id, "intake")
        reading = Reading("noise_pp_x", 1.5, "%", 0.25, 5.0, 10.0, "<=", 40, "")
        finding = Finding("noise", axis="x", direction=95.0, params={"who": "stick", "pp": 1.5})
        result = Result(
            "", visit.id, "rest", "stick", 2, "2026-03-06T10:00:00.000Z",
            Assessment(Outcome.FAIL, (reading,), (finding,), ""), clock="process", stamp_error_p99_us=3.0, lost=1,
        )  # fmt: skip
        files = PutBy(store, lambda event: None, [tmp_path / "waiting"])
        outgoing = Outgoing(0, result, b"evidence")
        assert files.put_by([outgoing]) == files.put_by([outgoing]) == ""
        assert len(list((tmp_path / "waiting").glob("*.json"))) == 1
        list(files.take_up())
        (stored,) = store.history(unit.id).results
        assert stored.assessment == result.assessment
        assert (stored.attempt, stored.at, stored.clock, stored.lost) == (2, result.at, "process", 1)
        assert store.capture_path(stored.capture_sha256).read_bytes() == b"evidence"
        assert store.verify_log().sound
        files.put_by([outgoing])
        list(files.take_up())
        assert len(store.history(unit.id).results) == 1, "one that was stored meanwhile is not stored twice"


@pytest.mark.parametrize("content", [b"", b"{}", b"[1]", b'{"result": 3}', b"\xff"], ids=repr)
def test_a_file_that_is_none_of_ours_stays_and_is_named(content: bytes, tmp_path: Path) -> None:
    with open_store(tmp_path / "records") as store:
        folder = tmp_path / "waiting"
        folder.mkdir(mode=0o700)
        (folder / "x.json").write_bytes(content)
        (event,) = PutBy(store, lambda event: None, [folder]).take_up()
        assert isinstance(event, Said)
        assert "cannot be read" in event.text
        assert (folder / "x.json").exists()


def _put(store: records.Store, folder: Path) -> Result:
    """A result put by, of a visit that there is."""
    unit = store.add_unit(UNIT)
    visit = store.start_visit(unit.id, "intake")
    said = Assessment(Outcome.PASS)
    result = Result("", visit.id, "look", "", 1, "2026-03-06T10:00:00.000Z", said, by_hand=True, reason="seen")
    outgoing = Outgoing(0, result, None)
    assert PutBy(store, lambda event: None, [folder]).put_by([outgoing]) == ""
    return outgoing.result


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="no owners of files on this system")
@pytest.mark.parametrize("how", ["link", "open to others", "link to a file", "other name", "pipe"])
def test_what_this_user_did_not_put_by_is_not_taken_and_stays(how: str, tmp_path: Path) -> None:
    with open_store(tmp_path / "records") as store:
        folder = tmp_path / "waiting"
        result = _put(store, folder)
        file = folder / f"{result.id}.json"
        if how == "link":
            folder.rename(tmp_path / "elsewhere")
            folder.symlink_to(tmp_path / "elsewhere")
        elif how == "open to others":
            folder.chmod(0o770)
        elif how == "link to a file":
            file.rename(tmp_path / "elsewhere.json")
            file.symlink_to(tmp_path / "elsewhere.json")
        elif how == "other name":
            file = file.rename(folder / "00000000-0000-7000-8000-000000000000.json")
        else:
            file.unlink()
            os.mkfifo(file)
        list(PutBy(store, lambda event: None, [folder]).take_up())
        assert not store.results_of_visit(result.visit_id)
        assert os.path.lexists(file)


def test_a_file_that_says_other_than_the_records_is_not_deleted(tmp_path: Path) -> None:
    with open_store(tmp_path / "records") as store:
        folder = tmp_path / "waiting"
        result = _put(store, folder)
        store.add_result(replace(result, assessment=Assessment(Outcome.FAIL)))
        (event,) = PutBy(store, lambda event: None, [folder]).take_up()
        assert "cannot be read" in event.text
        assert (folder / f"{result.id}.json").exists()


def test_no_result_is_put_by_where_others_can_read_or_a_link_leads(tmp_path: Path) -> None:
    with open_store(tmp_path / "records") as store:
        (tmp_path / "elsewhere").mkdir(mode=0o700)
        link = tmp_path / "link"
        link.symlink_to(tmp_path / "elsewhere")
        result = _put(store, tmp_path / "own")
        said = PutBy(store, lambda event: None, [link]).put_by([Outgoing(0, result, None)])
        assert "nor is there room for a file" in said
        assert not list((tmp_path / "elsewhere").iterdir())
