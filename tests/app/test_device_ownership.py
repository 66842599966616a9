"""One thread owns what is plugged in: slow answers come back to it with the plug they belong to, or are dropped.

The watcher and what a device opens as are made up; desk, worker, records and visits are the real ones.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from station.app import paths
from station.app.active import ActiveUnit
from station.app.advice import Adviser
from station.app.desk import StationDesk
from station.app.samples import demo_unit, sample_tags
from station.app.shelf_of_sheets import SheetShelf
from station.bench.memory import MemoryRecorder
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Choose, Finish, Go
from station.checks.types import Outcome
from station.records.store import Store
from station.records.types import Note, Unit
from station.sources.devices import Appeared, Gone
from station.sources.port import DeviceInfo
from station.sources.simulated.samples import sample, sample_hand
from station.sources.simulated.source import SimulatedSource
from station.ui.ports import DeskEvent, DeviceAppeared, DeviceGone, Said
from tests.records.records_kit import open_store

ONE, TWO = "SM-07-06", "SM-07-01"


class Opened(SimulatedSource):
    """What a made-up device opens as."""

    def __init__(self, info: DeviceInfo, tag: str) -> None:
        found = sample(tag)
        super().__init__(found.spec, sample_hand(found))
        self._info = info
        self.reopened: list[DeviceInfo] = []

    def reopen(self, info: DeviceInfo) -> None:
        self.reopened.append(info)
        self._info = info
        self.replug()


def device(tag: str, key: str) -> DeviceInfo:
    """A sample unit as a device on a node."""
    found = sample(tag)
    made = SimulatedSource(found.spec, sample_hand(found)).info
    return replace(made, key=key, bus="usb")


class World:
    """The edge: what the watcher sees and how long opening takes."""

    def __init__(self) -> None:
        self.seen: list[Appeared | Gone] = []
        self.opened: list[Opened] = []
        self.opening = threading.Event()
        self.may_open = threading.Event()
        self.may_open.set()
        self.tags: dict[str, str] = {}
        self.events: list[DeskEvent] = []

    def take_events(self) -> list[Appeared | Gone]:
        seen, self.seen = self.seen, []
        return seen

    def name_also(self, also: object) -> None:
        pass

    def close(self) -> None:
        pass

    def list_others(self, also: object) -> tuple[DeviceInfo, ...]:
        return ()

    def open(self, info: DeviceInfo, sheet: object) -> Opened:
        self.opening.set()
        assert self.may_open.wait(20.0)
        known = info.serial in sample_tags()
        made = Opened(info, info.serial if known else ONE)
        self.opened.append(made)
        return made

    def slow(self) -> None:
        self.opening.clear()
        self.may_open.clear()

    def closed(self, source: Opened) -> bool:
        return source.status().state == "ended"


@pytest.fixture
def world() -> World:
    return World()


@pytest.fixture
def desk(world: World) -> Iterator[StationDesk]:
    desk = StationDesk(open_store(paths.records_folder()), hardware=world)
    yield desk
    world.may_open.set()
    desk.close()


@pytest.fixture
def frame(desk: StationDesk, world: World) -> Callable[..., None]:
    """A frame of the window in which the watcher told of these."""

    def draw(*seen: Appeared | Gone) -> None:
        world.seen += seen
        world.events += desk.live.take_events()

    return draw


def told(world: World) -> list[tuple[type, str]]:
    return [(type(e), e.device.key) for e in world.events if isinstance(e, DeviceAppeared | DeviceGone)]


def said(world: World) -> list[str]:
    return [e.text for e in world.events if isinstance(e, Said)]


def test_what_came_and_went_while_the_worker_was_busy_is_no_ghost(desk, world, frame) -> None:
    one, two = device(ONE, "/dev/a"), device(TWO, "/dev/b")
    world.slow()
    frame(Appeared(one))
    assert world.opening.wait(20.0)
    frame(Appeared(two))
    frame(Gone(two))
    world.may_open.set()
    desk.settle()
    frame()
    assert desk.devices.devices() == (one,)
    assert told(world) == [(DeviceGone, "/dev/b"), (DeviceAppeared, "/dev/a")]
    assert [source.info.key for source in world.opened] == ["/dev/a"], "what is gone is not opened"
    assert desk.sheets.sheet().name == demo_unit(ONE).sheet


def test_a_device_that_went_while_it_was_being_opened_is_closed_again(desk, world, frame) -> None:
    one = device(ONE, "/dev/a")
    world.slow()
    frame(Appeared(one))
    assert world.opening.wait(20.0)
    frame(Gone(one))
    world.may_open.set()
    desk.settle()
    frame()
    assert (desk.devices.devices(), desk.sheets.sheet(), told(world)) == ((), None, [(DeviceGone, "/dev/a")])
    assert [world.closed(source) for source in world.opened] == [True]


def test_the_answer_for_an_earlier_plug_is_not_taken_for_that_of_the_next(desk, world, frame) -> None:
    one = device(ONE, "/dev/a")
    world.slow()
    frame(Appeared(one))
    assert world.opening.wait(20.0)
    frame(Gone(one))
    frame(Appeared(one))
    world.may_open.set()
    desk.settle()
    frame()
    assert told(world) == [(DeviceGone, "/dev/a"), (DeviceAppeared, "/dev/a")]
    assert [world.closed(source) for source in world.opened] == [True, False]
    assert desk.devices.devices() == (one,)


def a_unit(desk: StationDesk, tag: str) -> Unit:
    desk.units.add(demo_unit(tag))
    desk.settle()
    return desk.units.find(tag)[0]


def test_a_visit_on_a_device_that_is_pulled_meanwhile_is_not_begun_and_said_so(desk, world, frame) -> None:
    one, two = device(ONE, "/dev/a"), device(TWO, "/dev/b")
    frame(Appeared(two))
    frame(Appeared(one))
    desk.settle()
    unit = a_unit(desk, TWO)
    world.slow()
    desk.visit.start(unit.id, two, "intake")
    assert world.opening.wait(20.0)
    frame(Gone(two))
    world.may_open.set()
    desk.settle()
    frame()
    assert desk.visit.session() is None
    assert desk.units.history(unit.id).visits == ()
    assert [text for text in said(world) if "was unplugged" in text]
    assert desk.devices.devices() == (one,)
    assert world.closed(world.opened[-1])


def test_another_device_on_the_same_node_is_not_taken_for_the_one_that_was_there(desk, world, frame) -> None:
    one, two = device(ONE, "/dev/a"), device(TWO, "/dev/a")
    frame(Appeared(one))
    desk.settle()
    first = a_unit(desk, ONE)
    desk.visit.start(first.id, one, "intake")
    desk.settle()
    world.opened[0].unplug()
    frame(Gone(one))
    frame(Appeared(two))
    desk.settle()
    second = a_unit(desk, TWO)
    desk.visit.start(second.id, two, "intake")
    desk.settle()
    frame()
    assert desk.visit.session().unit.tag == TWO
    assert len(world.opened) == 2, "its visit reads its own reports, not those of the unit that is gone"
    assert desk.devices.devices() == (two,)


def test_a_unit_is_gone_on_with_although_its_reader_has_not_noticed_yet(desk, world, frame) -> None:
    one = device(ONE, "/dev/a")
    frame(Appeared(one))
    desk.settle()
    desk.visit.start(a_unit(desk, ONE).id, one, "intake")
    desk.settle()
    frame(Gone(one), Appeared(replace(one, key="/dev/b")))
    desk.settle()
    frame()
    assert [info.key for info in world.opened[0].reopened] == ["/dev/b"]


@pytest.mark.parametrize(
    ("noted", "learned"),
    [(("", True), True), (("KEPT-1", True), False), (("", False), False)],
    ids=["nothing noted", "another one noted", "a device of another kind"],
)
def test_a_unit_that_is_written_up_without_its_serial_number_learns_it(desk, world, frame, noted, learned) -> None:
    """Vendor id and sheet stood there already, so nobody looked."""
    one = device(ONE, "/dev/a")
    frame(Appeared(one))
    desk.settle()
    serial, same = noted
    vendor = one.vendor_id if same else one.vendor_id + 1
    known = replace(demo_unit(ONE), vendor_id=vendor, product_id=one.product_id, serial=serial, sheet="Plover T2")
    desk.units.add(known)
    desk.settle()
    unit = desk.units.find(ONE)[0]
    desk.visit.start(unit.id, one, "intake")
    desk.settle()
    assert desk.visit.session() is not None
    assert desk.units.find(ONE)[0].serial == (one.serial if learned else serial)


def test_a_visit_that_is_gone_on_with_knows_what_the_one_before_it_stored_last(desk, world, frame) -> None:
    one = device(ONE, "/dev/a")
    frame(Appeared(one))
    desk.settle()
    unit = a_unit(desk, ONE)
    desk.visit.start(unit.id, one, "intake")
    desk.settle()
    steps = desk.visit.session().steps
    rest = next(i for i, s in enumerate(steps) if s.step.check == "link")
    desk.visit.do(Choose(rest))
    desk.visit.do(Go())
    end = threading.Event()
    for _ in range(2000):
        view = desk.visit.session()
        if view.running and view.current == rest:  # the look that comes first is asked from the start
            break
        end.wait(0.005)
    desk.visit.start(unit.id, one, "intake")
    desk.settle()
    (stored,) = desk.units.history(unit.id).results
    assert stored.assessment.outcome is Outcome.INTERRUPTED
    assert desk.visit.session().steps[rest].attempts == 1


def test_simulated_units_that_were_put_away_are_not_listed(desk, world, frame) -> None:
    for tag in (ONE, TWO):
        desk.devices.plug_in_sample(tag)
        desk.settle()
    assert [info.serial for info in desk.devices.devices()] == [sample(TWO).spec.tag]


# --- advice ----------------------------------------------------------------------------------------------


class ChangingStore:
    """The records, changed by the bench just after they were read once."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self.after_reading: Callable[[], None] = lambda: None
        self.read: list[int] = []

    def __getattr__(self, name: str) -> object:
        return getattr(self._store, name)

    def history(self, unit_id: str) -> object:
        found = self._store.history(unit_id)
        self.read.append(len(found.notes))
        change, self.after_reading = self.after_reading, lambda: None
        change()
        return found


@pytest.mark.parametrize("all_of_them", [False, True], ids=["its record changed", "the shelf changed"])
def test_advice_worked_out_while_the_record_changed_is_dropped(all_of_them: bool) -> None:
    with open_store(paths.records_folder()) as store:
        unit = store.add_unit(demo_unit(ONE))
        changing = ChangingStore(store)
        jobs: list[Callable[[], None]] = []
        adviser = Adviser(changing, SheetShelf(paths.sheets_folder()), lambda _, job: jobs.append(job))

        def change() -> None:
            store.add_note(Note("", unit.id, "opened", ""))
            if all_of_them:
                adviser.forget_all()
            else:
                adviser.forget(unit.id)

        adviser.advice(unit.id)
        changing.after_reading = change
        jobs.pop()()
        adviser.advice(unit.id)
        assert len(jobs) == 1, "what was read before the change is not kept: it is asked for again"
        jobs.pop()()
        assert changing.read[-1] == 1
        adviser.advice(unit.id)
        assert jobs == []


# --- the unit in use --------------------------------------------------------------------------------------


class LettingGo:
    """The hand of a simulated unit, and another one that stops the visit while it acts."""

    def __init__(self, stop: Callable[[], None]) -> None:
        self._stop = stop

    def ask(self, *_: object) -> None:
        self._stop()

    beat = rest = ask


def test_a_visit_stopped_in_the_middle_of_the_windows_loop_ends_without_a_word() -> None:
    found = sample(ONE)
    source = SimulatedSource(found.spec, sample_hand(found), realtime=False)
    known = SheetShelf(paths.sheets_folder()).know(source.info)
    unit = ActiveUnit(source.info, known, source)
    source.hand = LettingGo(unit.stop)
    unit.start(Session(UnitOnBench(demo_unit(ONE), source, known.binding), VisitPlan(), BenchSetup(MemoryRecorder())))
    for command in (Go(), Choose(1), Go()):
        unit.do(command)
        unit.advance(0.02)
    events = unit.take_events()
    assert len(events) > 2, "there was more to see to after the stop"
    assert unit.view() is None


# --- which unit it is -------------------------------------------------------------------------------------


def appeared(world: World) -> list[tuple[str, str]]:
    """Of what was told since the last call: each device that is asked about, and the unit it is taken for."""
    found = [(e.device.key, e.unit.tag if e.unit else "") for e in world.events if isinstance(e, DeviceAppeared)]
    world.events.clear()
    return found


def shown(desk: StationDesk, frame: Callable[..., None], *seen: Appeared | Gone) -> None:
    frame(*seen)
    desk.settle()
    frame()


def nameless(key: str) -> DeviceInfo:
    return replace(device(ONE, key), serial="")


def test_a_device_pulled_before_anybody_answered_is_asked_about_again(desk, world, frame) -> None:
    one, two = nameless("/dev/a"), nameless("/dev/b")
    shown(desk, frame, Appeared(one))
    shown(desk, frame, Gone(one))
    shown(desk, frame, Appeared(two))
    assert appeared(world) == [("/dev/a", ""), ("/dev/b", "")]


def test_the_next_pad_without_a_serial_number_is_asked_about(desk, world, frame) -> None:
    one, two = nameless("/dev/a"), nameless("/dev/b")
    shown(desk, frame, Appeared(one))
    desk.visit.start(a_unit(desk, ONE).id, one, "intake")
    shown(desk, frame)
    desk.visit.do(Finish())
    until_finished(desk)
    appeared(world)
    shown(desk, frame, Gone(one))
    shown(desk, frame, Appeared(two))
    assert appeared(world) == [("/dev/b", "")]
    desk.visit.start(a_unit(desk, TWO).id, two, "intake")
    shown(desk, frame)
    assert desk.visit.session().unit.tag == TWO


def until_finished(desk: StationDesk) -> None:
    pause = threading.Event()
    for _ in range(2000):
        if desk.visit.session().finished:
            return
        pause.wait(0.005)
    raise AssertionError("the visit never ended")


@pytest.mark.parametrize("serial", ["0000", ""])
def test_of_two_with_one_serial_number_neither_is_taken_for_the_other(serial, desk, world, frame) -> None:
    one, two = (replace(device(ONE, key), serial=serial) for key in ("/dev/a", "/dev/b"))
    shown(desk, frame, Appeared(one))
    unit = a_unit(desk, ONE)
    desk.units.change(replace(unit, serial=serial))
    desk.visit.start(unit.id, one, "intake")
    shown(desk, frame, Appeared(two))
    assert appeared(world)[-1] == ("/dev/b", ""), "whose it is has to be said"
    visited = desk._room.active.source
    visited.unplug()
    shown(desk, frame, Gone(one), Gone(two), Appeared(replace(two, key="/dev/c")))
    assert appeared(world) == [("/dev/c", "")]
    assert visited.reopened == [], "the visit reads nothing of the other one"
    shown(desk, frame, Appeared(one))
    assert appeared(world) == [("/dev/a", "")]
    desk.visit.start(unit.id, one, "intake")
    shown(desk, frame)
    assert (desk.visit.session().unit.id, desk.live.status().state) == (unit.id, "live")
    assert len(desk.units.history(unit.id).visits) == 1, "the visit goes on"
